"""Finds a house of the town named with its street."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from eaveline.audit.findings import Hit
from eaveline.audit.houses import (
    Addresses,
    NamedHouse,
    Words,
    house_numbers,
    short_word,
    street_words,
)
from eaveline.audit.number_words import in_figures
from eaveline.audit.text import CELL, folded

RULE = "address"

_CLIP = 90
"""Characters beside a number in which its street is looked for."""
_BARRIER = re.compile(rf'[<>{{}}\[\]()";|:!?{CELL}]|\n\s*\n')
_UNIT = r"\d{1,4}(?:[A-Za-z](?![A-Za-z]))?"
# So many further numbers: from each of a long list to its end would cost quadratic time.
_MORE = rf"(?:\s?(?:[-/,&+:.]|\band\b|\bor\b|\bto\b)\s?{_UNIT}){{0,20}}"
# The digit comes first, what must not stand before it second: so a search runs from digit to digit.
_HOUSE_FIRST = re.compile(
    r"(?P<chain>\d(?<![^\W_]\d)(?<![\u00a3\u20ac$]\d)(?<!\d[.:]\d)\d{0,3}(?:[A-Za-z](?![A-Za-z]))?"
    rf"{_MORE})[\s,._+/-]{{0,3}}(?=(?P<next>[A-Za-z][A-Za-z']+|\d+(?:st|nd|rd|th)\b))"
)
_GAP = frozenset(" \n\t\r,._+/-")
_WIDEST_GAP = 3
_LONGEST_WORD = 30
_STREET_FIRST = re.compile(rf"[\s,._+/#-](?P<chain>{_UNIT}{_MORE})(?![^\W_]|[.:]\d)")
_LAST_WORD = re.compile(
    r"(?P<last>[a-z0-9']+)\.?[\s,._+/-]{0,3}"
    r"(?P<mark>(?<![a-z])(?:no|nos|nr|number|numbers|house|flat)[\s._-]{0,2}|#)?$",
    re.IGNORECASE,
)
_MARKS = frozenset(("no", "nos", "nr", "number", "numbers", "house", "flat", "#"))
_MARK = re.compile(r"(?:\b(?:no|nos|nr|number|numbers|house|flat)\b\.?|#)\s*$", re.IGNORECASE)
_MONTHS = (
    r"(?:jan|feb|mar|apr|jun|jul|aug|sept?|oct|nov|dec|january|february|march|april|june|july"
    r"|august|september|october|november|december|(?-i:May|MAY))\b"
)
"""May only with a capital: 'number 17 may have one'."""
_MONTH_BEFORE = re.compile(rf"\b{_MONTHS}\.?\s*$", re.IGNORECASE)
_COUNTED = re.compile(
    rf"[\s_-]*(?:[%:\u00b0]|\d|to\b|of\b|or\b|per\b|st\b|nd\b|rd\b|th\b|am\b|pm\b|{_MONTHS}"
    r"|monday|tuesday|wednesday|thursday|friday|saturday|sunday|more\b|new\b|other|old\b|pairs?\b"
    r"|swift|martin|bird|nest|box|premise|square|region|hour|minute|metre|meter|km?\b|m\b|year"
    r"|people|visit|evening|morning|night|week|day|month|site|record|part(?:y|ies)\b|watch|house"
    r"|home|building|season|street|sighting|observer|member|volunteer|screaming|adult|chick|young"
    r"|egg|photo|picture|cup|colon(?:y|ies)\b|households?|flats?\b|terraced)",
    re.IGNORECASE,
)
"""What follows a count: 'in Albert Road 12 swifts' names no house."""
_FIELD = re.compile(
    rf"[:=]\s{{0,2}}[\"']?(?P<value>[^\"'{CELL},;:=<>{{}}\n\d]{{0,20}}\d[^\"'{CELL},;:=<>{{}}\n]{{0,20}})"
)
"""A field with a number in it, as scripts, attributes or tables give it."""
_HOUSE_KEY = re.compile(
    r"(?<![a-z])(?:(?:addr:)?(?:house|door|building|property|flat|paon|saon)"
    r"(?:[ _-]?(?:no|num|nr|number|name))?|nr|no|num|number)\.?[\"']?\s{0,2}$",
    re.IGNORECASE,
)
_LONGEST_KEY = 30
# An apostrophe within a name ends no value.
_VALUE = re.compile(rf"(?:[\"{CELL}\n,;:=<>{{}}]|'(?![A-Za-z])|(?<![A-Za-z])')+")
_KEYED_WINDOW = 240
_MARKED = re.compile(rf"[orsORS.]\s{{0,2}}(?P<chain>{_UNIT}{_MORE})(?![^\W_]|[.:]\d)")
_AT_NUMBER = re.compile(
    r"(?:\b(?:at|house|outside|opposite|behind|beside|over|above|under|near|by|from|of)\s|\()\s?"
    r"(?:numbers?|nos?\.?)$",
    re.IGNORECASE,
)
_LONGEST_MARK = 24
_SENTENCE_END = re.compile(rf"[.!?](?=\s|$)|[<>{{}}|{CELL}]|\n\s*\n")
_RUN_TOGETHER = (
    re.compile(r"(?P<house>\d(?<![^\W_]\d)\d{0,3})(?P<street>[A-Za-z]{6,40})(?![A-Za-z\d])"),
    re.compile(r"(?P<house>\d(?<=[A-Za-z]{6}\d)\d{0,3})(?![A-Za-z\d])"),
)
_LETTERS_BEFORE = re.compile(r"(?<![^\W_])[A-Za-z]{6,40}$")
_LINK_WORDS = frozenset(("in", "on", "of", "at", "along"))
_WORDS_BETWEEN = 4
"""'Rosemount, a house in Mill Lane'."""
_LONGEST_STREET = 6


def address_hits(text: str, addresses: Addresses) -> list[Hit]:
    """Find house with street, in either order, abbreviated or not, in prose, slugs, fields.

    Parameters
    ----------
    text
        A text as `text.readings` gives it.
    addresses
        From `addresses_of`.

    Returns
    -------
    list of Hit
        None of them can be allowed.
    """
    text = in_figures(folded(text))
    found = [
        *_house_first(text, addresses),
        *_street_first(text, addresses),
        *_in_one_sentence(text, addresses),
        *_run_together(text, addresses),
        *_in_fields(text, addresses),
        *_named(text, addresses),
    ]
    return [Hit(RULE, value, start) for start, value in found]


def _houses(chain: str) -> frozenset[int]:
    """Return the house numbers of a list such as '12, 14-16'; dates or times give none."""
    numbers: set[int] = set()
    for part in re.split(r"\s*(?:[,&+]|\band\b|\bor\b|\bto\b)\s*", chain):
        pieces = re.split(r"\s?[-/]\s?", part)
        is_date = len(pieces) == 3  # noqa: PLR2004 - day, month, year
        if not is_date and not re.search(r"\d[.:]\s?\d", part):
            numbers |= house_numbers(part)
    return frozenset(numbers)


def _value(street: Words, houses: Iterable[int]) -> str:
    return f"{' '.join(street)} {min(houses)}"


def _house_first(text: str, addresses: Addresses) -> Iterator[tuple[int, str]]:
    for match in _HOUSE_FIRST.finditer(text):
        follows = short_word(match["next"])
        if follows not in addresses.first_words and follows not in _LINK_WORDS:
            continue
        houses = _houses(match["chain"])
        before = text[max(0, match.start() - 14) : match.start()]
        if not houses or _MONTH_BEFORE.search(before):
            continue
        after = text[match.end() : match.end() + _CLIP]
        words = street_words(_BARRIER.split(after, maxsplit=1)[0])
        if _MARK.search(before) and words and words[0] in _LINK_WORDS:
            words = words[2:] if words[1:2] == ("the",) else words[1:]
        for length in range(min(_LONGEST_STREET, len(words)), 0, -1):
            here = addresses.numbers.get(words[:length], frozenset()) & houses
            if here:
                yield match.start(), _value(words[:length], here)
                break


def _street_first(text: str, addresses: Addresses) -> Iterator[tuple[int, str]]:
    for match in _STREET_FIRST.finditer(text):
        start = match.start()
        word = _word_before(text, start)
        if word not in _MARKS and short_word(word) not in addresses.last_words:
            continue
        before = _BARRIER.split(text[max(0, start - _CLIP) : start + 1])[-1]
        last = _LAST_WORD.search(before)
        if last is None or short_word(last["last"]) not in addresses.last_words:
            continue
        houses = _houses(match["chain"])
        if not houses or (not last["mark"] and _COUNTED.match(text, match.end())):
            continue
        words = street_words(before[: last.end("last")])
        for length in range(min(_LONGEST_STREET, len(words)), 0, -1):
            here = addresses.numbers.get(words[-length:], frozenset()) & houses
            if here:
                yield start, _value(words[-length:], here)
                break


def _in_one_sentence(text: str, addresses: Addresses) -> Iterator[tuple[int, str]]:
    """Find 'at number 17' in a sentence that names the street elsewhere."""
    for match in _MARKED.finditer(text):
        if not _AT_NUMBER.search(text[max(0, match.start() - _LONGEST_MARK) : match.start() + 1]):
            continue
        before = _SENTENCE_END.split(text[max(0, match.start() - _CLIP) : match.start()])[-1]
        after = _SENTENCE_END.split(text[match.end() : match.end() + _CLIP], maxsplit=1)[0]
        houses = _houses(match["chain"])
        for words in (street_words(before), street_words(after)):
            for street in _streets_in(words, addresses):
                if here := addresses.numbers[street] & houses:
                    yield match.start(), _value(street, here)


def _streets_in(words: Words, addresses: Addresses) -> Iterator[Words]:
    for start, word in enumerate(words):
        if word in addresses.first_words:
            for length in range(1, _LONGEST_STREET + 1):
                if (street := words[start : start + length]) in addresses.numbers:
                    yield street


def _run_together(text: str, addresses: Addresses) -> Iterator[tuple[int, str]]:
    """Find '17AlbertRoad' and 'albertrd17', as photographs are named."""
    house_first, street_first = _RUN_TOGETHER
    found = [(match, match["street"]) for match in house_first.finditer(text)]
    for match in street_first.finditer(text):
        before = _LETTERS_BEFORE.search(text, max(0, match.start() - _CLIP), match.start())
        found += [(match, before[0])] if before else []
    for match, letters in found:
        # A letter may belong to the number: 17a.
        names = letters.lower(), letters.lower()[1:]
        street = next((addresses.joined[name] for name in names if name in addresses.joined), None)
        if street is not None and int(match["house"]) in addresses.numbers[street]:
            yield match.start(), _value(street, [int(match["house"])])


def _word_before(text: str, end: int) -> str:
    """Return the word in front of a gap, '#' for the sign, or nothing.

    Plain steps back from a number: most numbers follow no street, so this has to be quick.
    """
    at = end
    while at > 0 and end - at < _WIDEST_GAP and text[at] in _GAP:
        at -= 1
    if text[at] == "#":
        return "#"
    start = at + 1
    # No further than a word goes: some files hold runs of letters without end.
    lowest = max(0, at - _LONGEST_WORD)
    while start > lowest and (text[start - 1].isalnum() or text[start - 1] == "'"):
        start -= 1
    return text[start : at + 1].lower()


def _in_fields(text: str, addresses: Addresses) -> Iterator[tuple[int, str]]:
    for match in _FIELD.finditer(text):
        start = match.start()
        if not _HOUSE_KEY.search(text, max(0, start - _LONGEST_KEY), start):
            continue
        houses = house_numbers(match["value"])
        around = text[max(0, start - _KEYED_WINDOW) : match.end() + _KEYED_WINDOW]
        for value in _VALUE.split(around):
            words = street_words(value)
            here = addresses.numbers.get(words, frozenset()) & houses
            if here:
                yield start, _value(words, here)
                break


def _named(text: str, addresses: Addresses) -> Iterator[tuple[int, str]]:
    if not addresses.named:
        return
    lower = text.lower()
    for word in {*re.findall(r"[a-z]+", lower)} & addresses.named.keys():
        for house in addresses.named[word]:
            at = lower.find(word)
            while at >= 0:
                match = house.pattern.search(text, max(0, at - _CLIP), at + _CLIP)
                if match is not None and (
                    _beside_street(text, match, house) or _is_a_name(match[0])
                ):
                    yield match.start(), f"{' '.join(house.street)} {house.key}"
                at = lower.find(word, at + len(word))


def _beside_street(text: str, match: re.Match[str], house: NamedHouse) -> bool:
    """Return whether the house's street stands next to its name, or shortly after a capital one."""
    size = len(house.street)
    after = street_words(text[match.end() : match.end() + _CLIP])
    before = street_words(text[max(0, match.start() - _CLIP) : match.start()])
    itself = street_words(text[match.start() : match.end() + _CLIP])[:size] == house.street
    if match[0][0].isupper() and not itself:
        rest = _SENTENCE_END.split(text[match.end() : match.end() + _CLIP], maxsplit=1)[0]
        words = street_words(rest)[: _WORDS_BETWEEN + size]
        if any(words[at : at + size] == house.street for at in range(len(words))):
            return True
    after = after[1:] if after[:1] and after[0] in _LINK_WORDS else after
    return after[:size] == house.street or before[-size:] == house.street


def _is_a_name(written: str) -> bool:
    """Return true for 'The Old Forge', not for 'the old forge' or one word alone."""
    words = re.findall(r"[^\W\d_]+", written)
    return len(words) > 1 and all(word[0].isupper() for word in words if len(word) > 1)
