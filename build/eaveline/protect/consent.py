"""Decides which places are shown openly because their owners agreed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.private.register import Register
from eaveline.protect.regions import Regions
from eaveline.public.records import Cell, OpenSite

Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, repr=False)
class Listing:
    """What is shown openly, and what therefore leaves the counts.

    Attributes
    ----------
    buildings
        Ids of the buildings that are listed; nothing of theirs is counted in a region.
    open_sites
        What the site shows of them, in an order made of what is shown.
    waiting
        How many buildings must wait because their region would be left with too few.
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
    minimum_premises: int,
    cell_size_m: int,
    public_buildings: Mapping[int, str],
    first_season: int,
) -> Listing:
    """List the boxes and nest sites whose owners agreed.

    A building leaves its region's premises when it is listed, so it is listed only if at
    least `minimum_premises` others stay; those that came first by season are listed first.
    An item that is joined to no building cannot leave the count of one, so it waits.

    Parameters
    ----------
    public_buildings
        Names that town.toml gives to public buildings, by building id.
    first_season
        Stands in where an item has no date.
    """
    items = _items(register, first_season=first_season)
    place = register.premises
    if place is None or not len(items):
        return Listing(frozenset(), (), len(items))
    waiting = len(items[items["building"] < 0].drop_duplicates(["easting", "northing"]))
    known = items[items["building"] >= 0].copy()
    east = place["easting"].to_numpy(dtype=np.float64)[known["building"]]
    north = place["northing"].to_numpy(dtype=np.float64)[known["building"]]
    known["region"] = regions.region_of(east, north)
    known["i"], known["j"] = np.floor(east / cell_size_m), np.floor(north / cell_size_m)
    since = known.groupby("building").agg(since=("since", "min"), region=("region", "first"))
    left = np.asarray(regions.premises, dtype=np.int64).copy()
    listed: set[int] = set()
    for building, season_region in (
        since.reset_index().sort_values(["since", "building"]).set_index("building").iterrows()
    ):
        region = int(season_region["region"])
        if region >= 0:
            if left[region] - 1 < minimum_premises:
                waiting += 1
                continue
            left[region] -= 1
        listed.add(int(str(building)))
    shown = known[known["building"].isin(listed)]
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
    ordered = sorted(sites, key=lambda site: (site.name or "~", site.what, site.cell, site.since))
    return Listing(frozenset(listed), tuple(ordered), waiting)


def _items(register: Register, *, first_season: int) -> pd.DataFrame:
    """Return the consented sites and boxes: building, what, since, easting, northing."""
    sites = register.sites[register.sites["share"].astype(bool)]
    boxes = register.boxes[
        register.boxes["share"].astype(bool) & register.boxes["removed_on"].isna()
    ]
    martin = boxes["kind"].astype("string").str.contains("martin|cup", case=False, na=False)
    columns = ["building", "what", "since", "easting", "northing"]
    parts = [
        pd.DataFrame(
            {
                "building": sites["building"],
                "what": sites["species"].astype(str) + " nest",
                "since": sites["share_since"],
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
