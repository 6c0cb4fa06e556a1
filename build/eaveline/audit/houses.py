"""Makes the town's houses ready to be looked for."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass, field

from eaveline.audit.secrets import Secrets
from eaveline.audit.text import folded, word_set

Words = tuple[str, ...]

_SHORT = {
    "street": "st", "saint": "st", "road": "rd", "avenue": "ave", "av": "ave", "lane": "ln",
    "close": "cl", "crescent": "cres", "cr": "cres", "drive": "dr", "drv": "dr",
    "gardens": "gdns", "gdn": "gdns", "garden": "gdns", "place": "pl", "square": "sq",
    "terrace": "ter", "terr": "ter", "court": "ct", "crt": "ct", "grove": "gr", "gro": "gr",
    "park": "pk", "way": "wy", "yard": "yd", "hill": "hl", "mount": "mt", "green": "grn",
    "market": "mkt", "parade": "pde", "passage": "psge", "boulevard": "blvd", "upper": "up",
    "upr": "up", "lower": "lo", "lwr": "lo", "great": "gt", "little": "lt", "north": "n",
    "south": "s", "east": "e", "west": "w", "rise": "ri", "walk": "wk", "cottages": "cotts",
    "cottage": "cott", "house": "hse", "farm": "fm",
}  # fmt: skip
"""Each word of a street's name to one short form (common abbreviations, no source)."""

_TOO_COMMON = frozenset((*_SHORT.values(), "the", "a", "at", "in", "of", "on", "and", "or"))
"""A 'street' of one such word is a slip of the pen that every sentence would match."""

_WORD = re.compile(r"[a-z0-9]+")
_GAP_IN_NAME = r"[\W_]{1,3}"
_NOT_A_NAME = word_set("flat unit apartment apt no nr number first second ground floor a b")


def street_words(text: str) -> Words:
    """Return a street's name as short words, one spelling for all.

    Examples
    --------
    >>> street_words("St. Mary's Road") == street_words("SAINT MARYS RD")
    True
    """
    return tuple(_SHORT.get(word, word) for word in _WORD.findall(_letters(text)))


def _letters(text: str) -> str:
    return folded(text).lower().replace("'", "")


def short_word(word: str) -> str:
    """Return one word of a street's name as `street_words` has it."""
    word = word.lower().replace("'", "")
    return _SHORT.get(word, word)


def house_numbers(house: str) -> frozenset[int]:
    """Return a house's numbers: 12a counts as 12, 12-14 as both."""
    return frozenset(int(number) for number in re.findall(r"\d{1,4}", house))


def _house_name(house: str) -> str:
    words = [word for word in re.findall(r"[^\W\d_][\w']*", folded(house)) if len(word) > 1]
    return " ".join(word for word in words if word.lower() not in _NOT_A_NAME)


@dataclass(frozen=True, slots=True, repr=False)
class NamedHouse:
    """A house with a name, the pattern of it, and its street."""

    key: str
    pattern: re.Pattern[str]
    street: Words


@dataclass(frozen=True, slots=True, repr=False, eq=False)
class Addresses:
    """The town's houses by street, ready to be looked for."""

    numbers: dict[Words, frozenset[int]]
    first_words: frozenset[str]
    last_words: frozenset[str]
    joined: dict[str, Words] = field(default_factory=dict)
    """A street's name without spaces, long and short, to its words."""
    named: dict[str, tuple[NamedHouse, ...]] = field(default_factory=dict)
    """A word of the house's name to the houses it may be."""

    def __repr__(self) -> str:
        """Return counts, never a value."""
        return f"Addresses({len(self.numbers)} streets)"


def addresses_of(secrets: Secrets) -> Addresses:
    """Return the houses to look for; public buildings are left out."""
    public = {
        (street_words(street), number)
        for street, house in secrets.public_addresses
        for number in house_numbers(house)
    }
    public_names = {folded(name).casefold() for name in secrets.public_names}
    public_names |= {folded(name).casefold() for name in secrets.street_names}
    public_names |= {_house_name(house).casefold() for _, house in secrets.public_addresses}
    numbers: dict[Words, set[int]] = defaultdict(set)
    named: dict[str, dict[tuple[str, Words], NamedHouse]] = defaultdict(dict)
    for street, house in secrets.addresses:
        words = street_words(street)
        if not words or (len(words) == 1 and words[0] in _TOO_COMMON):
            continue
        numbers[words] |= {n for n in house_numbers(house) if (words, n) not in public}
        name = _house_name(house)
        if name and name.casefold() not in public_names:
            found = _named_house(name, words)
            for word in _keys(name):
                named[word][found.key, words] = found
    return Addresses(
        numbers={street: frozenset(found) for street, found in numbers.items() if found},
        first_words=frozenset(street[0] for street in numbers),
        last_words=frozenset(street[-1] for street in numbers),
        joined={
            name: words
            for street, _ in secrets.addresses
            if (words := street_words(street)) in numbers
            for name in ("".join(_WORD.findall(_letters(street))), "".join(words))
        },
        named={word: tuple(houses.values()) for word, houses in named.items()},
    )


def _keys(name: str) -> set[str]:
    """Return runs of letters, one of which every spelling of a house's name holds."""
    longest = max(name.lower().split(), key=len)
    return {max(re.findall(r"[a-z]+", longest), key=len), longest.replace("'", "")}


def _named_house(name: str, street: Words) -> NamedHouse:
    words = [re.escape(word).replace("'", "'?") for word in name.split()]
    # 'Old Forge' is The Old Forge, but a rectory need not be The Rectory.
    article = rf"(?:the{_GAP_IN_NAME})?" if words[0].lower() == "the" and len(words) > 2 else ""  # noqa: PLR2004
    spaced = article + _GAP_IN_NAME.join(words[bool(article) :])
    pattern = re.compile(rf"(?<![^\W_]){spaced}(?![^\W_])", re.IGNORECASE)
    return NamedHouse(name.casefold(), pattern, street)
