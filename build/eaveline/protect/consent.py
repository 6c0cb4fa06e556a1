"""Decides which places are shown openly because their owners agreed.

What is listed leaves the region's counts, and its building leaves the region's premises. What
else is recorded at the building stays in the counts, where nobody can tell it apart, and so does
all of it at each doubt.

* A refusal (share = no) at any item of a building, in any row and season, keeps it unlisted,
  whoever says yes before or after. That is also how consent is withdrawn.
* A building of several households is listed only if as many agreed, each in a row that names
  its flat (``Flat 3, 12``); or if town.toml names it as a public building, which is the
  group's own word that it may be shown.
* A building is listed only if its region keeps the minimum count without it. First come,
  first listed, by season; where those of one season do not all fit, all of them wait, for any
  choice among them would say something of those not chosen.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.private.register import Register
from eaveline.protect.division.regions import Regions
from eaveline.public.records import Cell, OpenSite

Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, repr=False)
class Listing:
    """What is shown openly, and what therefore leaves the counts.

    Attributes
    ----------
    buildings
        Ids of the buildings that are listed; what is listed of them is counted in no region.
    open_sites
        What the site shows of them, in an order made of what is shown.
    waiting
        How many buildings with consent are not listed: their region would be left with too few,
        not every household agreed, or no one building is known.
    """

    buildings: frozenset[int]
    open_sites: tuple[OpenSite, ...]
    waiting: int

    def __repr__(self) -> str:
        """Show counts only."""
        return f"<Listing: {len(self.open_sites)} shown, {self.waiting} waiting>"


def list_consented(
    register: Register,
    regions: Regions,
    *,
    present_premises: Ints,
    minimum_premises: int,
    cell_size_m: int,
    public_buildings: Mapping[int, str],
    first_season: int,
) -> Listing:
    """List the boxes and nest sites whose owners agreed.

    Parameters
    ----------
    register
        Everything merged. An item that is joined to no building cannot leave the count of one,
        so it waits.
    regions
        The frozen regions.
    present_premises
        Premises found today in each region, shape (number of regions,); room is left by
        these or the published ones, whichever is less.
    minimum_premises, cell_size_m
        The rule.
    public_buildings
        Names that town.toml gives to public buildings, by building id.
    first_season
        Stands in where an item has no date.
    """
    items = _items(register, first_season=first_season)
    place = register.premises
    if place is None or not len(items):
        return Listing(frozenset(), (), len(items))
    homeless = len(items[items["building"] < 0].drop_duplicates(["easting", "northing"]))
    known = items[items["building"] >= 0].copy()
    east = place["easting"].to_numpy(dtype=np.float64)[known["building"]]
    north = place["northing"].to_numpy(dtype=np.float64)[known["building"]]
    known["region"] = regions.region_of(east, north)
    known["i"], known["j"] = np.floor(east / cell_size_m), np.floor(north / cell_size_m)
    willing = known[
        known["building"].isin(_agreeing(register, known, public_buildings=public_buildings))
    ]
    room = np.minimum(np.asarray(regions.premises, dtype=np.int64), present_premises)
    listed = _that_fit(willing, room - minimum_premises)
    shown = willing[willing["building"].isin(listed)]
    return Listing(
        listed,
        _open_sites(shown, public_buildings),
        homeless + known["building"].nunique() - len(listed),
    )


def _agreeing(
    register: Register, items: pd.DataFrame, *, public_buildings: Mapping[int, str]
) -> set[int]:
    """Return the buildings of consented items where every household agreed and nobody refused."""
    refused = set(register.sites.loc[register.sites["refused"].astype(bool), "building"])
    refused |= set(register.boxes.loc[register.boxes["refused"].astype(bool), "building"])
    premises = register.premises
    households = (
        premises["households"].to_numpy(dtype=np.int64)
        if premises is not None and "households" in premises
        else None
    )
    agreeing: set[int] = set()
    for building, agreed in items.groupby("building")["agreed"]:
        number = int(str(building))
        named = frozenset().union(*agreed)
        needed = 1 if households is None else int(households[number])
        # Beside named flats a row without one adds nothing: it may be one of theirs.
        enough = needed <= 1 or len(named - {""}) >= needed or number in public_buildings
        if number not in refused and enough:
            agreeing.add(number)
    return agreeing


def _that_fit(items: pd.DataFrame, room: Ints) -> frozenset[int]:
    """Return the buildings that can be listed while each region keeps its minimum count.

    Parameters
    ----------
    items
        building, region (-1 outside all of them), since.
    room
        How many premises each region can do without.
    """
    first = items.groupby("building").agg(since=("since", "min"), region=("region", "first"))
    listed: set[int] = set(first.index[first["region"] < 0])
    for region, inside in first[first["region"] >= 0].groupby("region"):
        left = int(room[int(str(region))])
        for _, together in inside.groupby("since"):
            if len(together) > left:
                break
            left -= len(together)
            listed.update(together.index)
    return frozenset(int(building) for building in listed)


def _open_sites(shown: pd.DataFrame, public_buildings: Mapping[int, str]) -> tuple[OpenSite, ...]:
    """Return one entry for each kind of thing at each listed building."""
    grouped = shown.groupby(["building", "what"], as_index=False).agg(
        since=("since", "min"), i=("i", "first"), j=("j", "first")
    )
    sites = [
        OpenSite(
            name=public_buildings.get(int(building)),
            what=what,
            cell=Cell(int(i), int(j)),
            since=str(int(season)),
        )
        for building, what, season, i, j in zip(
            grouped["building"],
            grouped["what"],
            grouped["since"],
            grouped["i"],
            grouped["j"],
            strict=True,
        )
    ]
    return tuple(
        sorted(sites, key=lambda site: (site.name or "~", site.what, site.cell, site.since))
    )


def _items(register: Register, *, first_season: int) -> pd.DataFrame:
    """Return the consented sites and boxes: building, what, since, agreed, easting, northing."""
    sites = register.sites[register.sites["share"].astype(bool)]
    boxes = register.boxes[
        register.boxes["share"].astype(bool) & register.boxes["removed_on"].isna()
    ]
    martin = boxes["kind"].astype("string").str.contains("martin|cup", case=False, na=False)
    columns = ["building", "what", "since", "agreed", "easting", "northing"]
    parts = [
        pd.DataFrame(
            {
                "building": sites["building"],
                "what": sites["species"].astype(str) + " nest",
                "since": sites["share_since"],
                "agreed": sites["agreed"],
                "easting": sites["easting"],
                "northing": sites["northing"],
            },
            columns=columns,
        ),
        pd.DataFrame(
            {
                "building": boxes["building"],
                "what": np.where(martin, "house martin box", "swift box"),
                "since": boxes["fixed_on"].dt.year,
                "agreed": boxes["agreed"],
                "easting": boxes["easting"],
                "northing": boxes["northing"],
            },
            columns=columns,
        ),
    ]
    items = pd.concat(parts, ignore_index=True)
    return items.assign(
        since=items["since"].fillna(first_season).astype(np.int64),
        building=items["building"].astype(np.int64),
    )
