"""Finds where each record belongs: at its building, else at its own place."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.protect.division.regions import Regions

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]


def places_of(table: pd.DataFrame) -> tuple[Floats, Floats]:
    """Return easting and northing as two arrays."""
    return table["easting"].to_numpy(dtype=np.float64), table["northing"].to_numpy(dtype=np.float64)


def home_places(table: pd.DataFrame, *, buildings: pd.DataFrame | None) -> tuple[Floats, Floats]:
    """Return easting and northing of each row's building, else of the row itself.

    Parameters
    ----------
    table
        easting, northing (metres) and, if rows were joined to buildings, building (-1 for none).
    buildings
        Distinct buildings, or None where no list was given.
    """
    east, north = places_of(table)
    if "building" not in table or buildings is None:
        return east, north
    building = table["building"].to_numpy(dtype=np.int64)
    at_home = building >= 0
    east, north = east.copy(), north.copy()
    east[at_home] = buildings["easting"].to_numpy()[building[at_home]]
    north[at_home] = buildings["northing"].to_numpy()[building[at_home]]
    return east, north


def home_region(table: pd.DataFrame, *, regions: Regions, buildings: pd.DataFrame | None) -> Ints:
    """Return the number of the region of each row's home; -1 for the town only.

    A place that is joined to no building and vaguer than its region counts for the town alone.

    Parameters
    ----------
    table, buildings
        See `home_places`; `table` has uncertainty_m, too.
    regions
        The frozen regions.
    """
    region: Ints = regions.region_of(*home_places(table, buildings=buildings))
    if not len(regions.ids):
        return region
    vague = (
        table["uncertainty_m"].to_numpy(dtype=np.float64)
        > regions.half_diagonals_m[np.maximum(region, 0)]
    )
    if "building" in table and buildings is not None:
        vague &= table["building"].to_numpy(dtype=np.int64) < 0
    region[vague] = -1
    return region
