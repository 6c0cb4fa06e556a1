"""Places that stand whole in one cell, whatever kind they are and whatever column it is."""

from __future__ import annotations

import numpy as np

from eaveline.private.places.frame import TownFrame
from eaveline.private.places.gridref import GridSquare, parse_grid_ref
from eaveline.private.places.latlon import AngleFault, parse_pair
from eaveline.private.places.place_degrees import place_degrees
from eaveline.private.places.place_gridref import place_grid_refs
from eaveline.private.places.place_metres import parse_metres_pair, place_metres
from eaveline.private.places.readings import Objects, Readings

_VAGUEST_M = 1_000
"""A square larger than this may be an ordinary word that looks like a reference."""
METHODS = ("grid reference", "latitude and longitude", "easting and northing")


def place_anywhere(texts: Objects, *, town: TownFrame) -> tuple[Readings, Objects]:
    """Place each text that holds a whole place lying in the town; leave the others blank.

    Returns
    -------
    Readings
        Points found; rows without one are blank, and never have a problem.
    numpy.ndarray
        Which of `METHODS` each was found by, or None.
    """
    readings = Readings.blank(len(texts))
    method = np.full(len(texts), None, dtype=object)
    grid, degrees, metres = [], [], []
    angles, numbers = [], []
    for at, text in enumerate(texts):
        if text is None or not any(character.isdigit() for character in text):
            continue
        square = parse_grid_ref(text)
        if isinstance(square, GridSquare):
            if square.size_m <= _VAGUEST_M:
                grid.append(at)
        elif not isinstance(pair := parse_pair(text), AngleFault):
            degrees.append(at)
            precision = min(pair[0].precision_deg, pair[1].precision_deg)
            angles.append((pair[0].degrees, pair[1].degrees, precision))
        elif (both := parse_metres_pair(text)) is not None:
            metres.append(at)
            numbers.append(both)
    lat, lon, precision_deg = np.array(angles, dtype=np.float64).reshape(-1, 3).T
    east, north = np.array(numbers, dtype=np.float64).reshape(-1, 2).T
    for name, rows, placed in (
        (METHODS[0], grid, place_grid_refs(texts[grid], town=town)),
        (METHODS[1], degrees, place_degrees(lat, lon, precision_deg, town=town)),
        (METHODS[2], metres, place_metres(east, north, town=town)),
    ):
        where = np.array(rows, dtype=np.intp)
        readings.take_over(where, placed)
        method[where[placed.found]] = name
        readings.clear(where[placed.failed])
    return readings, method
