"""Grid references placed in the town's grid."""

from __future__ import annotations

import re
from itertools import product
from typing import Final, get_args

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.geodesy import (
    TRANSFORM_UNCERTAINTY_M,
    ProjectedCrs,
    to_degrees,
    to_grid,
)
from eaveline.private.places.frame import TownFrame
from eaveline.private.places.gridref import (
    HALF_DIAGONAL,
    SQUARES,
    GridFault,
    GridSystem,
    format_grid_ref,
    parse_grid_ref,
    parse_grid_refs,
)
from eaveline.private.places.readings import LOOKALIKES, Objects, Readings, given

CRS_OF: Final[dict[GridSystem, ProjectedCrs]] = {"GB": "EPSG:27700", "IE": "EPSG:29903"}
MOST_UNCERTAINTY_M: Final = 10_000.0
"""A place vaguer than this says nothing about a town (common practice, no source)."""
_LARGEST_SQUARE_M: Final = 100_000
_SHAPE: Final = re.compile(r"\W*([A-Za-z]{1,2})(?:[\s.,:/-]*\d){4,}\W*")
"""Four figures at least: with fewer it may be a road or a house."""


def place_grid_refs(texts: Objects, *, town: TownFrame) -> Readings:
    """Read references and place the centres of their squares.

    A reference whose figures would lie in the town under other letters, or with its halves
    exchanged, or with the figure 0 for a letter O, is a problem with that suggested.
    """
    readings = Readings.blank(len(texts))
    rows = np.flatnonzero(given(texts))
    if not rows.size:
        return readings
    read = parse_grid_refs(pd.Series(list(texts[rows]), dtype="str"))
    easting, northing, added = _in_town_grid(read, town)
    uncertainty = read["size_m"].to_numpy() * HALF_DIAGONAL + added
    readings.put(rows, easting, northing, uncertainty)
    problems = read["problem"].to_numpy(dtype=object)
    outside = ~town.contains(easting, northing, uncertainty_m=uncertainty)
    vague = uncertainty > MOST_UNCERTAINTY_M
    for at in np.flatnonzero(outside | vague):
        code = problems[at] if isinstance(problems[at], str) else None
        if code is None and vague[at]:
            readings.fail(rows[at : at + 1], "grid-ref-too-vague", "grid_ref")
            continue
        meant = suggest_grid_ref(str(texts[rows[at]]), town=town)
        if code is None:
            elsewhere = meant is not None and _same_figures(meant, str(texts[rows[at]]))
            code = "grid-ref-letters-elsewhere" if elsewhere else "outside-town"
        readings.fail(rows[at : at + 1], code, "grid_ref", meant)
    return readings


def is_shaped_like_grid_ref(text: str, *, town: TownFrame) -> bool:
    """Tell whether a text is letters and figures as a grid reference has them, right or wrong.

    One letter does only where the town's own grid has one: elsewhere A1066 is a road.
    """
    found = _SHAPE.fullmatch(text)
    return found is not None and len(found.group(1)) >= (2 if town.crs == CRS_OF["GB"] else 1)


def _in_town_grid(
    read: pd.DataFrame, town: TownFrame
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Return easting and northing in the town's grid, then the uncertainty the change adds."""
    easting = read["easting"].to_numpy(copy=True)
    northing = read["northing"].to_numpy(copy=True)
    added = np.zeros(len(read))
    for system in get_args(GridSystem):
        crs = CRS_OF[system]
        rows = np.flatnonzero(read["system"].to_numpy() == system)
        if crs != town.crs and rows.size:
            degrees = to_degrees(easting[rows], northing[rows], crs=crs)
            moved = to_grid(degrees.x, degrees.y, crs=town.crs)
            easting[rows], northing[rows] = moved.x, moved.y
            added[rows] = TRANSFORM_UNCERTAINTY_M[crs] + TRANSFORM_UNCERTAINTY_M[town.crs]
    return easting, northing, added


def suggest_grid_ref(text: str, *, town: TownFrame) -> str | None:
    """Return the one reference much like `text` that lies in the town, if there is just one."""
    figures = "".join(character for character in text if character.isdigit())
    letters = "".join(character for character in text.upper() if character.isalpha())
    half = len(figures) // 2
    bodies = {figures, figures[half:] + figures[:half]} if len(figures) >= 4 else set()  # noqa: PLR2004 - 1 km
    candidates = {f"{square}{figures}" for square in _town_squares(town)} if bodies else set()
    candidates |= {f"{letters}{body}" for body in bodies}
    for cut in (1, 2):
        candidates.add(text.strip()[:cut] + text.strip()[cut:].translate(LOOKALIKES))
    meant = {written for candidate in candidates if (written := _in_town(candidate, town))}
    return meant.pop() if len(meant) == 1 else None


def _in_town(text: str, town: TownFrame) -> str | None:
    square = parse_grid_ref(text)
    if isinstance(square, GridFault) or CRS_OF[square.system] != town.crs:
        return None
    if square.size_m > 1_000 or not town.contains(*square.centre):  # noqa: PLR2004 - too vague to suggest
        return None
    return format_grid_ref(
        square.easting, square.northing, size_m=int(square.size_m), system=square.system
    )


def _town_squares(town: TownFrame) -> set[str]:
    """Letters of the 100 km squares the town's bounds touch."""
    west, south, east, north = town.bounds
    corners = {
        (
            int(x // _LARGEST_SQUARE_M) * _LARGEST_SQUARE_M,
            int(y // _LARGEST_SQUARE_M) * _LARGEST_SQUARE_M,
        )
        for x, y in product((west, east), (south, north))
    }
    length = 2 if town.crs == "EPSG:27700" else 1
    return {
        letters
        for letters, corner in SQUARES.items()
        if corner in corners and len(letters) == length
    }


def _same_figures(one: str, other: str) -> bool:
    return [character for character in one if character.isdigit()] == [
        character for character in other if character.isdigit()
    ]
