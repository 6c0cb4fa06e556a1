"""Latitudes and longitudes as people type them, read to decimal degrees.

Decimal degrees, degrees with decimal minutes, degrees-minutes-seconds; hemisphere letters or
signs; decimal points or commas; both in one cell. The number of decimals says how precisely
a position was written down, and that becomes uncertainty in metres: the diagonal of the
rectangle one unit of the last figure makes (Chapman & Wieczorek 2020, Georeferencing Best
Practices, uncertainty from coordinate precision).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

Axis = Literal["latitude", "longitude"]

INSTRUMENT_UNCERTAINTY_M: Final = 10.0
"""Added to every typed coordinate for the device or the finger that found it.

A phone under open sky is right to about 5 m, between houses to about twice that; people who
click on a map do no better (common practice, no source).
"""

_EARTH_RADIUS_M: Final = 6_378_137.0
_ECCENTRICITY_SQUARED: Final = 0.006_694_380
"""WGS84."""


@dataclass(frozen=True, slots=True)
class Angle:
    """One angle.

    Parameters
    ----------
    degrees
        Decimal degrees, south and west negative.
    precision_deg
        One unit of the last figure typed, in degrees.
    axis
        Known only when a hemisphere letter was typed.
    """

    degrees: float
    precision_deg: float
    axis: Axis | None = None


@dataclass(frozen=True, slots=True)
class AngleFault:
    """Why a text is no angle; `code` is a key of `place_problems.PLACE_PROBLEMS`."""

    code: Literal["angle-unreadable", "angle-minutes-too-large", "angle-out-of-range"]


_REPLACEMENTS: Final = (
    (re.compile(r"[\u2212\u2012-\u2015]"), "-"),
    (
        re.compile(
            r"[\u00ba\u02da\u00b0]|\bdeg(?:rees|s)?\b\.?|(?<=\d)\s*deg(?:rees|s)?\.?", re.IGNORECASE
        ),
        "° ",
    ),
    (
        re.compile(
            r"''|[\u2033\u201d\u201c\u02ba\uff02]|(?<=\d)\s*sec(?:onds|s)?\.?", re.IGNORECASE
        ),
        '"',
    ),
    (
        re.compile(r"[\u2032\u2019\u2018\u02b9\u00b4`]|(?<=\d)\s*min(?:utes|s)?\.?", re.IGNORECASE),
        "'",
    ),
    (re.compile(r"\bnorth\b", re.IGNORECASE), "N"),
    (re.compile(r"\bsouth\b", re.IGNORECASE), "S"),
    (re.compile(r"\beast\b", re.IGNORECASE), "E"),
    (re.compile(r"\bwest\b", re.IGNORECASE), "W"),
    (re.compile(r"\b(?:latitude|longitude|long|lat|lng|lon)\b[\s.:=]*", re.IGNORECASE), " "),
    # 52d48m36s: unit letters only count together, or the s could mean south.
    (re.compile(r"(\d)\s*d\s*(\d[\d.,]*)\s*m\s*(\d[\d.,]*)\s*s", re.IGNORECASE), r"""\1°\2'\3" """),
    (re.compile(r"(\d)\s*d\s*(\d[\d.,]*)\s*m\b", re.IGNORECASE), r"\1°\2'"),
    # 52-48-36: a dash between whole numbers is a separator, not a sign.
    (re.compile(r"(?<![\d.,])(\d{1,3})-(\d{1,2})-(\d{1,2}(?:[.,]\d+)?)(?!\d)"), r"\1 \2 \3"),
)
_NUMBER: Final = r"\d++(?:[.,]\d++)?+"
"""Possessive: 52' is no 5 degrees and 2 minutes, and a long row of figures costs no time."""
_ANGLE = re.compile(
    rf"""
    (?P<before>[NSEW])?\s*(?P<sign>[+-])?\s*
    (?P<deg>{_NUMBER})\s*°?\s*
    (?:(?P<min>{_NUMBER})\s*'?\s*
       (?:(?P<sec>{_NUMBER})\s*"?\s*)?)?
    (?P<after>[NSEW])?
    """,
    re.VERBOSE | re.IGNORECASE,
)
_LETTER_SPLIT_AFTER = re.compile(r"(?<=[NSEW])[\s,;/|]*(?=[+\-\d])", re.IGNORECASE)
_LETTER_SPLIT_BEFORE = re.compile(r"(?<=[\d°'\"])[\s,;/|]*(?=[NSEW])", re.IGNORECASE)
_MOST_DEGREES: Final = {"latitude": 90.0, "longitude": 180.0}
_MINUTES_A_DEGREE: Final = 60


def parse_angle(text: str) -> Angle | AngleFault:
    """Read one angle; see the module's description for what may be typed.

    Examples
    --------
    >>> parse_angle("52° 48.6' N").axis
    'latitude'
    >>> round(parse_angle("1 44 24 W").degrees, 6)
    -1.74
    """
    return _parse_tidy(_tidy(text))


def parse_pair(text: str) -> tuple[Angle, Angle] | AngleFault:
    """Read a cell that holds two angles, in the order they were typed.

    The order is told by hemisphere letters where there are any; otherwise the first is taken
    for the latitude, and `locate` tries the other order.

    Examples
    --------
    >>> [round(angle.degrees, 4) for angle in parse_pair("52.81, 1.74")]
    [52.81, 1.74]
    """
    tidy = _tidy(text).strip("()[] ")
    for halves in _ways_to_halve(tidy):
        first, second = _parse_tidy(halves[0]), _parse_tidy(halves[1])
        if isinstance(first, Angle) and isinstance(second, Angle):
            if first.axis is not None and first.axis == second.axis:
                return AngleFault("angle-unreadable")
            if first.axis == "longitude" or second.axis == "latitude":
                return second, first
            return first, second
    return AngleFault("angle-unreadable")


def _tidy(text: str) -> str:
    tidy = text.strip()
    for pattern, replacement in _REPLACEMENTS:
        tidy = pattern.sub(replacement, tidy)
    return " ".join(tidy.split()).strip(" ,;")


def _parse_tidy(tidy: str) -> Angle | AngleFault:
    match = _ANGLE.fullmatch(tidy)
    if match is None:
        return AngleFault("angle-unreadable")
    letter = (match["before"] or match["after"] or "").upper()
    parts = [match[name].replace(",", ".") for name in ("deg", "min", "sec") if match[name]]
    doubled = bool(match["before"] and match["after"]) or bool(letter and match["sign"] == "-")
    if doubled or any("." in part for part in parts[:-1]):
        return AngleFault("angle-unreadable")
    values = [float(part) for part in parts]
    if any(value >= _MINUTES_A_DEGREE for value in values[1:]):
        return AngleFault("angle-minutes-too-large")
    degrees = sum(value / 60**power for power, value in enumerate(values))
    axis: Axis | None = None
    if letter:
        axis = "latitude" if letter in "NS" else "longitude"
    if degrees > _MOST_DEGREES[axis or "longitude"]:
        return AngleFault("angle-out-of-range")
    decimals = len(parts[-1].partition(".")[2])
    precision = 10.0**-decimals / 60 ** (len(parts) - 1)
    negative = letter in ("S", "W") or match["sign"] == "-"
    return Angle(-degrees if negative else degrees, precision, axis)


def _ways_to_halve(tidy: str) -> list[tuple[str, str]]:
    """Every way to cut a cell in two that its own marks suggest, surest first."""
    ways = []
    for pattern in (_LETTER_SPLIT_AFTER, _LETTER_SPLIT_BEFORE):
        cuts = pattern.split(tidy)
        if len(cuts) == 2:  # noqa: PLR2004 - latitude and longitude
            ways.append((cuts[0].strip(), cuts[1].strip()))
    for mark in (";", "/", "|", ", ", ","):
        cuts = tidy.split(mark)
        if len(cuts) == 2:  # noqa: PLR2004 - latitude and longitude
            ways.append((cuts[0].strip(), cuts[1].strip()))
    words = tidy.replace(", ", " ").split()
    if len(words) % 2 == 0 and len(words) <= 6:  # noqa: PLR2004 - twice degrees, minutes, seconds
        half = len(words) // 2
        ways.append((" ".join(words[:half]), " ".join(words[half:])))
    return ways


def precision_uncertainty_m(
    latitude: npt.ArrayLike, precision_deg: npt.ArrayLike
) -> npt.NDArray[np.float64]:
    """Metres by which a position of that precision may be out.

    The diagonal of the rectangle `precision_deg` high and wide at that latitude on the WGS84
    ellipsoid: 157 m for three decimals at the equator.
    """
    phi = np.radians(np.asarray(latitude, dtype=np.float64))
    curved = 1 - _ECCENTRICITY_SQUARED * np.sin(phi) ** 2
    north = _EARTH_RADIUS_M * (1 - _ECCENTRICITY_SQUARED) / curved**1.5
    east = _EARTH_RADIUS_M * np.cos(phi) / np.sqrt(curved)
    step = np.radians(np.asarray(precision_deg, dtype=np.float64))
    metres: npt.NDArray[np.float64] = np.hypot(north, east) * step
    return metres


def parse_angles(texts: pd.Series[str]) -> pd.DataFrame:
    """Read many cells of one angle each; plain decimals cost no Python call.

    Parameters
    ----------
    texts
        Texts, best distinct; none missing.

    Returns
    -------
    pandas.DataFrame
        On the same index: degrees, precision_deg (NaN if unreadable), axis (or None) and
        problem (code, or None).
    """
    plain = texts.str.fullmatch(r"\s*[+-]?\d{1,3}(?:\.\d+)?\s*").to_numpy(dtype=bool, copy=True)
    stripped = texts.str.strip()
    degrees = pd.to_numeric(stripped.where(plain), errors="coerce").to_numpy(
        dtype=np.float64, copy=True
    )
    plain &= np.abs(degrees) <= _MOST_DEGREES["longitude"]
    degrees[~plain] = np.nan
    lengths = stripped.str.len().to_numpy()
    points = stripped.str.find(".").to_numpy()
    decimals = np.where(points >= 0, lengths - points - 1, 0)
    precision = np.where(plain, 10.0**-decimals, np.nan)
    axis = np.full(len(texts), None, dtype=object)
    problem = np.full(len(texts), None, dtype=object)
    for at in np.flatnonzero(~plain):
        read = parse_angle(str(texts.iloc[at]))
        if isinstance(read, AngleFault):
            problem[at] = read.code
        else:
            degrees[at], precision[at], axis[at] = read.degrees, read.precision_deg, read.axis
    return pd.DataFrame(
        {"degrees": degrees, "precision_deg": precision, "axis": axis, "problem": problem},
        index=texts.index,
    )
