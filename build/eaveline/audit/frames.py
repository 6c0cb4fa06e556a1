"""The coordinate systems in which somebody might write a place in the town."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from math import floor

import numpy as np
from convertbng.cutil import convert_to_osgb36
from pyproj import Transformer

from eaveline.audit.secrets import Bounds, FloatArray

MARGIN_M = 2000.0
"""How far outside the town's box a position still counts as the town's (own choice)."""

BRITISH_GRID = "EPSG:27700"
IRISH_GRID = "EPSG:29903"
DEGREES = "EPSG:4326"

Points = tuple[FloatArray, FloatArray]


@cache
def _transformer(source: str, target: str) -> Transformer:
    return Transformer.from_crs(source, target, always_xy=True)


def to_local(x: FloatArray, y: FloatArray, *, source: str, crs: str) -> Points:
    """Return eastings, northings in metres in the town's own system.

    Degrees to the British grid go through the Ordnance Survey's own OSTN15 transformation
    (convertbng); everything else through PROJ, by way of degrees.

    Parameters
    ----------
    x, y
        Shape (n,): eastings, northings, or longitudes, latitudes.
    source
        The system of `x` and `y`, as ``EPSG:n``.
    crs
        The town's system.

    Returns
    -------
    tuple of arrays
        Shape (n,) each; not finite where the point lies outside the system's area.
    """
    if source == crs:
        return x, y
    if source != DEGREES:
        x, y = _transformer(source, DEGREES).transform(x, y)
    if crs == BRITISH_GRID:
        east, north = convert_to_osgb36(np.ascontiguousarray(x), np.ascontiguousarray(y))
    else:
        east, north = _transformer(DEGREES, crs).transform(x, y)
    return np.asarray(east, dtype=np.float64), np.asarray(north, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Frame:
    """One way to write a place as two numbers, with patterns for numbers near the town."""

    crs: str
    bounds: Bounds
    x_number: re.Pattern[str]
    y_number: re.Pattern[str]

    @property
    def in_degrees(self) -> bool:
        """True for latitude, longitude."""
        return self.crs == DEGREES


def _any_of(starts: range) -> str:
    """Return a pattern for a number's first digits that no digit but 0 may precede.

    The digits come first, what must not stand before them second: so a search can run from
    digit to digit rather than try at every character.
    """
    return "|".join(rf"{n}(?<![1-9.]{n})(?<![1-9.]0{n})(?<![1-9.]00{n})" for n in starts)


def sizes(low: float, high: float) -> tuple[float, float]:
    """Return the range of the numbers' sizes: a page may write 1.2 W for -1.2."""
    least = 0.0 if low < 0 < high else min(abs(low), abs(high))
    return least, max(abs(low), abs(high))


def whole_degrees(low: float, high: float) -> str:
    """Return a pattern for the whole degrees of the numbers in a range, signs apart."""
    least, most = sizes(low, high)
    return _any_of(range(floor(least), floor(most) + 1))


def _degree_number(low: float, high: float) -> re.Pattern[str]:
    return re.compile(rf"(?:{whole_degrees(low, high)})[.,\u00b7](?P<decimals>\d+)")


def _metre_number(low: float, high: float) -> re.Pattern[str]:
    least, most = sizes(low, high)
    thousands = _any_of(range(floor(least / 1000), floor(most / 1000) + 1))
    # A group separator may stand before the last three digits: 650,123 or 650 123.
    return re.compile(rf"(?:{thousands})[, ']?\d{{3}}(?:\.\d+)?(?!\d)")


def widened(bounds: Bounds, margin_m: float = MARGIN_M) -> Bounds:
    """Return the box with a margin on every side."""
    west, south, east, north = bounds
    return west - margin_m, south - margin_m, east + margin_m, north + margin_m


@cache
def frames_for(bounds_m: Bounds, crs: str) -> tuple[Frame, ...]:
    """Return the systems to look for: degrees, the town's grid, web Mercator, UTM, and for the
    Irish grid also Irish Transverse Mercator.

    Parameters
    ----------
    bounds_m
        The town's box in `crs`, margin included.
    crs
        The town's system.
    """  # noqa: D205 - the list of systems is one sentence
    lowest, _, highest, _ = to_degrees = _transformer(crs, DEGREES).transform_bounds(*bounds_m)
    zone = floor(((lowest + highest) / 2 + 180) / 6) + 1
    systems = [DEGREES, crs, "EPSG:3857", f"EPSG:{32600 + zone}"]
    if crs == IRISH_GRID:
        systems.append("EPSG:2157")
    frames = []
    for system in systems:
        box: Bounds
        if system == crs:
            box = bounds_m
        elif system == DEGREES:
            box = to_degrees
        else:
            box = _transformer(crs, system).transform_bounds(*bounds_m)
        number: Callable[[float, float], re.Pattern[str]]
        number = _degree_number if system == DEGREES else _metre_number
        west, south, east, north = box
        frames.append(Frame(system, box, number(west, east), number(south, north)))
    return tuple(frames)
