"""Finds places written as two numbers, whatever the order, separator or system."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from eaveline.audit.findings import Hit
from eaveline.audit.frames import Frame
from eaveline.audit.places import Places
from eaveline.audit.secrets import FloatArray
from eaveline.audit.text import BREAK

RULE = "coordinate"
WINDOW = 200
"""Characters within which two numbers may be halves of one position (own choice)."""
METRES_PER_DEGREE = 111_320.0
"""Length of a degree of latitude; longitude's shrinks with its cosine."""
LONE_DECIMALS = 5
"""A lone half of a position with this many decimals (about a metre) is no accident."""
LONE_METRES = 3
"""So many lone eastings, with as many northings, look like columns of a table (own choice)."""

_GROUPING = re.compile(r"[, ']")
_UNIT = re.compile(r"(?:r?em|ch|px|pt|v[wh]|fr|mm|cm)\b|%(?![0-9A-Fa-f]{2})")
"""A length of a style sheet or a share; no position is written with one."""
_ROUGH_DECIMALS = 3


class Lone(NamedTuple):
    """A number that would make a position if the file held its other half."""

    offset: int
    axis: str
    """A field of `Halves`."""


class Halves(NamedTuple):
    """How many lone halves of positions a file holds."""

    latitudes: int = 0
    longitudes: int = 0
    eastings: int = 0
    northings: int = 0

    @classmethod
    def of(cls, axes: Iterable[str]) -> Halves:
        """Count the axes of a file's lone numbers."""
        return cls(**Counter(axes))

    @property
    def make_a_place(self) -> bool:
        """True if they give a place away, however far apart they stand in the file."""
        return bool(self.latitudes and self.longitudes) or (
            min(self.eastings, self.northings) >= LONE_METRES
        )


@dataclass(frozen=True, slots=True)
class _Number:
    start: int
    value: float
    decimals: int


def _numbers(text: str, frame: Frame, *, across: bool) -> list[_Number]:
    pattern = frame.x_number if across else frame.y_number
    low, high = frame.bounds[0::2] if across else frame.bounds[1::2]
    found = []
    for match in pattern.finditer(text):
        written = match[0]
        if frame.in_degrees:
            size = float(written.replace(",", ".").replace("\u00b7", "."))
            decimals = len(match["decimals"])
            if decimals <= _ROUGH_DECIMALS and _UNIT.match(text, match.end()):
                continue
        else:
            size = float(_GROUPING.sub("", written))
            decimals = 0
        west = (
            text[match.start() - 1 : match.start()] == "-"
            or "W" in text[match.end() : match.end() + 3].upper()
        )
        signs = [value for value in (size, -size) if low <= value <= high]
        if signs:
            value = -size if west and -size in signs else signs[0]
            found.append(_Number(match.start(), value, decimals))
    return found


def _column(numbers: list[_Number]) -> FloatArray:
    return np.array([number.value for number in numbers], dtype=np.float64)


def _in_order(xs: list[_Number], ys: list[_Number]) -> list[tuple[_Number | None, _Number | None]]:
    """Return the numbers by place in the text, each as an x, a y, or where ranges overlap both."""
    x_at = {number.start: number for number in xs}
    y_at = {number.start: number for number in ys}
    return [(x_at.get(at), y_at.get(at)) for at in sorted({*x_at, *y_at})]


def _together(text: str, one: _Number, other: _Number) -> bool:
    """Return whether two numbers stand near each other in one text."""
    start, end = sorted((one.start, other.start))
    return end - start <= WINDOW and BREAK not in text[start:end]


def _drop_published(
    text: str, row: list[tuple[_Number | None, _Number | None]], frame: Frame, places: Places
) -> list[tuple[_Number | None, _Number | None]]:
    """Leave out neighbours in the text that make a published point."""
    steps = [
        (i, x, y)
        for i, (first, second) in enumerate(pairwise(row))
        for x, y in ((first[0], second[1]), (second[0], first[1]))
        if x is not None and y is not None and _together(text, x, y)
    ]
    if not steps:
        return row
    east, north = places.local(
        _column([x for _, x, _ in steps]), _column([y for _, _, y in steps]), frame.crs
    )
    used: set[int] = set()
    for (i, _, _), fine in zip(steps, places.published(east, north), strict=True):
        # Left to right, so that in x1 y1 x2 y2 nobody pairs y1 with x2.
        if fine and not used & {i, i + 1}:
            used |= {i, i + 1}
    return [numbers for i, numbers in enumerate(row) if i not in used]


def _pair_up(
    text: str,
    row: list[tuple[_Number | None, _Number | None]],
) -> tuple[list[tuple[_Number, _Number]], list[tuple[_Number | None, _Number | None]]]:
    """Pair neighbours, left to right; return the pairs, then the numbers left alone."""
    pairs: list[tuple[_Number, _Number]] = []
    alone: list[tuple[_Number | None, _Number | None]] = []
    waiting: tuple[_Number | None, _Number | None] | None = None
    for numbers in row:
        match = None
        if waiting is not None:
            for x, y in ((waiting[0], numbers[1]), (numbers[0], waiting[1])):
                if x is not None and y is not None and _together(text, x, y):
                    match = match or (x, y)
            if match is None:
                alone.append(waiting)
        if match is not None:
            pairs.append(match)
            waiting = None
        else:
            waiting = numbers
    if waiting is not None:
        alone.append(waiting)
    return pairs, alone


def _resolution_m(decimals: int, latitude: float) -> float:
    """Return the side of a square as large as one unit in the last decimal."""
    return METRES_PER_DEGREE * 10.0**-decimals * float(np.sqrt(np.cos(np.radians(latitude))))


def coordinate_hits(text: str, places: Places) -> tuple[list[Hit], list[Lone]]:
    """Find positions given as numbers, and the halves of positions that stand alone.

    Covers decimal degrees in either order, signs or compass letters, any separator, WKT,
    GeoJSON and map links; eastings with northings; web Mercator; UTM; Irish Transverse Mercator.

    Parameters
    ----------
    text
        A text as `text.readings` gives it.
    places
        The judge of what is too exact.

    Returns
    -------
    hits, lone
        The lone numbers of one file are to be counted together: a latitude in one paragraph
        with a longitude in another is a position too.
    """
    hits: list[Hit] = []
    lone: list[Lone] = []
    for frame in places.frames:
        row = _in_order(_numbers(text, frame, across=True), _numbers(text, frame, across=False))
        if not row:
            continue
        pairs, alone = _pair_up(text, _drop_published(text, row, frame, places))
        lone += _lone(alone, frame, places)
        if frame.in_degrees:
            within = [_resolution_m(max(x.decimals, y.decimals), y.value) for x, y in pairs]
        else:
            within = [1.0] * len(pairs)
        fine = [i for i, metres in enumerate(within) if metres < places.cell_size_m]
        if fine:
            hits += places.hits(
                RULE,
                _column([pairs[i][0] for i in fine]),
                _column([pairs[i][1] for i in fine]),
                source=frame.crs,
                within_m=np.array([within[i] for i in fine]),
                offsets=np.array([min(n.start for n in pairs[i]) for i in fine]),
            )
    return hits, lone


def _lone(
    alone: list[tuple[_Number | None, _Number | None]], frame: Frame, places: Places
) -> list[Lone]:
    """Return the numbers left alone that are too exact to stand there by accident."""
    if frame.in_degrees:
        names = ("longitudes", "latitudes")
    elif frame.crs == places.crs:
        names = ("eastings", "northings")
    else:
        return []
    half_cell = places.cell_size_m / 2
    return [
        Lone(number.start, name)
        for numbers in alone
        for number, name in zip(numbers, names, strict=True)
        if number is not None
        and (
            number.decimals >= LONE_DECIMALS if frame.in_degrees else number.value % half_cell != 0
        )
    ]
