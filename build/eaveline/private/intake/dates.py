"""Reads dates, day first, in every British habit."""

from __future__ import annotations

import datetime as dt
import re

from rapidfuzz import fuzz

from eaveline.private.intake.cell_reading import Reading
from eaveline.private.intake.schema import Column

EXCEL_EPOCH = dt.date(1899, 12, 30)
FIRST_YEAR = 1950
"""Records older than this are slips of the pen (common practice, no source)."""
_CENTURY_TURNS = 70
"""Two figures from here on are a year of the last century (as POSIX has it)."""
_MONTHS_A_YEAR = 12
_UNREADABLE = "date-unreadable"

_MONTHS = {
    name: number
    for number, name in enumerate(
        (
            "january",
            "february",
            "march",
            "april",
            "may",
            "june",
            "july",
            "august",
            "september",
            "october",
            "november",
            "december",
        ),
        start=1,
    )
}
_MONTH_LIKENESS = 80
"""Below it June and July could be taken for each other (common practice, no source)."""
_NUMERIC_DATE = re.compile(r"(\d{1,4})\s*[/.\-\\ ]\s*(\d{1,2})\s*[/.\-\\ ]\s*(\d{1,4})")
_WORD_DATE = re.compile(
    r"(?P<day>\d{1,2})(?:st|nd|rd|th)?\s*(?:of\s+)?[\s\-/.]*(?P<month>[a-z]{3,9})"
    r"[\s,.\-/]*(?P<year>\d{4}|\d{2}|'\d{2})"
)
_WORD_FIRST_DATE = re.compile(
    r"(?P<month>[a-z]{3,9})[\s.\-/]*(?P<day>\d{1,2})(?:st|nd|rd|th)?"
    r"[\s,.\-/]+(?P<year>\d{4}|'?\d{2})"
)
_WITHOUT_DAY = re.compile(
    r"[a-z]{3,9}[\s,.\-]*(?:\d{4}|'\d{2})|\d{1,2}[/.\-]\d{4}|(?:early|mid|late)\W+[a-z]{3,9}.*"
)
_WITHOUT_YEAR = re.compile(r"\d{1,2}\s*[/.\-]\s*\d{1,2}|\d{1,2}\w{0,2}\s+[a-z]{3,9}")
_DAY_NAME = re.compile(r"^(?:mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|sat(?:ur)?|sun)(?:day)?[\s,.]+")
_CLOCK_TAIL = re.compile(
    r"[t\s,]+(?:at\s+)?\d{1,2}[:.]\d{2}(?:[:.]\d{2}(?:\.\d+)?)?\s*(?:am|pm|z|[+-]\d{2}:?\d{2})?$"
)


_LOCAL_CLOCK = re.compile(
    r"[t\s,]+(?:at\s+)?(\d{1,2}[:.]\d{2})(?:[:.]\d{2}(?:\.\d+)?)?\s*(am|pm)?$"
)
"""A clock time behind a date, without a zone that would shift it."""


def clock_in_date(text: str) -> str | None:
    """Return the time of day that stands behind a date, or None; midnight says no more than that.

    >>> clock_in_date("1/6/2025 at 9.45 pm"), clock_in_date("2025-06-01T00:00:00")
    ('9.45pm', None)
    """
    found = _LOCAL_CLOCK.search(_DAY_NAME.sub("", " ".join(text.casefold().split())))
    if found is None:
        return None
    clock = found.group(1) + (found.group(2) or "")
    return None if clock in ("00:00", "0:00") else clock


def read_date(text: str, column: Column) -> Reading:
    """Read a date, day first; ISO and spreadsheet serials too."""
    del column
    cell = _DAY_NAME.sub("", " ".join(text.casefold().split()))
    bare = _CLOCK_TAIL.sub("", cell).strip(" .,")
    if re.fullmatch(r"\d{5}(?:\.\d+)?", bare):
        day = EXCEL_EPOCH + dt.timedelta(days=int(float(bare)))
        return _date(day.year, day.month, day.day)
    if re.fullmatch(r"\d{8}", bare):
        return _date(int(bare[:4]), int(bare[4:6]), int(bare[6:]))
    if match := _NUMERIC_DATE.fullmatch(bare):
        return _numeric_date(*match.groups())
    if match := _WORD_DATE.fullmatch(bare) or _WORD_FIRST_DATE.fullmatch(bare):
        return _worded_date(match["day"], match["month"], match["year"])
    if _WITHOUT_DAY.fullmatch(bare):
        return Reading(fault="date-without-day")
    return Reading(fault="date-without-year" if _WITHOUT_YEAR.fullmatch(bare) else _UNREADABLE)


def _worded_date(day: str, month_name: str, year: str) -> Reading:
    month, exact = _month(month_name)
    if not month:
        return Reading(fault=_UNREADABLE)
    reading = _date(_full_year(year.lstrip("'")), month, int(day))
    if exact or reading.value is None:
        return reading
    return Reading(reading.value, repair="date-month-spelling")


def _month(name: str) -> tuple[int, bool]:
    """Return a month's number, or 0, and whether its name or a beginning of it was written."""
    begun = [number for month, number in _MONTHS.items() if month.startswith(name)]
    if begun or name == "sept":
        return (begun or [_MONTHS["september"]])[0], True
    # The letters in another order or one of them wrong; no two months may come into question.
    alike = [
        number
        for month, number in _MONTHS.items()
        if sorted(month) == sorted(name)
        or fuzz.ratio(month, name, score_cutoff=_MONTH_LIKENESS) >= _MONTH_LIKENESS
    ]
    return (alike[0] if len(alike) == 1 else 0), False


def _full_year(text: str) -> int:
    year = int(text)
    if len(text) > len("26"):
        return year
    return year + (2000 if year < _CENTURY_TURNS else 1900)


def _numeric_date(first: str, second: str, third: str) -> Reading:
    if len(first) == len("2026"):
        return _date(int(first), int(second), int(third))
    if len(first) > len("31") or len(third) not in {len("26"), len("2026")}:
        return Reading(fault=_UNREADABLE)
    year, day, month = _full_year(third), int(first), int(second)
    if month > _MONTHS_A_YEAR >= day >= 1:
        try:
            swapped = dt.date(year, day, month)
        except ValueError:
            return Reading(fault="date-impossible")
        return Reading(fault="date-month-first", suggestion=f"{swapped:%d/%m/%Y}")
    return _date(year, month, day)


def _date(year: int, month: int, day: int) -> Reading:
    try:
        value = dt.date(year, month, day)
    except ValueError:
        return Reading(fault="date-impossible")
    if value.year < FIRST_YEAR:
        return Reading(fault="date-too-old")
    return Reading(value)


def read_season(text: str, column: Column) -> Reading:
    """Read a year; a whole date gives its year."""
    pattern = r"(?:summer|season|year)?\s*'?(\d{4}|\d{2})(?:\.0+|\s*season)?"
    if match := re.fullmatch(pattern, text.casefold()):
        year = _full_year(match.group(1))
        return Reading(year) if year >= FIRST_YEAR else Reading(fault="season-unreadable")
    if text.strip().isdigit():  # a slip of the pen such as 20223, not a date
        return Reading(fault="season-unreadable")
    reading = read_date(text, column)
    if isinstance(reading.value, dt.date):
        return Reading(reading.value.year)
    return Reading(fault="season-unreadable")
