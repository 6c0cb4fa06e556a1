"""House numbers and names in one form, whoever typed them."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import pandas as pd


@dataclass(frozen=True, slots=True)
class House:
    """What tells one house from the next in a street.

    Parameters
    ----------
    number
        "12", "12a" or a range "12-14"; empty if there is none.
    name
        The name in lower case, without "the"; empty if there is none.
    unit
        The flat within it; empty if there is none. Flats share their building.
    """

    number: str = ""
    name: str = ""
    unit: str = ""

    @property
    def keys(self) -> tuple[str, ...]:
        """What the building may be listed under, surest first: its number, its name."""
        return tuple(key for key in (self.number, self.name) if key)

    def __bool__(self) -> bool:
        """Whether it says anything that finds a building."""
        return bool(self.number or self.name)


_UNIT_WORD: Final = r"(?:flat|flt|apartment|apt|unit|room|studio|maisonette|bedsit|suite)s?"
_FLOOR: Final = (
    r"(?:(?:lower|upper)\s+)?(?:ground|first|second|third|fourth|top|1st|2nd|3rd|4th|basement|garden|attic)"
    r"(?:\s+floor)?\s+(?:flat|apartment|maisonette)"
)
_UNIT = re.compile(rf"\b(?:{_FLOOR}|{_UNIT_WORD}\s*(?:no\s*)?(\d{{1,4}}[a-z]?|[a-z])\b)")
_NUMBER: Final = r"\d{1,5}(?:\s?[a-z])?(?![a-z0-9])(?!\s?\u00bd)|\d{1,5}\s?\u00bd"
_RANGE = re.compile(
    r"^(\d{1,5}\s?[a-z]?)\s*(?:-|/|&|\+|\bto\b|\band\b)\s*(\d{1,5}\s?[a-z]?)\b(?![a-z])"
)
_FIRST_NUMBER = re.compile(rf"^(?:{_NUMBER})")
_LAST_NUMBER = re.compile(rf"(?<=[a-z])\s+({_NUMBER})$")
_NUMBER_SIGN = re.compile(
    r"\b(?:house\s+)?(?:no|nos|nr|num|number)\b\s*(?=\d)|[#\u2116]|^house\s+(?=\d)"
)


@lru_cache(maxsize=100_000)
def read_house(text: str) -> House:
    """Read a house number or name.

    ``12``, ``No. 12``, ``12 A`` (12a), ``Flat 3, 12``, ``12-14`` and ``The Old Forge`` are
    understood; an empty text gives an empty `House`.

    Examples
    --------
    >>> read_house("Flat 3, No. 12 A")
    House(number='12a', name='', unit='3')
    >>> read_house("The Old Forge").name
    'old forge'
    """
    plain = _plain(text)
    unit = ""
    if found := _UNIT.search(plain):
        unit = found.group(1) or found.group(0)
        plain = f"{plain[: found.start()]} {plain[found.end() :]}"
    plain = " ".join(_NUMBER_SIGN.sub(" ", plain).split()).strip(" -/&+")
    number = ""
    if pair := _RANGE.match(plain):
        number = _range(pair.group(1), pair.group(2))
        plain = plain[pair.end() :]
        if "/" in pair.group(0) and "-" not in number:  # 12/3 is flat 3 of number 12
            unit = unit or _tidy_number(pair.group(2))
    elif single := _FIRST_NUMBER.match(plain):
        number = _tidy_number(single.group(0))
        plain = plain[single.end() :]
    elif last := _LAST_NUMBER.search(plain):
        number = _tidy_number(last.group(1))
        plain = plain[: last.start()]
    name = " ".join(plain.replace("-", " ").replace("&", " and ").split()).removeprefix("the ")
    return House(number, name, unit)


def flats(houses: pd.Series) -> pd.Series:
    """Return the flat that each cell names, "" where it names none."""
    return houses.astype(object).map(
        lambda text: read_house(text).unit if isinstance(text, str) else ""
    )


def _plain(text: str) -> str:
    # A spreadsheet turns 12 into 12.0, and a half sign must not decompose into figures.
    kept = re.sub(r"^(\d+)\.0+$", r"\1", text.strip()).replace("\u00bd", "\ue000")
    decomposed = unicodedata.normalize("NFKD", kept).casefold().replace("\ue000", "\u00bd")
    dashes = re.sub(r"[\u2010-\u2015\u2212]", "-", decomposed)
    joined = re.sub(r"['\u2019\u2018`\u00b4]|[\u0300-\u036f]", "", dashes)
    return " ".join(re.sub(r"[^a-z0-9\-/&+#\u2116\u00bd]+", " ", joined).split())


def _tidy_number(text: str) -> str:
    return text.replace(" ", "").lstrip("0") or "0"


def _range(first: str, second: str) -> str:
    """Return ``12-14``; only the first number if the second is no higher."""
    low, high = _tidy_number(first), _tidy_number(second)
    return f"{low}-{high}" if _whole(low) < _whole(high) else low


def _whole(number: str) -> int:
    return int(re.match(r"\d+", number)[0])  # type: ignore[index]  # every number starts with figures


def numbers_within(house_range: str) -> tuple[str, ...]:
    """Return the numbers a range stands for, one side of the street: 12-16 is 12, 14, 16.

    A plain number stands for itself; a range over both sides, or over more than 40 numbers,
    is nobody's address and stands for its two ends.
    """
    low_text, dash, high_text = house_range.partition("-")
    if not dash:
        return (house_range,)
    low, high = _whole(low_text), _whole(high_text)
    if (high - low) % 2 or high - low > 40 or not (low_text + high_text).isdigit():  # noqa: PLR2004 - as said
        return (low_text, high_text)
    return tuple(str(number) for number in range(low, high + 1, 2))
