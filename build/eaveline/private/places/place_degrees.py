"""Latitudes and longitudes placed in the town's grid."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.geodesy import TRANSFORM_UNCERTAINTY_M, to_grid
from eaveline.private.places.frame import TownFrame
from eaveline.private.places.latlon import (
    INSTRUMENT_UNCERTAINTY_M,
    Angle,
    parse_angle,
    parse_angles,
    precision_uncertainty_m,
)
from eaveline.private.places.readings import LOOKALIKES, Floats, Objects, Readings, given

_Undo = Callable[[Floats, Floats], tuple[Floats, Floats]]
_SLIPS: Final[tuple[tuple[str, str, _Undo], ...]] = (
    ("sign-put-right", "longitude", lambda lat, lon: (lat, -lon)),
    ("sign-put-right", "latitude", lambda lat, lon: (-lat, lon)),
    ("latitude-longitude-swapped", "latitude", lambda lat, lon: (lon, lat)),
)
"""Slips of the pen: repair, column, and what undoes it."""


def place_degree_cells(latitudes: Objects, longitudes: Objects, *, town: TownFrame) -> Readings:
    """Read rows that give both cells, one angle in each, and place them."""
    readings = Readings.blank(len(latitudes))
    rows = np.flatnonzero(given(latitudes) & given(longitudes))
    if not rows.size:
        return readings
    lat = parse_angles(pd.Series(list(latitudes[rows]), dtype="str"))
    lon = parse_angles(pd.Series(list(longitudes[rows]), dtype="str"))
    lettered_lat, lettered_lon = (
        lat["axis"].to_numpy(dtype=object),
        lon["axis"].to_numpy(dtype=object),
    )
    swapped = (lettered_lat == "longitude") & (lettered_lon == "latitude")
    astray = ((lettered_lat == "longitude") | (lettered_lon == "latitude")) & ~swapped
    first, second = lat["degrees"].to_numpy(), lon["degrees"].to_numpy()
    placed = place_degrees(
        np.where(swapped, second, first),
        np.where(swapped, first, second),
        # A spreadsheet drops zeros at the end, so the longer of the two tells the precision.
        np.fmin(lat["precision_deg"].to_numpy(), lon["precision_deg"].to_numpy()),
        town=town,
    )
    placed.mend(np.flatnonzero(swapped & placed.found), "latitude-longitude-swapped", "latitude")
    placed.fail(np.flatnonzero(astray), "angle-hemisphere-wrong", "latitude")
    for column, cells, read in (("longitude", longitudes, lon), ("latitude", latitudes, lat)):
        problems = read["problem"].to_numpy(dtype=object)
        for at in np.flatnonzero(read["problem"].notna().to_numpy()):
            placed.fail(np.array([at]), problems[at], column, _suggest(cells[rows[at]]))
    readings.take_over(rows, placed)
    return readings


def _suggest(cell: str) -> str | None:
    """Return the cell with figures for the letters that look like them, if that is an angle."""
    meant = cell.translate(LOOKALIKES)
    return meant if meant != cell and isinstance(parse_angle(meant), Angle) else None


def place_degrees(
    latitude: Floats, longitude: Floats, precision_deg: Floats, *, town: TownFrame
) -> Readings:
    """Place angles; what lies outside the town is put right if one slip alone explains it.

    Uncertainty is that of the figures typed, of the instrument and of the transformation.
    """
    readings = Readings.blank(len(latitude))
    rows = np.arange(len(latitude))
    inside = _place(readings, rows, latitude, longitude, precision_deg, town=town)
    rest = np.flatnonzero(~inside)
    if not rest.size:
        return readings
    readings.fail(rest, "outside-town", "latitude")
    answers = np.zeros(len(rest), dtype=np.int64)
    explained: list[tuple[npt.NDArray[np.intp], Readings]] = []
    for repair, column, undo in _SLIPS:
        lat, lon = undo(latitude[rest], longitude[rest])
        other = Readings.blank(len(rest))
        hit = _place(other, np.arange(len(rest)), lat, lon, precision_deg[rest], town=town)
        # A sign put right at zero degrees changes nothing and explains nothing.
        hit &= (lat != latitude[rest]) | (lon != longitude[rest])
        other.mend(np.flatnonzero(hit), repair, column)
        answers += hit
        explained.append((np.flatnonzero(hit), other))
    for hit_rows, other in explained:
        alone = hit_rows[answers[hit_rows] == 1]
        readings.take_over(rest[alone], other.rows(alone))
    return readings


def _place(
    readings: Readings,
    rows: npt.NDArray[np.intp],
    latitude: Floats,
    longitude: Floats,
    precision_deg: Floats,
    *,
    town: TownFrame,
) -> npt.NDArray[np.bool_]:
    placed = to_grid(longitude, latitude, crs=town.crs)
    uncertainty = (
        precision_uncertainty_m(latitude, precision_deg)
        + INSTRUMENT_UNCERTAINTY_M
        + TRANSFORM_UNCERTAINTY_M[town.crs]
    )
    readings.put(rows, placed.x, placed.y, uncertainty)
    return town.contains(placed.x, placed.y)
