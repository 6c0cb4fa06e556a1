"""A cell that says where, taken apart: street, house, or words that only point towards one."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from eaveline.private.places.houses import read_house
from eaveline.private.places.street_names import TYPES, street_words


@dataclass(frozen=True, slots=True)
class StreetPart:
    """One way to read a cell: this part of it is the street, that part the house.

    `house_is_name` marks a house that is only a name standing before the street (a shop, a
    church), which need not be in any list.
    """

    street: str
    house: str = ""
    house_is_name: bool = False


@dataclass(frozen=True, slots=True)
class StreetText:
    """What a cell may mean.

    `parts` are its readings, surest first. `problem` is the code of a wording that names no
    place (a corner, something opposite); the readings are then only for a suggestion.
    """

    parts: tuple[StreetPart, ...]
    problem: str | None = None


_POSTCODE = re.compile(r"[\s,]*\b[A-Z]{1,2}\d[A-Z\d]?\s*\d[A-Z]{2}\s*$", re.IGNORECASE)
_BRACKETS = re.compile(r"\s*[(\[][^)\]]*[)\]]\s*")
_HARMLESS = re.compile(
    r"^(?:all\s+(?:of|along)|the\s+whole\s+of|(?:land|site|plots?)\s+(?:at|on|in)|along|in|on|at"
    r"|street|road)\s+(?=\S+\s+\S)|\s+area$",
    re.IGNORECASE,
)
_CORNER = re.compile(
    r"\b(?:corner|cnr|crnr|junction|junc|jct|jctn|crossroads?)\b(?:\s+(?:of|with|between))?",
    re.IGNORECASE,
)
_OPPOSITE = re.compile(
    r"\b(?:opp|oppo|opposite|across\s+(?:the\s+(?:road|street)\s+)?from|facing)\b\.?", re.IGNORECASE
)
_RELATIVE = re.compile(
    r"""
    \b(?:behind|beside|near(?:\s+to)?|nr|next\s+(?:to|door(?:\s+to)?)|close\s+to|in\s+front\s+of|outside
      |(?:at\s+)?(?:the\s+)?(?:back|rear|side|end|top|bottom|middle)\s+of|between|adjacent(?:\s+to)?|adj
      |half\s?way|along\s+from|round\s+the|around|alongside|towards?|backing\s+on(?:\s?to)?)\b\.?
    |^(?:by|over|above|off|past|from|below|across)\b
    |\b(?:house|door|property|building)s?\s+(?:along|down|up|from|on\s+the|past|after|before)\b
    """,
    re.IGNORECASE | re.VERBOSE,
)
_ONE_NUMBER: Final = r"\d{1,5}(?:\s?[a-z](?![a-z]))?"
_NUMBER: Final = (
    rf"{_ONE_NUMBER}(?:\s*(?:-|\u2013|/|&|\bto\b|\band\b)\s*\d{{1,5}}[a-z]?)?(?![a-z\d])"
)
_UNIT: Final = r"(?:flat|flt|apartment|apt|unit|room)\s*(?:\d{1,4}[a-z]?|[a-z])\b"
_SIGN: Final = r"(?:no|nos|number|num|nr)?\.?\s*#?\s*"
_LEADING = re.compile(
    rf"^((?:{_UNIT}[\s,]*)?{_SIGN}{_NUMBER}|{_UNIT})[\s,.:;-]+(?=.*[a-z]{{2}})", re.IGNORECASE
)
_TRAILING = re.compile(
    rf"(?<=[a-z.])[\s,:;-]+((?:{_UNIT}[\s,]*)?{_SIGN}{_NUMBER}|{_UNIT})$", re.IGNORECASE
)
_TWO_STREETS = re.compile(r"\s*(?:/|&|\+|\band\b)\s*", re.IGNORECASE)


def split_street_text(text: str) -> StreetText:
    """Take a cell apart; nothing is looked up here.

    Examples
    --------
    >>> split_street_text("12a Albert Rd").parts[0]
    StreetPart(street='Albert Rd', house='12a', house_is_name=False)
    >>> split_street_text("opp 12 Albert Rd").problem
    'place-is-opposite'
    """
    # Councils write addresses on several lines; the lines' ends are commas.
    lines = (" ".join(line.split()).strip(" ,;") for line in text.splitlines())
    one_line = ", ".join(line for line in lines if line)
    tidy = " ".join(_BRACKETS.sub(" ", _POSTCODE.sub("", one_line)).split()).strip(" ,;.")
    problem = None
    for pattern, code in (
        (_CORNER, "place-is-corner"),
        (_OPPOSITE, "place-is-opposite"),
        (_RELATIVE, "place-is-relative"),
    ):
        if pattern.search(tidy):
            problem = problem or code
            tidy = " ".join(pattern.sub(" ", tidy).split()).strip(" ,;.")
    tidy = _HARMLESS.sub("", tidy)
    if "," in tidy or ";" in tidy:
        return StreetText(_parts_between_commas(re.split(r"\s*[,;]\s*", tidy)), problem)
    return StreetText((_peel(tidy),), problem)


def two_streets(text: str) -> tuple[str, str] | None:
    """Return the two halves of a text that joins two names, for the caller to look up."""
    halves = [half for half in _TWO_STREETS.split(text) if half]
    return (halves[0], halves[1]) if len(halves) == 2 else None  # noqa: PLR2004 - a pair


def _peel(text: str) -> StreetPart:
    """Take a house number off the front or the end."""
    if not any(character.isdigit() for character in text) and "flat" not in text.casefold():
        return StreetPart(text)
    if found := _LEADING.match(text):
        return StreetPart(text[found.end() :].strip(), found.group(1).strip())
    if found := _TRAILING.search(text):
        return StreetPart(text[: found.start()].strip(" ,"), found.group(1).strip())
    return StreetPart(text)


def _parts_between_commas(cuts: list[str]) -> tuple[StreetPart, ...]:
    """Each piece as the street: what stands before it is the house, behind it the town.

    Pieces that end in a word for a street come first, since "Albert House, Mill Lane" is in
    Mill Lane.
    """
    pieces = [cut for cut in cuts if cut]
    readings = []
    for at, piece in enumerate(pieces):
        peeled = _peel(piece)
        if read_house(piece).number and not read_house(piece).name:
            continue  # "12" or "Flat 3, 12": a house, no street
        before = [other for other in pieces[:at] if other]
        after = next((other for other in pieces[at + 1 :] if _is_number(other)), "")
        house = ", ".join([*before, *([peeled.house] if peeled.house else [])]) or after
        read = read_house(house)
        is_name = bool(read.name) and not (read.number or read.unit)
        words = street_words(peeled.street)
        readings.append(
            (bool(words) and words[-1] in TYPES, StreetPart(peeled.street, house, is_name))
        )
    ordered = sorted(range(len(readings)), key=lambda at: (not readings[at][0], at))
    return tuple(readings[at][1] for at in ordered)


def _is_number(text: str) -> bool:
    read = read_house(text)
    return bool(read.number) and not read.name
