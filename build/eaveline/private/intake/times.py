"""Reads local clock times as minutes after midnight."""

from __future__ import annotations

import re

from eaveline.private.intake.cell_reading import UNKNOWN, Reading
from eaveline.private.intake.schema import Column

_NOON, _LAST_HOUR, _LAST_MINUTE = 12, 23, 59

_TIME = re.compile(
    r"(\d{1,2})\s*[:.h;]\s*(\d{2})(?:\s*[:.]\s*\d{2}(?:\.\d+)?)?\s*(am|pm|a\.m\.?|p\.m\.?|a|p)?"
)
_BARE_HOUR = re.compile(r"(\d{1,2})\s*(am|pm|a\.m\.?|p\.m\.?|o'?clock)")
_FOUR_DIGITS = re.compile(r"(\d{1,2})(\d{2})\s*(?:h|hrs?|hours)?\s*(am|pm)?")


_ABOUT_TIME = re.compile(r"^(?:about|approx(?:imately)?\.?|around|circa|ca?\.?|~)\s*(?=\d)")
_TIME_RANGE = re.compile(
    r"\d{1,2}(?:[:.]?\d{2})?\s*(?:am|pm)?\s*(?:-|–|to|until)"
    r"\s*\d{1,2}(?:[:.]?\d{2})?\s*(?:am|pm)?"
)


def read_time(text: str, column: Column) -> Reading:
    """Read a local clock time as minutes after midnight."""
    del column
    cell = " ".join(text.casefold().replace("’", "'").split())
    cell = re.sub(r"\s*(?:bst|gmt|local|hrs|hours)$", "", cell)
    if cell in UNKNOWN:
        return Reading()
    if cell in ("noon", "midday"):
        return Reading(_NOON * 60)
    if re.fullmatch(r"0?\.\d+", cell):
        return Reading(round(float(cell) * 24 * 60) % (24 * 60))
    cell = re.sub(r"^\d{4}-\d{2}-\d{2}[t ]", "", cell)
    bare = _ABOUT_TIME.sub("", cell)
    reading = _exact_time(bare)
    if bare != cell and reading.value is not None:
        return Reading(reading.value, repair="time-estimate-taken")
    return reading


def _exact_time(cell: str) -> Reading:
    for pattern in (_TIME, _FOUR_DIGITS):
        if match := pattern.fullmatch(cell):
            hour, minute, half = match.groups()
            return _time(int(hour), int(minute), half)
    if match := _BARE_HOUR.fullmatch(cell):
        if "clock" in match.group(2):
            return Reading(fault="time-unclear")
        return _time(int(match.group(1)), 0, match.group(2))
    if _TIME_RANGE.fullmatch(cell):
        return Reading(fault="time-range")
    bare_hour = re.fullmatch(r"\d{1,2}", cell)
    return Reading(fault="time-unclear" if bare_hour else "time-unreadable")


def _time(hour: int, minute: int, half: str | None) -> Reading:
    if half and hour <= _NOON:
        hour = hour % _NOON + (_NOON if half.startswith("p") else 0)
    if hour > _LAST_HOUR or minute > _LAST_MINUTE:
        return Reading(fault="time-impossible")
    return Reading(hour * 60 + minute)
