"""Finds British or Irish grid references finer than a cell."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import floor, hypot

import numpy as np

from eaveline.audit.findings import Hit
from eaveline.audit.frames import BRITISH_GRID
from eaveline.audit.places import Places

RULE = "grid-reference"
SQUARE_M = 100_000
"""Side of a lettered square."""

# The 25 letters of the grids, row by row from the north-west; there is no I.
_LETTERS = "ABCDEFGHJKLMNOPQRSTUVWXYZ"
_GAP = r"[ \t\n.,:;/_|\x02+-]{0,3}"
_GROUPS = re.compile(r"\d+")


def _letter(column: int, row: int) -> str:
    """Return the letter of a square in a five by five block; row 0 is the southernmost."""
    return _LETTERS[(4 - row) * 5 + column]


def british_letters(column: int, row: int) -> str:
    """Return the letters of the 100 km square whose corner is at 100 km times the arguments.

    Source: Ordnance Survey, A guide to coordinate systems in Great Britain; the false origin is
    the south-west corner of square SV.

    Examples
    --------
    >>> british_letters(6, 3)
    'TG'
    """
    # SV stands in the south-west corner of the block S, itself two blocks east, one north.
    east, north = column + 10, row + 5
    return _letter(east // 5, north // 5) + _letter(east % 5, north % 5)


@dataclass(frozen=True, slots=True)
class GridLetters:
    """The lettered squares that the town lies in, with a pattern that finds references there."""

    pattern: re.Pattern[str]
    corners: dict[str, tuple[int, int]]
    """Letters to the easting, northing of the square's corner."""


def grid_letters(places: Places) -> GridLetters:
    """Return the lettered squares to look for; most texts hold none of them."""
    west, south, east, north = (floor(edge / SQUARE_M) for edge in places.bounds_m)
    british = places.crs == BRITISH_GRID
    corners = {
        (british_letters(column, row) if british else _letter(column, row)): (
            column * SQUARE_M,
            row * SQUARE_M,
        )
        for column in range(west, east + 1)
        for row in range(south, north + 1)
        # The Irish grid has one block of letters only; the British one ends at HP in the north.
        if british or (0 <= column < 5 and 0 <= row < 5)  # noqa: PLR2004 - five by five letters
    }
    # The first letter stands before the check of what precedes it, which makes a search quick.
    letters = "|".join(
        rf"[{name[0]}{name[0].lower()}](?<![^\W_].)"
        + "".join(rf"[ .]?[{letter}{letter.lower()}]" for letter in name[1:])
        for name in sorted(corners)
    )
    pattern = re.compile(rf"(?P<letters>{letters}){_GAP}(?P<digits>\d(?:{_GAP}\d)*)(?![^\W_])")
    return GridLetters(pattern, corners)


def _split_digits(written: str, fewest: int) -> tuple[str, str] | None:
    """Return the digits of easting, northing, if the reference has `fewest` of each or more.

    The groups may be spaced oddly. A reference is read as the shortest start of the groups
    that divides evenly, so that ``50 30, 2026`` stays a coarse reference beside a year.
    """
    groups = _GROUPS.findall(written)
    gaps = _GROUPS.split(written)[1:-1]
    if len(groups[0]) % 2 == 0 and len(groups[0]) // 2 >= fewest:
        half = len(groups[0]) // 2
        return groups[0][:half], groups[0][half:]
    if len(groups[0]) % 2 and len(groups[0]) // 2 >= fewest and len(groups) == 1:
        half = len(groups[0]) // 2
        return groups[0][:half], groups[0][half : half * 2]
    best = None
    for end in range(2, len(groups) + 1):
        for cut in range(1, end):
            first, second = "".join(groups[:cut]), "".join(groups[cut:end])
            inner = {*gaps[: cut - 1], *gaps[cut : end - 1]}
            one_mark = len(inner) < 2 and not inner & {", ", "; ", " - "}  # noqa: PLR2004
            middle_fits = end == 2 or not inner or gaps[cut - 1].strip(" .") == ""  # noqa: PLR2004
            if len(first) == len(second) >= fewest and one_mark and middle_fits:
                best = (first, second)
    return best


def gridref_hits(text: str, places: Places, letters: GridLetters) -> list[Hit]:
    """Find references with more figures than the cells have, however they are spaced.

    A six-figure reference (100 m) passes where cells are 100 m; eight figures never do, even at
    a cell's corner.

    Parameters
    ----------
    text
        A text as `text.readings` gives it.
    places
        The judge of what is too exact.
    letters
        From `grid_letters`.
    """
    fewest = next(n for n in range(1, 7) if 10 ** (5 - n) < places.cell_size_m)
    hits = []
    for match in letters.pattern.finditer(text):
        halves = _split_digits(match["digits"], fewest)
        if halves is None:
            continue
        figures = len(halves[0])
        size_m = 10.0 ** (5 - figures)
        name = re.sub(r"[ .]", "", match["letters"]).upper()
        corner = letters.corners[name]
        east, north = (
            base + int(half) * size_m + size_m / 2
            for base, half in zip(corner, halves, strict=True)
        )
        here = np.array([east]), np.array([north])
        if places.inside(*here)[0]:
            reach = hypot(size_m, size_m) / 2
            hits.append(
                Hit(
                    RULE,
                    f"square {name}{halves[0]}{halves[1]}",
                    match.start(),
                    allowable=not places.registered(*here, within_m=reach)[0],
                )
            )
    return hits
