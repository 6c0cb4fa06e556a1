"""Reads a house's number that is written in words."""

from __future__ import annotations

import re

from eaveline.audit.text import word_set

_UNITS = (
    "one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen"
    " sixteen seventeen eighteen nineteen"
)
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety"
_VALUES = {
    **{word: value for value, word in enumerate(_UNITS.split(), start=1)},
    **{word: 10 * value for value, word in enumerate(_TENS.split(), start=2)},
    "a": 1,
}
_ANY_UNIT, _ANY_TEN = (f"(?:{words.replace(' ', '|')})" for words in (_UNITS, _TENS))
_BELOW_HUNDRED = rf"(?:{_ANY_TEN}(?:[\s-]{_ANY_UNIT})?|{_ANY_UNIT})"
_WORDS = rf"(?:(?:a|{_ANY_UNIT})\shundred(?:\sand\s{_BELOW_HUNDRED})?|{_BELOW_HUNDRED})"
# Marks end in one of four letters: a search that begins with any of them is quick.
_AFTER_MARK = re.compile(
    rf"(?P<before>[eortEORT]\.?\s{{1,2}})(?P<words>{_WORDS})(?![^\W_])", re.IGNORECASE
)
_MARK = re.compile(r"(?<![^\W_])(?:number|no|house|flat|(?P<at>at))$", re.IGNORECASE)
_LONGEST_MARK = 8
_BY_THE_CLOCK = 12
_SKIPPED = word_set("and hundred")


def in_figures(text: str) -> str:
    """Return a text of the same length with numbers in figures after 'number', 'no', 'at'.

    Only there: 'two Mill Lane residents' are no house, and 'at seven' is an hour.

    Examples
    --------
    >>> in_figures("number twenty-one, Mill Lane; at seven, Mill Lane")
    'number         21, Mill Lane; at seven, Mill Lane'
    """
    return _AFTER_MARK.sub(_figures, text)


def _figures(match: re.Match[str]) -> str:
    start = match.start() + 1
    mark = _MARK.search(match.string[max(0, start - _LONGEST_MARK) : start])
    words = re.split(r"[\s-]", match["words"].lower())
    hundreds = _VALUES[words[0]] if "hundred" in words else 0
    rest = sum(_VALUES[word] for word in words[2 if hundreds else 0 :] if word not in _SKIPPED)
    number = 100 * hundreds + rest
    if mark is None or (mark["at"] and number <= _BY_THE_CLOCK):
        return match[0]
    return match["before"] + str(number).rjust(len(match["words"]))
