"""Eastings and northings placed in the town's grid."""

from __future__ import annotations

import math
import re
from typing import Final

import numpy as np
import pandas as pd

from eaveline.private.places.frame import TownFrame
from eaveline.private.places.latlon import INSTRUMENT_UNCERTAINTY_M
from eaveline.private.places.readings import LOOKALIKES, Floats, Objects, Readings, given

_SQUARE_M: Final = 100_000
_METRES = re.compile(r"[en]?\s*(\d{1,7}(?:\.\d+)?)\s*(?:m|metres|meters)?\s*[en]?", re.IGNORECASE)
_THOUSANDS = re.compile(r"(?<=\d)[,\s](?=\d{3}(?!\d))")
_LABEL = re.compile(r"^(?:eastings?|northings?|east|north|[xyen])\s*[:=]?\s*(?=\d)", re.IGNORECASE)
_COARSEST_M: Final = 1_000
"""Zeros at the end beyond this are taken for figures, not for rounding."""


def parse_metres(text: str) -> float:
    """Read one easting or northing; NaN if it is none.

    Examples
    --------
    >>> parse_metres("650,123.4 m")
    650123.4
    """
    plain = _THOUSANDS.sub("", _LABEL.sub("", text.strip()))
    if re.fullmatch(r"\d+,\d{1,2}", plain):  # a decimal comma
        plain = plain.replace(",", ".")
    match = _METRES.fullmatch(plain)
    return float(match.group(1)) if match else math.nan


def parse_metres_pair(text: str) -> tuple[float, float] | None:
    """Read a cell that holds an easting and a northing; None if it does not.

    Examples
    --------
    >>> parse_metres_pair("650123, 330456")
    (650123.0, 330456.0)
    """
    cell = " ".join(text.split())
    for halves in (re.split(r" ?[;/|] ?|, ", cell), re.split(r"[, ]+", cell)):
        if len(halves) == 2:  # noqa: PLR2004 - easting and northing
            east, north = parse_metres(halves[0]), parse_metres(halves[1])
            if min(east, north) >= _SQUARE_M / 10:
                return east, north
    return None


def place_metre_cells(eastings: Objects, northings: Objects, *, town: TownFrame) -> Readings:
    """Read rows that give both cells and place them."""
    readings = Readings.blank(len(eastings))
    rows = np.flatnonzero(given(eastings) & given(northings))
    if not rows.size:
        return readings
    east, north = _numbers(eastings[rows]), _numbers(northings[rows])
    placed = place_metres(east, north, town=town)
    for column, cells, numbers in (("northing", northings, north), ("easting", eastings, east)):
        for at in np.flatnonzero(np.isnan(numbers)):
            meant = cells[rows[at]].translate(LOOKALIKES)
            suggestion = None if math.isnan(parse_metres(meant)) else meant
            placed.fail(np.array([at]), "metres-unreadable", column, suggestion)
    readings.take_over(rows, placed)
    return readings


def _numbers(texts: Objects) -> Floats:
    """Numbers of many cells; plain ones cost no Python call."""
    cells = pd.Series(list(texts), dtype="str")
    numbers = pd.to_numeric(cells.where(cells.str.fullmatch(r"\d+(?:\.\d+)?")), errors="coerce")
    values = numbers.to_numpy(dtype=np.float64, copy=True)
    for at in np.flatnonzero(np.isnan(values)):
        values[at] = parse_metres(str(texts[at]))
    return values


def place_metres(easting: Floats, northing: Floats, *, town: TownFrame) -> Readings:
    """Place coordinates of the town's own grid.

    Both halves ending in the same number of zeros are taken as rounded to that unit (up to a
    kilometre); the uncertainty is the diagonal of such a square, since rounding and
    truncation both occur, and that of the instrument. What lies outside the town is put right
    if one slip alone explains it: halves exchanged, or five figures without that of the
    100 km square.
    """
    readings = Readings.blank(len(easting))
    unit = _typed_unit_m(easting, northing)
    uncertainty = unit * math.sqrt(2) + INSTRUMENT_UNCERTAINTY_M
    rows = np.arange(len(easting))
    readings.put(rows, easting, northing, uncertainty)
    outside = ~town.contains(easting, northing)
    swapped = outside & town.contains(northing, easting)
    west, south = (math.floor(edge / _SQUARE_M) * _SQUARE_M for edge in town.bounds[:2])
    short = outside & ~swapped & (easting < _SQUARE_M) & (northing < _SQUARE_M)
    short &= (easting >= _SQUARE_M / 10) & (northing >= _SQUARE_M / 10)
    short &= town.contains(easting + west, northing + south)
    readings.fail(np.flatnonzero(outside), "outside-town", "easting")
    for mask, repair, x, y in (
        (swapped, "easting-northing-swapped", northing, easting),
        (short, "square-figures-added", easting + west, northing + south),
    ):
        at = np.flatnonzero(mask)
        readings.mend(at, repair, "easting")
        readings.put(at, x[at], y[at], uncertainty[at])
    return readings


def _typed_unit_m(easting: Floats, northing: Floats) -> Floats:
    unit = np.ones(len(easting))
    size = 10
    while size <= _COARSEST_M:
        unit[(easting % size == 0) & (northing % size == 0)] = size
        size *= 10
    return unit
