"""Finds places written as encoded polylines.

The format is published: each number, times ten to the power of five (some use six), is the
difference from the one before; its sign moves to the last bit; five bits at a time, lowest first,
with 32 added to all but the last, plus 63, make its letters. Latitude comes first.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from math import floor

import numpy as np

from eaveline.audit.coordinates import METRES_PER_DEGREE, RULE
from eaveline.audit.findings import Hit
from eaveline.audit.frames import DEGREES
from eaveline.audit.places import Places
from eaveline.audit.secrets import Bounds, FloatArray

_ALPHABET = r"?-~"
_MORE, _LAST = r"[_-~]", r"[?-^]"
_FIRST_CODE, _BITS, _CONTINUED = 63, 5, 32
_FACTORS = (10**5, 10**6)
_RUN = re.compile(rf"[{_ALPHABET}]*")


@dataclass(frozen=True, slots=True)
class _Form:
    """One precision, with a pattern for what may begin a line in the town."""

    factor: int
    start: re.Pattern[str]


def polyline_of(points: list[tuple[float, float]], *, factor: int = 10**5) -> str:
    """Return latitudes, longitudes as an encoded polyline.

    Examples
    --------
    >>> polyline_of([(38.5, -120.2), (40.7, -120.95), (43.252, -126.453)])
    '_p~iF~ps|U_ulLnnqC_mqNvxq`@'
    """
    written, before = [], (0, 0)
    for point in points:
        now = (round(point[0] * factor), round(point[1] * factor))
        written += [_letters(one - other) for one, other in zip(now, before, strict=True)]
        before = now
    return "".join(written)


def _signless(number: int) -> int:
    """Move the sign to the last bit."""
    return ~(number << 1) if number < 0 else number << 1


def _letters(number: int) -> str:
    bits, codes = _signless(number), []
    while bits >= _CONTINUED:
        codes.append((bits % _CONTINUED) + _CONTINUED)
        bits >>= _BITS
    return "".join(chr(code + _FIRST_CODE) for code in [*codes, bits])


def _numbers(letters: str) -> Iterator[int]:
    """Yield the numbers of a run of letters; a last one that is cut off is left out."""
    bits = shift = 0
    for letter in letters:
        code = ord(letter) - _FIRST_CODE
        bits |= (code % _CONTINUED) << shift
        shift += _BITS
        if code < _CONTINUED:
            yield ~(bits >> 1) if bits & 1 else bits >> 1
            bits = shift = 0


def vertices_of(letters: str, *, factor: int = 10**5) -> FloatArray:
    """Return longitudes, latitudes of an encoded polyline, shape (n, 2)."""
    numbers = list(_numbers(letters))
    pairs = np.array(numbers[: len(numbers) // 2 * 2], dtype=np.float64).reshape(-1, 2)
    return pairs.cumsum(axis=0)[:, ::-1] / factor


@cache
def _forms(bounds: Bounds) -> tuple[_Form, ...]:
    """Return patterns for the town's box in degrees: its latitudes differ in low bits only."""
    _, south, _, north = bounds
    forms = []
    for factor in _FACTORS:
        ends = sorted(_signless(floor(degrees * factor)) for degrees in (south, north))
        many = len(_letters(floor(south * factor)))
        if many != len(_letters(floor(north * factor))):
            first = rf"{_MORE}{{0,6}}{_LAST}"
        else:
            low, high = (end >> (_BITS * (many - 1)) for end in ends)
            top = "".join(re.escape(chr(_FIRST_CODE + code)) for code in range(low, high + 1))
            first = rf"{_MORE}{{{many - 1}}}[{top}]"
        forms.append(_Form(factor, re.compile(rf"(?={first}{_MORE}{{0,6}}{_LAST})")))
    return tuple(forms)


def polyline_hits(text: str, places: Places) -> list[Hit]:
    """Find encoded polylines that begin in the town.

    Parameters
    ----------
    text
        A text as it stands in the file: undoing script escapes would spoil a polyline.
    places
        The judge of what is too exact.
    """
    west, south, east, north = places.frames[0].bounds
    hits = []
    for form in _forms(places.frames[0].bounds):
        done = 0
        for match in form.start.finditer(text):
            if match.start() < done:
                continue
            run = _RUN.match(text, match.start())
            found = vertices_of(run[0] if run else "", factor=form.factor)
            if not len(found):
                continue
            x, y = found[0]
            if not (west <= x <= east and south <= y <= north):
                continue
            done = match.start() + len(run[0] if run else "")
            hits += places.hits(
                RULE,
                np.ascontiguousarray(found[:, 0]),
                np.ascontiguousarray(found[:, 1]),
                source=DEGREES,
                within_m=METRES_PER_DEGREE / form.factor,
                offsets=np.full(len(found), match.start(), dtype=np.int64),
            )
    return hits
