"""Reads counts, measures and money, with or without a unit."""

from __future__ import annotations

import re

from eaveline.private.intake.cell_reading import UNKNOWN, Reading
from eaveline.private.intake.schema import Column

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
    r"^(?:about|approx(?:imately)?\.?|around|roughly|circa|ca\.?|c\.?|~|at least|min(?:imum)?"
    r"|over|more than|>=?|≥|up to|max\.?)\s*(?=\d|[a-z])"
)
_COUNTED = re.compile(
    r"\s*(?:birds?|swifts?|house martins?|martins?|pairs?|nests?|eggs?|young|chicks?|holes?|bft|f)$"
)
"""What was counted, written behind the number."""
_FORCE = re.compile(r"^(?:f|force|bft)\s*(?=\d)")
_RANGE = re.compile(r"(?:between\s+)?(\d{1,6})\s*(?:-|–|to|/|or|and)\s*(\d{1,6})")
_NOT_COUNTED = frozenset({"?", "n/k", "nk", "unknown", "-", "n/a", "na", "not counted"})
_OR_SO = re.compile(r"\s*(?:or so|(?:or|and) more|plus|-?ish|\(?approx(?:imately)?\.?\)?|\+|\?)$")


def read_count(text: str, column: Column) -> Reading:
    """Read a whole number; of a range or an estimate, the lower end, and say so."""
    cell = " ".join(text.casefold().split())
    if cell in _NOT_COUNTED:
        return Reading()
    exact = _exact(cell)
    if exact is not None:
        return _within(exact, column)
    bare = _ABOUT.sub("", _FORCE.sub("", _COUNTED.sub("", cell)))
    estimate = _exact(_COUNTED.sub("", _OR_SO.sub("", bare)))
    if estimate is not None:
        return _within(estimate, column, repair="count-estimate-taken")
    if match := _RANGE.fullmatch(bare):
        low, high = int(match[1]), int(match[2])
        if low < high:
            return _within(low, column, repair="count-lower-end-taken")
    return Reading(fault="count-unreadable")


def _exact(cell: str) -> int | None:
    """Return the whole number a cell writes in figures or words, with or without what it is of."""
    for text in (cell, _FORCE.sub("", _COUNTED.sub("", cell))):
        if re.fullmatch(r"-?\d{1,7}(?:\.0+)?", text):
            return int(float(text))
        if text in _WORD_NUMBERS:
            return _WORD_NUMBERS[text]
    return None


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
_NUMBER = re.compile(r"([£+-]?\s*\d+(?:[.,]\d+)?)\s*([a-z°'\"£.]*+(?: [a-z]+)?)")


def read_number(text: str, column: Column) -> Reading:
    """Read a measured number with or without its unit, in the column's own unit."""
    cell = " ".join(text.casefold().split())
    if cell in UNKNOWN:
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
