"""Reads one cell of each value type: a date, a time, a count, a word of the trade.

Every reader takes the cell's text, already trimmed and not empty, and returns a `Reading`:
a value, or a fault with the reading a person may have meant. A repair that is certain is
made, with its name, so that it can be listed; nothing is guessed silently.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from dataclasses import dataclass

from rapidfuzz import fuzz, process

from eaveline.private.schema import Column, ValueType, plain
from eaveline.private.vocabulary import CANONICAL, VOCABULARIES

EXCEL_EPOCH = dt.date(1899, 12, 30)
FIRST_YEAR = 1950
"""Records older than this are slips of the pen (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What one cell says.

    Exactly one of `value` and `fault` is set, except that an explicit blank ("?", "n/k")
    gives neither. `suggestion` is the cell a person may have meant to write.
    """

    value: object = None
    fault: str | None = None
    suggestion: str | None = None
    repair: str | None = None


Reader = Callable[[str, Column], Reading]

_MONTHS = {
    name[:3]: number
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
_NUMERIC_DATE = re.compile(r"(\d{1,4})\s*[/.\-\\ ]\s*(\d{1,2})\s*[/.\-\\ ]\s*(\d{1,4})")
_WORD_DATE = re.compile(
    r"(\d{1,2})(?:st|nd|rd|th)?\s*(?:of\s+)?[\s\-/.]*([a-z]{3,9})[\s,.\-/]*(\d{4}|\d{2}|'\d{2})"
)
_WORD_FIRST_DATE = re.compile(
    r"([a-z]{3,9})[\s.\-/]*(\d{1,2})(?:st|nd|rd|th)?[\s,.\-/]+(\d{4}|'?\d{2})"
)
_DAY_NAME = re.compile(r"^(?:mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|sat(?:ur)?|sun)(?:day)?[\s,.]+")
_CLOCK_TAIL = re.compile(
    r"[t\s,]+(?:at\s+)?\d{1,2}[:.]\d{2}(?:[:.]\d{2}(?:\.\d+)?)?\s*(?:am|pm|z|[+-]\d{2}:?\d{2})?$"
)
_UNKNOWN = frozenset(
    {"?", "n/k", "nk", "n/a", "na", "-", "--", "unknown", "not known", "nil", "none"}
)


def read_date(text: str, column: Column) -> Reading:
    """Read a date, day first; ISO and spreadsheet serials too."""
    del column
    cell = _DAY_NAME.sub("", " ".join(text.casefold().split()))
    bare = _CLOCK_TAIL.sub("", cell).strip(" .,")
    if re.fullmatch(r"\d{5}(?:\.\d+)?", bare):
        return Reading(EXCEL_EPOCH + dt.timedelta(days=int(float(bare))))
    if re.fullmatch(r"\d{8}", bare):
        return _date(int(bare[:4]), int(bare[4:6]), int(bare[6:]))
    if match := _NUMERIC_DATE.fullmatch(bare):
        return _numeric_date(*match.groups())
    if match := _WORD_DATE.fullmatch(bare):
        day, month_name, year = match.groups()
    elif match := _WORD_FIRST_DATE.fullmatch(bare):
        month_name, day, year = match.groups()
    else:
        if re.fullmatch(r"\d{1,2}\s*[/.\-]\s*\d{1,2}", bare) or re.fullmatch(
            r"\d{1,2}\w{0,2}\s+[a-z]{3,9}", bare
        ):
            return Reading(fault="date-without-year")
        return Reading(fault="date-unreadable")
    month = _MONTHS.get(month_name[:3], 0)
    if not month or not _is_month_name(month_name):
        return Reading(fault="date-unreadable")
    return _date(_full_year(year.lstrip("'")), month, int(day))


def _is_month_name(name: str) -> bool:
    months = (
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
        "sept",
    )
    return any(month.startswith(name) or fuzz.ratio(month, name) >= 80 for month in months)


def _full_year(text: str) -> int:
    year = int(text)
    if len(text) > 2:
        return year
    return 2000 + year if year < 70 else 1900 + year


def _numeric_date(first: str, second: str, third: str) -> Reading:
    if len(first) == 4:
        return _date(int(first), int(second), int(third))
    if len(first) > 2 or len(third) not in (2, 4):
        return Reading(fault="date-unreadable")
    year, day, month = _full_year(third), int(first), int(second)
    if month > 12 >= day >= 1:
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


_TIME = re.compile(
    r"(\d{1,2})\s*[:.h;]\s*(\d{2})(?:\s*[:.]\s*\d{2}(?:\.\d+)?)?\s*(am|pm|a\.m\.?|p\.m\.?|a|p)?"
)
_BARE_HOUR = re.compile(r"(\d{1,2})\s*(am|pm|a\.m\.?|p\.m\.?|o'?clock)")
_FOUR_DIGITS = re.compile(r"(\d{1,2})(\d{2})\s*(?:h|hrs?|hours)?\s*(am|pm)?")


def read_time(text: str, column: Column) -> Reading:
    """Read a local clock time as minutes after midnight."""
    del column
    cell = " ".join(text.casefold().replace("’", "'").split())
    cell = re.sub(r"\s*(?:bst|gmt|local|hrs|hours)$", "", cell)
    if cell in _UNKNOWN:
        return Reading()
    if cell in ("noon", "midday"):
        return Reading(12 * 60)
    if re.fullmatch(r"0?\.\d+", cell):
        return Reading(round(float(cell) * 24 * 60) % (24 * 60))
    cell = re.sub(r"^\d{4}-\d{2}-\d{2}[t ]", "", cell)
    for pattern in (_TIME, _FOUR_DIGITS):
        if match := pattern.fullmatch(cell):
            hour, minute, half = match.groups()
            return _time(int(hour), int(minute), half)
    if match := _BARE_HOUR.fullmatch(cell):
        if "clock" in match.group(2):
            return Reading(fault="time-unclear")
        return _time(int(match.group(1)), 0, match.group(2))
    return Reading(fault="time-unreadable")


def _time(hour: int, minute: int, half: str | None) -> Reading:
    if half and hour <= 12:
        hour = hour % 12 + (12 if half.startswith("p") else 0)
    if hour > 23 or minute > 59:
        return Reading(fault="time-impossible")
    return Reading(hour * 60 + minute)


_WORD_NUMBERS = {
    word: number
    for number, word in enumerate(
        (
            "zero",
            "one",
            "two",
            "three",
            "four",
            "five",
            "six",
            "seven",
            "eight",
            "nine",
            "ten",
            "eleven",
            "twelve",
            "thirteen",
            "fourteen",
            "fifteen",
            "sixteen",
            "seventeen",
            "eighteen",
            "nineteen",
            "twenty",
        ),
    )
} | {
    "a dozen": 12,
    "dozen": 12,
    "half a dozen": 6,
    "a pair": 2,
    "pair": 2,
    "a couple": 2,
    "couple": 2,
    "single": 1,
    "a": 1,
    "no": 0,
    "two dozen": 24,
    "nil": 0,
    "none": 0,
}
_ABOUT = re.compile(
    r"^(?:about|approx(?:imately)?\.?|around|roughly|circa|ca\.?|c\.?|~|at least|min(?:imum)?|over|more than|>=?|≥|up to|max\.?)\s*(?=\d|[a-z])"
)


def read_count(text: str, column: Column) -> Reading:
    """Read a whole number; of a range or an estimate, the lower end, and say so."""
    cell = " ".join(text.casefold().split())
    if cell in ("?", "n/k", "nk", "unknown", "-", "n/a", "na", "not counted"):
        return Reading()
    if re.fullmatch(r"-?\d{1,7}", cell):
        return _within(int(cell), column)
    bare = re.sub(
        r"\s*(?:birds?|swifts?|house martins?|martins?|pairs?|nests?|eggs?|young|chicks?|holes?|or so|approx\.?|ish|bft|f)$",
        "",
        cell,
    )
    bare = re.sub(r"^(?:f|force|bft)\s*(?=\d)", "", bare)
    if re.fullmatch(r"\d{1,7}(?:\.0+)?", bare):
        return _within(int(float(bare)), column)
    if bare in _WORD_NUMBERS:
        return _within(_WORD_NUMBERS[bare], column)
    bare = _ABOUT.sub("", bare)
    if match := re.fullmatch(r"(\d{1,7})\s*\+?", bare):
        return _within(int(match.group(1)), column, repair="count-estimate-taken")
    if match := re.fullmatch(r"(\d{1,6})\s*(?:-|–|to|/|or)\s*(\d{1,6})", bare):
        low, high = int(match.group(1)), int(match.group(2))
        if low < high:
            return _within(low, column, repair="count-lower-end-taken")
    if bare in _WORD_NUMBERS:
        return _within(_WORD_NUMBERS[bare], column, repair="count-estimate-taken")
    return Reading(fault="count-unreadable")


def _within(value: float, column: Column, *, repair: str | None = None) -> Reading:
    if column.low is not None and value < column.low:
        fault = "number-negative" if value < 0 else "number-too-low"
        return Reading(fault="birds-zero" if column.name == "birds" and value == 0 else fault)
    if column.high is not None and value > column.high:
        return Reading(fault="number-too-high")
    return Reading(value, repair=repair)


_UNITS = {
    "m": {
        "m": 1.0,
        "metre": 1.0,
        "metres": 1.0,
        "meters": 1.0,
        "mtr": 1.0,
        "mtrs": 1.0,
        "ft": 0.3048,
        "feet": 0.3048,
        "foot": 0.3048,
        "'": 0.3048,
        "cm": 0.01,
    },
    "mm": {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "inch": 25.4, "inches": 25.4, '"': 25.4},
    "c": {
        "c": 1.0,
        "°c": 1.0,
        "°": 1.0,
        "deg": 1.0,
        "degc": 1.0,
        "degrees": 1.0,
        "degc.": 1.0,
        "celsius": 1.0,
    },
    "£": {"£": 1.0, "gbp": 1.0, "pounds": 1.0, "quid": 1.0},
}
_NUMBER = re.compile(r"([£+-]?\s*\d+(?:[.,]\d+)?)\s*([a-z°'\"£.]*(?:\s*[a-z]+)?)")


def read_number(text: str, column: Column) -> Reading:
    """Read a measured number with or without its unit, in the column's own unit."""
    cell = " ".join(text.casefold().split())
    if cell in _UNKNOWN:
        return Reading()
    repair = None
    bare = _ABOUT.sub("", cell)
    if bare != cell:
        repair = "number-estimate-taken"
    bare = re.sub(r"(?<=\d),(?=\d{3}(?:\D|$))", "", bare)
    match = _NUMBER.fullmatch(bare)
    if match is None:
        return Reading(fault="number-unreadable")
    digits, unit = match.group(1).replace(" ", "").lstrip("£"), match.group(2).replace(" ", "")
    value = float(digits.replace(",", "."))
    if unit:
        factors = _UNITS.get(column.unit or "", {})
        if unit not in factors:
            return Reading(fault="number-unit-unknown")
        value *= factors[unit]
    return _within(value, column, repair=repair)


def _word_reader(vocabulary: str, fault: str) -> Reader:
    table = VOCABULARIES[vocabulary]

    def read(text: str, column: Column) -> Reading:
        del column
        key = plain(text) or text.strip()
        if key in table:
            return Reading(table[key])
        near = process.extractOne(key, list(table), scorer=fuzz.ratio, score_cutoff=75)
        return Reading(fault=fault, suggestion=table[near[0]] if near else None)

    return read


def read_weather(text: str, column: Column) -> Reading:
    """Read the weather as 'wet' or 'dry'; anything else is left open."""
    del column
    cell = text.casefold()
    if re.search(r"\b(?:no rain|dry after rain|rain earlier|dry)\b", cell):
        return Reading("dry")
    if re.search(r"rain|drizzl|shower|storm|hail|sleet|thunder|\bwet\b|downpour|pouring", cell):
        return Reading("wet")
    if re.search(
        r"sun|clear|cloud|overcast|fine|fair|warm|still|calm|bright|mild|breez|hot|grey|humid|haz",
        cell,
    ):
        return Reading("dry")
    return Reading()


def read_text(text: str, column: Column) -> Reading:
    """Return the text as it is."""
    del column
    return Reading(text)


READERS: dict[ValueType, Reader] = {
    ValueType.TEXT: read_text,
    ValueType.PLACE: read_text,
    ValueType.DATE: read_date,
    ValueType.SEASON: read_season,
    ValueType.TIME: read_time,
    ValueType.COUNT: read_count,
    ValueType.NUMBER: read_number,
    ValueType.MONEY: read_number,
    ValueType.YES_NO: _word_reader("yes or no", "yes-no-unclear"),
    ValueType.SPECIES: _word_reader("species", "species-unknown"),
    ValueType.BEHAVIOUR: _word_reader("behaviour", "behaviour-unknown"),
    ValueType.STATUS: _word_reader("status", "status-unknown"),
    ValueType.SEEN: _word_reader("seen", "seen-unknown"),
    ValueType.STAGE: _word_reader("stage", "stage-unknown"),
    ValueType.FACING: _word_reader("facing", "facing-unknown"),
    ValueType.DECISION: _word_reader("decision", "decision-unknown"),
    ValueType.WEATHER: read_weather,
}


def words_for(value_type: ValueType) -> tuple[str, ...]:
    """Return the canonical words of a vocabulary type, or nothing for other types."""
    return CANONICAL.get(value_type.value, ())
