"""Finds places written in degrees, minutes, seconds."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import cos, radians, sqrt

import numpy as np

from eaveline.audit.coordinates import METRES_PER_DEGREE, RULE, WINDOW
from eaveline.audit.findings import Hit
from eaveline.audit.frames import DEGREES, whole_degrees
from eaveline.audit.places import Places
from eaveline.audit.text import BREAK

_DEGREE = r"(?:\s*(?:\u00b0|deg(?:rees?)?\.?|d)\s*|\s*[:\s\x02_-]\s*)"
_MINUTE = r"(?:\s*(?:'|m(?:in(?:utes?)?)?\.?)\s*|\s*[:\s\x02_-]\s*)"
_REST = (
    rf"{_DEGREE}(?P<m>[0-5]?\d(?:[.,]\d+)?)(?![\d])"
    rf"(?:{_MINUTE}(?P<s>[0-5]?\d(?:[.,]\d+)?)(?!\d))?"
)
_PACKED = r"(?P<pm>[0-5]\d)(?P<ps>[0-5]\d)?(?P<pf>[.,]\d+)?(?!\d)"
SECONDS_PER_DEGREE = 3600.0


@dataclass(frozen=True, slots=True)
class _Angle:
    start: int
    degrees: float
    unit_degrees: float
    """One unit in the last place written."""


def _pattern(low: float, high: float) -> re.Pattern[str]:
    return re.compile(rf"(?P<d>{whole_degrees(low, high)})(?:{_REST}|{_PACKED})", re.IGNORECASE)


def _unit(*parts: str | None) -> float:
    """Return one unit in the last place of degrees, minutes, seconds, in degrees."""
    unit = 1.0
    for power, part in enumerate(parts):
        if part is not None:
            _, _, decimals = part.replace(",", ".").partition(".")
            unit = 60.0**-power * 10.0 ** -len(decimals)
    return unit


def _angles(text: str, pattern: re.Pattern[str], low: float, high: float) -> list[_Angle]:
    found = []
    for match in pattern.finditer(text):
        degrees = match["d"]
        minutes, seconds = match["m"], match["s"]
        if minutes is None:
            fraction = match["pf"] or ""
            seconds = match["ps"] + fraction if match["ps"] else None
            minutes = match["pm"] + ("" if match["ps"] else fraction)
        size = float(degrees) + float(minutes.replace(",", ".")) / 60
        if seconds is not None:
            size += float(seconds.replace(",", ".")) / SECONDS_PER_DEGREE
        signs = [value for value in (size, -size) if low <= value <= high]
        if signs:
            west = "W" in text[match.end() : match.end() + 3].upper()
            minus = text[match.start() - 1 : match.start()] == "-"
            value = -size if (west or minus) and -size in signs else signs[0]
            found.append(_Angle(match.start(), value, _unit(degrees, minutes, seconds)))
    return found


def _together(text: str, one: _Angle, other: _Angle) -> bool:
    start, end = sorted((one.start, other.start))
    return 0 < end - start <= WINDOW and BREAK not in text[start:end]


def angle_hits(text: str, places: Places) -> list[Hit]:
    """Find positions in degrees with minutes, or with minutes, seconds.

    Reads degree signs, letters, colons or bare spaces, as well as the packed form of
    ISO 6709 (``+524952+0014248``). Positions no finer than a cell pass.

    Parameters
    ----------
    text
        A text as `text.readings` gives it.
    places
        The judge of what is too exact.
    """
    west, south, east, north = places.frames[0].bounds
    latitudes = _angles(text, _pattern(south, north), south, north)
    if not latitudes:
        return []
    longitudes = _angles(text, _pattern(west, east), west, east)
    kept = []
    for latitude in latitudes:
        near = [one for one in longitudes if _together(text, one, latitude)]
        if not near:
            continue
        longitude = min(near, key=lambda one: abs(one.start - latitude.start))
        unit = min(latitude.unit_degrees, longitude.unit_degrees)
        side_m = unit * METRES_PER_DEGREE * sqrt(cos(radians(latitude.degrees)))
        if side_m < places.cell_size_m:
            kept.append((longitude.degrees, latitude.degrees, side_m, latitude.start))
    if not kept:
        return []
    x, y, within, starts = np.array(kept, dtype=np.float64).T
    return places.hits(RULE, x, y, source=DEGREES, within_m=within, offsets=starts.astype(np.int64))
