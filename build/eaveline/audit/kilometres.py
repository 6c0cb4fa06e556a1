"""Finds places written as kilometres east and north on the town's grid."""

from __future__ import annotations

import re
from functools import cache
from math import floor

import numpy as np

from eaveline.audit.coordinates import RULE
from eaveline.audit.findings import Hit
from eaveline.audit.places import Places
from eaveline.audit.secrets import Bounds
from eaveline.audit.text import BREAK

NEAR = 60
"""Characters within which two numbers may be one position (own choice)."""
AROUND = 120
"""Characters within which a word may say that numbers are kilometres (own choice)."""
_DECIMALS = r"[.,\u00b7](?P<decimals>\d{2,6})(?![\d.])"
_SAYS_SO = re.compile(r"(?i)\bkm\b|kilomet|\beasting|\bnorthing|\bgrid\b|\bE/N\b")


@cache
def _patterns(bounds_m: Bounds) -> tuple[re.Pattern[str], re.Pattern[str]]:
    west, south, east, north = (edge / 1000 for edge in bounds_m)

    def number(low: float, high: float) -> re.Pattern[str]:
        whole = "|".join(map(str, range(floor(low), floor(high) + 1)))
        return re.compile(rf"(?<![\d.,])(?P<whole>{whole}){_DECIMALS}")

    return number(west, east), number(south, north)


def kilometre_hits(text: str, places: Places) -> list[Hit]:
    """Find pairs such as ``650.112, 330.238``, in either order.

    Drawings are full of numbers like these. So without a word beside them that says what they
    are, only a pair that meets an exact point of the register is a hit.

    Parameters
    ----------
    text
        A text as `text.readings` gives it.
    places
        The judge of what is too exact.
    """
    across, up = _patterns(places.bounds_m)
    xs = list(across.finditer(text))
    if not xs:
        return []
    pairs = [
        (x, y)
        for y in up.finditer(text)
        for x in xs
        if abs(x.start() - y.start()) <= NEAR and x.start() != y.start()
        if BREAK not in text[min(x.start(), y.start()) : max(x.start(), y.start())]
    ]
    hits = []
    for x, y in pairs:
        start, end = min(x.start(), y.start()), max(x.end(), y.end())
        around = text[max(start - AROUND, 0) : end + AROUND]
        found = places.hits(
            RULE,
            np.array([_metres(x)]),
            np.array([_metres(y)]),
            source=places.crs,
            within_m=10.0 ** (3 - max(len(x["decimals"]), len(y["decimals"]))),
            offsets=np.array([start]),
        )
        hits += [hit for hit in found if not hit.allowable or _SAYS_SO.search(around)]
    return hits


def _metres(number: re.Match[str]) -> float:
    return 1000 * float(f"{number['whole']}.{number['decimals']}")
