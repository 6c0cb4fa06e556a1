"""The buildings that might be offered boxes, and what is known of each."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.spatial import cKDTree

from eaveline.private.merge.sites import AssignBuilding
from eaveline.private.offers.activity import LOST, as_of, distance_to, strongest
from eaveline.private.places.street_names import street_key
from eaveline.private.register import GONE, Register

NEAR_M = 150.0
"""A building so near to known swifts needs no more watching before boxes are offered there."""
LOST_NEAR_M = 100.0
LEAST_EAVES_M = 4.5
"""Lower eaves give birds no room to drop (common practice, no source)."""
NEW_AREA_M = 250.0
"""An area is new where no box hangs within this distance (common practice, no source)."""
_DOOR_M = 15.0
"""A building's own entry in the list of addresses lies within this distance of its point."""

Ints = npt.NDArray[np.int64]


def owner_words(requests: pd.DataFrame, *, assign_building: AssignBuilding) -> pd.DataFrame:
    """Return what owners asked for and were promised, one row for each building.

    Parameters
    ----------
    requests
        The usable rows of requests/.
    assign_building
        Joins places to buildings.

    Returns
    -------
    pandas.DataFrame
        Indexed by building: asked (bool), refused (bool: the last answer was no), promised
        (boxes, 0 if none), eaves_height_m, facing, tenure. The newest filled cell speaks.
    """
    when = requests["offered_on"].fillna(requests["asked_on"])
    rows = requests.assign(
        building=buildings_at(requests, assign_building=assign_building), when=when
    )
    rows = rows[rows["building"] >= 0].sort_values(["building", "when", "key"])
    said = pd.DataFrame(
        {
            "building": rows["building"],
            "asked": rows["asked_on"].notna(),
            "accepted": rows["accepted"].astype(object),
            # What a promising row leaves open is a promise of none.
            "promised": rows["boxes"].fillna(0).where(rows["promised"] == "yes"),
            **{name: rows[name].astype(object) for name in ("eaves_height_m", "facing", "tenure")},
        }
    ).groupby("building")
    last = said.last()
    return pd.DataFrame(
        {
            "asked": said["asked"].any(),
            "refused": last["accepted"] == "no",
            "promised": last["promised"].fillna(0).astype(np.int64),
            **{name: last[name] for name in ("eaves_height_m", "facing", "tenure")},
        }
    )


def buildings_at(places: pd.DataFrame, *, assign_building: AssignBuilding) -> Ints:
    """Return the number of the building at each place, -1 where it is none for certain."""
    easting, northing, uncertainty_m = (
        places[name].to_numpy(dtype=np.float64) for name in ("easting", "northing", "uncertainty_m")
    )
    return np.asarray(assign_building(easting, northing, uncertainty_m), dtype=np.int64)


def doors(premises: pd.DataFrame, addresses: pd.DataFrame | None) -> pd.DataFrame:
    """Return each building's street and house, from the nearest entry of the address list.

    Parameters
    ----------
    premises
        easting, northing; the row number is the building.
    addresses
        street, house, easting, northing; or None.

    Returns
    -------
    pandas.DataFrame
        street and house, None where no address lies on the building.
    """
    named = pd.DataFrame({"street": None, "house": None}, index=premises.index, dtype=object)
    if addresses is None or not len(addresses) or not len(premises):
        return named
    tree = cKDTree(addresses[["easting", "northing"]].to_numpy(dtype=np.float64))
    away, row = tree.query(premises[["easting", "northing"]].to_numpy(dtype=np.float64))
    there = away <= _DOOR_M
    for name in ("street", "house"):
        found = addresses[name].to_numpy(dtype=object)[np.minimum(row, len(addresses) - 1)]
        found[~there] = None
        named[name] = found
    return named


def candidates(
    register: Register,
    *,
    evidence: pd.DataFrame,
    owners: pd.DataFrame,
    addresses: pd.DataFrame | None,
    left_alone: Ints,
    season: int,
) -> pd.DataFrame:
    """Return every building of the town with what is known of it.

    Parameters
    ----------
    register
        Everything merged.
    evidence
        See `activity.swift_evidence`.
    owners
        See `owner_words`.
    addresses
        See `doors`.
    left_alone
        Numbers of buildings whose people asked to be forgotten.
    season
        The last season that is known; boxes are for the one after.

    Returns
    -------
    pandas.DataFrame
        One row for each building, by its number: street, house, easting, northing, pull,
        distance_m (to the nearest evidence), sign, sign_season and sign_away_m (of the evidence
        that speaks most for it), lost_near (bool),
        boxes (standing there), unused (of them, so far), new_area (bool), asked, refused,
        promised, eaves_height_m, facing, tenure.
    """
    assert register.premises is not None
    premises = register.premises
    east = premises["easting"].to_numpy(dtype=np.float64)
    north = premises["northing"].to_numpy(dtype=np.float64)
    known = as_of(evidence, season)
    lost = known[known["kind"] == LOST]
    near = strongest(east, north, known)
    kinds = np.array([*known["kind"], None], dtype=object)
    seasons = np.append(known["season"].to_numpy(dtype=np.float64), np.nan)
    boxes, unused, area = _boxes_there(register, premises)
    table = doors(premises, addresses).assign(
        easting=east,
        northing=north,
        pull=near.pull,
        distance_m=distance_to(east, north, known),
        sign=kinds[near.row],
        sign_season=seasons[near.row],
        sign_away_m=near.away_m,
        lost_near=distance_to(east, north, lost) <= LOST_NEAR_M,
        boxes=boxes,
        unused=unused,
        new_area=area,
    )
    joined = table.join(owners, how="left")
    return joined.assign(
        asked=joined["asked"].eq(other=True),
        # Nobody can be asked at a building that is gone, or may be where people want no more.
        refused=joined["refused"].eq(other=True)
        | (premises["source"] == GONE).to_numpy()
        | joined.index.isin(left_alone),
        promised=joined["promised"].fillna(0).astype(np.int64),
        eaves_height_m=joined["eaves_height_m"].astype(np.float64),
    )


def _boxes_there(
    register: Register, premises: pd.DataFrame
) -> tuple[Ints, Ints, npt.NDArray[np.bool_]]:
    """Return for each building its boxes, those never used, and whether its area is new."""
    standing = register.boxes[register.boxes["removed_on"].isna()]
    used = set(register.checks.loc[register.checks["seen"] == "swift", "title"])
    used |= set(register.box_visits["title"])
    count = len(premises)
    home = standing["building"].to_numpy(dtype=np.int64)
    never = ~standing["title"].isin(used).to_numpy()
    boxes = np.bincount(home[home >= 0], minlength=count).astype(np.int64)
    unused = np.bincount(home[(home >= 0) & never], minlength=count).astype(np.int64)
    if not len(standing):
        return boxes, unused, np.ones(count, dtype=bool)
    tree = cKDTree(standing[["easting", "northing"]].to_numpy(dtype=np.float64))
    away, _ = tree.query(premises[["easting", "northing"]].to_numpy(dtype=np.float64))
    return boxes, unused, np.asarray(away > NEW_AREA_M)


def may_be_offered(buildings: pd.DataFrame, *, watch_first: frozenset[str]) -> pd.Series:
    """Return which buildings boxes may be offered to now.

    Left out are owners who said no, eaves known to be too low, buildings whose boxes are
    still unused, and, unless swifts are known near by, streets to be watched first.

    Parameters
    ----------
    buildings
        See `candidates`.
    watch_first
        Keys of streets nobody has watched enough; see `street_key`.
    """
    keys = {street: street_key(str(street)) for street in buildings["street"].dropna().unique()}
    unwatched = buildings["street"].map(lambda s: keys.get(s) in watch_first).astype(bool)
    return (
        (buildings["promised"] > 0)
        | ~(
            buildings["refused"]
            | (buildings["eaves_height_m"] < LEAST_EAVES_M)
            | (buildings["unused"] > 0)
            | (unwatched & (buildings["distance_m"] > NEAR_M))
        )
    ) & (buildings["promised"].gt(0) | buildings["house"].notna())


def pairs_within(buildings: pd.DataFrame, *, reach_m: float) -> Ints:
    """Return pairs of buildings no farther apart than a reach, shape (n, 2)."""
    places = buildings[["easting", "northing"]].to_numpy(dtype=np.float64)
    if len(places) < 2:  # noqa: PLR2004 - a pair
        return np.empty((0, 2), dtype=np.int64)
    pairs = cKDTree(places).query_pairs(reach_m, output_type="ndarray")
    numbers = buildings.index.to_numpy(dtype=np.int64)[pairs]
    result: Ints = np.unique(np.sort(numbers, axis=1), axis=0)
    return result


def sizes_of_lots(
    buildings: pd.DataFrame, *, smallest: int, largest: int
) -> Mapping[str, npt.NDArray[np.int64]]:
    """Return building and lot of every lot that could be offered, in order.

    A promised lot is offered as promised and in no other size. The best of equals comes
    first: buildings whose owner asked, then those nearest to swifts.
    """
    ranked = buildings.assign(number=buildings.index).sort_values(
        ["asked", "distance_m", "number"], ascending=[False, True, True]
    )
    sizes = np.arange(smallest, largest + 1)
    number = np.repeat(ranked["number"].to_numpy(dtype=np.int64), len(sizes))
    lot = np.tile(sizes, len(ranked))
    promised = np.repeat(ranked["promised"].to_numpy(dtype=np.int64), len(sizes))
    there = np.repeat(ranked["boxes"].to_numpy(dtype=np.int64), len(sizes))
    kept = (promised == 0) & ((there == 0) | (there + lot <= largest))
    fixed = ranked[ranked["promised"] > 0]
    return {
        "building": np.concatenate([fixed["number"].to_numpy(dtype=np.int64), number[kept]]),
        "lot": np.concatenate([fixed["promised"].to_numpy(dtype=np.int64), lot[kept]]),
        "promised": np.concatenate(
            [np.ones(len(fixed), dtype=np.int64), np.zeros(int(kept.sum()), dtype=np.int64)]
        ),
    }
