"""Finds places written as geohash or open location code."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import cos, radians, sqrt

import numpy as np

from eaveline.audit.coordinates import METRES_PER_DEGREE, RULE
from eaveline.audit.findings import Hit
from eaveline.audit.frames import DEGREES
from eaveline.audit.places import Places

GEOHASH_DIGITS = "0123456789bcdefghjkmnpqrstuvwxyz"
"""Base 32 without a, i, l, o (G. Niemeyer's geohash, in the public domain)."""
OPEN_CODE_DIGITS = "23456789CFGHJMPQRVWX"
"""Base 20 of the Open Location Code specification."""

_PREFIX = 5
"""Letters of a geohash that name a square of about 5 km."""
_PAIRS = 5
"""Pairs of digits in an open location code before the finer 4 by 5 grid begins."""
_WHOLE = 8


@dataclass(frozen=True, slots=True)
class Box:
    """The rectangle a code names, in degrees."""

    south: float
    west: float
    height: float
    width: float

    @property
    def centre(self) -> tuple[float, float]:
        """Longitude, latitude."""
        return self.west + self.width / 2, self.south + self.height / 2

    @property
    def side_m(self) -> float:
        """Side of a square as large as the rectangle."""
        area = self.height * self.width * cos(radians(self.south))
        return METRES_PER_DEGREE * sqrt(area)


def geohash_box(code: str) -> Box:
    """Return the rectangle of a geohash: bits halve longitude, latitude in turn.

    Examples
    --------
    >>> [round(degrees, 3) for degrees in geohash_box("ezs42").centre]
    [-5.603, 42.605]
    """
    south, west, height, width = -90.0, -180.0, 180.0, 360.0
    across = True
    for letter in code.lower():
        number = GEOHASH_DIGITS.index(letter)
        for bit in (16, 8, 4, 2, 1):
            if across:
                width /= 2
                west += width if number & bit else 0.0
            else:
                height /= 2
                south += height if number & bit else 0.0
            across = not across
    return Box(south, west, height, width)


def geohash_of(latitude: float, longitude: float, letters: int) -> str:
    """Return the geohash of a point.

    Examples
    --------
    >>> geohash_of(57.64911, 10.40744, 11)
    'u4pruydqqvj'
    """
    south, west, height, width = -90.0, -180.0, 180.0, 360.0
    code, number = "", 0
    for step in range(letters * 5):
        number *= 2
        if step % 2 == 0:
            width /= 2
            if longitude >= west + width:
                west, number = west + width, number + 1
        else:
            height /= 2
            if latitude >= south + height:
                south, number = south + height, number + 1
        if step % 5 == 4:  # noqa: PLR2004 - five bits a letter
            code, number = code + GEOHASH_DIGITS[number], 0
    return code


def open_code_box(code: str) -> Box:
    """Return the rectangle of a whole open location code.

    Source: Open Location Code specification: five pairs of base 20, then a grid of four
    columns, five rows for each further digit.

    Examples
    --------
    >>> box = open_code_box("7FG49QCJ+2VX")
    >>> [round(degrees, 7) for degrees in box.centre]
    [2.7822344, 20.3701125]
    """
    digits = [OPEN_CODE_DIGITS.index(letter) for letter in code.upper().replace("+", "")]
    south, west, height, width = -90.0, -180.0, 400.0, 400.0
    for row, column in zip(digits[: 2 * _PAIRS : 2], digits[1 : 2 * _PAIRS : 2], strict=False):
        height, width = height / 20, width / 20
        south, west = south + row * height, west + column * width
    for digit in digits[2 * _PAIRS :]:
        height, width = height / 5, width / 4
        south, west = south + digit // 4 * height, west + digit % 4 * width
    return Box(south, west, height, width)


def _open_code_start(latitude: float, longitude: float) -> str:
    """Return the first four digits, which name a square of one degree."""
    down, across = latitude + 90, longitude + 180
    first = int(down // 20), int(across // 20)
    second = int(down % 20), int(across % 20)
    return "".join(OPEN_CODE_DIGITS[number] for number in (*first, *second))


@dataclass(frozen=True, slots=True)
class GeocodePatterns:
    """Patterns for the codes of one town."""

    geohash: re.Pattern[str]
    open_code: re.Pattern[str]
    starts: tuple[str, ...]
    """The open location codes of the town's one-degree squares."""


def geocode_patterns(places: Places) -> GeocodePatterns:
    """Return the patterns for a town: only codes that begin as the town's do are looked at."""
    west, south, east, north = places.frames[0].bounds
    step = geohash_box("0" * _PREFIX)
    latitudes = np.append(np.arange(south, north, step.height), north)
    longitudes = np.append(np.arange(west, east, step.width), east)
    prefixes = sorted({geohash_of(a, b, _PREFIX) for a in latitudes for b in longitudes})
    starts = {_open_code_start(a, b) for a in (south, north) for b in (west, east)}
    digit = f"[{OPEN_CODE_DIGITS}]"
    either = GEOHASH_DIGITS + GEOHASH_DIGITS.upper()
    return GeocodePatterns(
        geohash=re.compile(
            rf"(?:{'|'.join(map(_in_either_case, prefixes))})[{either}]{{1,15}}(?![^\W_])"
        ),
        open_code=re.compile(
            rf"(?<![^\W_])(?P<area>(?:{digit}{{2}}){{2,4}})\+(?P<fine>{digit}{{2,7}})(?![^\W_])",
            re.IGNORECASE,
        ),
        starts=tuple(sorted(starts)),
    )


def _in_either_case(code: str) -> str:
    """Return a pattern that checks what stands before a code after its first letter."""
    first, *more = (f"[{letter}{letter.upper()}]" for letter in code)
    return rf"{first}(?<![^\W_].){''.join(more)}"


def _whole_codes(area: str, fine: str, starts: tuple[str, ...]) -> list[str]:
    """Return what a code may stand for: a short one leaves out the town's first digits."""
    if len(area) == _WHOLE:
        return [f"{area}+{fine}"]
    if not re.search("[A-Za-z]", area):
        return []  # A sum such as 2345+67 is likelier.
    return [f"{start[: _WHOLE - len(area)]}{area}+{fine}" for start in starts]


def geocode_hits(text: str, places: Places, patterns: GeocodePatterns) -> list[Hit]:
    """Find geohashes or open location codes in the town that name less than a cell.

    Parameters
    ----------
    text
        A text as `text.readings` gives it.
    places
        The judge of what is too exact.
    patterns
        From `geocode_patterns`.
    """
    found = [(m.start(), geohash_box(m[0])) for m in patterns.geohash.finditer(text)]
    if "+" in text:
        found += [
            (match.start(), open_code_box(code))
            for match in patterns.open_code.finditer(text)
            for code in _whole_codes(match["area"], match["fine"], patterns.starts)
        ]
    hits = []
    for start, box in found:
        if box.side_m >= places.cell_size_m:
            continue
        longitude, latitude = box.centre
        east, north = places.local(np.array([longitude]), np.array([latitude]), DEGREES)
        if places.inside(east, north)[0]:
            # The code is a square, so its centre on a cell's corner excuses nothing.
            near = places.registered(east, north, within_m=box.side_m)[0]
            hits.append(Hit(RULE, f"place {east[0]:.0f} {north[0]:.0f}", start, allowable=not near))
    return hits
