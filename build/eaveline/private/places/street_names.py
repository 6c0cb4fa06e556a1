"""Street names in one form: abbreviations written out, case, spaces and apostrophes gone."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from types import MappingProxyType
from typing import Final

from rapidfuzz.distance import OSA

_SHORTEST_GUESSED: Final = 3
"""Abbreviations of two letters are one slip from too many words."""

_TYPES: Final = {
    "alley": ("aly", "ally"),
    "approach": ("appr", "app"),
    "avenue": ("ave", "av", "aven", "avn", "avnu"),
    "bank": ("bnk",),
    "bridge": ("brdg", "bdge"),
    "buildings": ("bldgs", "bldg", "blds"),
    "close": ("cl", "clo", "cls"),
    "common": ("cmn",),
    "corner": (),
    "cottages": ("cotts", "ctgs", "cotgs"),
    "court": ("ct", "crt"),
    "courtyard": (),
    "crescent": ("cres", "cresc", "crs", "cr"),
    "croft": (),
    "drift": (),
    "drive": ("dr", "drv", "dv"),
    "drove": (),
    "end": (),
    "esplanade": ("esp",),
    "estate": ("est",),
    "field": (),
    "fields": (),
    "garth": (),
    "gardens": ("gdns", "gdn", "gds", "grdns", "garden"),
    "gate": (),
    "green": ("grn",),
    "grove": ("gr", "gro", "grv"),
    "hill": ("hl",),
    "lane": ("ln", "la"),
    "loke": (),
    "mews": ("mws",),
    "mount": ("mt",),
    "parade": ("pde",),
    "park": ("pk",),
    "passage": ("psge", "pass"),
    "path": (),
    "place": ("pl",),
    "quay": ("qy",),
    "rise": ("ri", "rse"),
    "road": ("rd",),
    "row": (),
    "square": ("sq",),
    "street": ("str", "strt"),
    "terrace": ("tce", "ter", "terr", "trc", "tc"),
    "vale": (),
    "view": ("vw",),
    "villas": ("vlls",),
    "walk": ("wlk", "wk"),
    "way": ("wy",),
    "wharf": ("whf",),
    "yard": ("yd",),
}
TYPES: Final = frozenset(_TYPES)
"""Words that say what kind of street it is."""

_SHORT_TYPES: Final = MappingProxyType(
    {short: whole for whole, shorts in _TYPES.items() for short in shorts}
)
_SHORT_WORDS: Final = MappingProxyType(
    {
        "upr": "upper",
        "lwr": "lower",
        "gt": "great",
        "ltl": "little",
        "mkt": "market",
        "stn": "station",
        "sta": "station",
        "nth": "north",
        "sth": "south",
    }
)
_DIRECTIONS: Final = MappingProxyType({"n": "north", "s": "south", "e": "east", "w": "west"})
_DIRECTION_WORDS: Final = frozenset(
    {*_DIRECTIONS, "north", "south", "east", "west", "upper", "lower"}
)
_ORDINALS: Final = MappingProxyType(
    {
        "1st": "first", "2nd": "second", "3rd": "third", "4th": "fourth", "5th": "fifth",
        "6th": "sixth", "7th": "seventh", "8th": "eighth", "9th": "ninth", "10th": "tenth",
        "11th": "eleventh", "12th": "twelfth",
    }
)  # fmt: skip

COMMON_STEMS: Final = frozenset(
    """
    abbey abbot acorn acre albert alder alfred alma anchor angel ann arthur ash aspen avon back
    baker bank barn barrow bath bay beach beacon beech bell birch bishop black blake boat bond
    bourne bow boundary brick bridge broad brook brown buck burn bury canal castle cave cedar
    chalk chapel charles charlotte cherry chestnut church clare clay cliff coach coast college
    common cook coral cove cow crane cross crown dale dane dark deer dell dean dene derby dock
    dove duke dyer eagle east edward elder eliza elm fair falcon farm fen fern ferry field finch
    fir fish ford forest forge fox frances frank garden gate george glebe gold goose grange gray
    great green grey grove hall ham hare hart hawk hazel heath heather hedge hen henry heron hey
    high hill hive holly home hood hope horse house hythe iris ivy james jay john jubilee kent
    kestrel king kings lake lamb land lark laurel lea leaf lily lime linden linnet lion lodge
    london long lord love low maple marine market marsh martin mary may mead meadow mere middle
    mill mint moat moor moss mount myrtle new nelson nine norman north norton nursery oak oaks
    old olive orchard owl oxford paddock park parson peel pine pit plain plough plum pond poplar
    port pound priest prince princes priory pump quarry quay queen queens railway raven rectory
    red reed ridge ring river robin rock rook rope rose rowan royal rush russell salt sand
    school sea sedge shaw sheep ship short silver sloe smith south spring square stable star
    station stone strand swallow swan tan temple tern thorn tide till tower town trinity union
    upper vale vicarage victoria village vine violet wall walnut ward water weir well west wharf
    wheat white wick william willow wind wine wold wood worth wren yew york young
    """.split()  # noqa: SIM905 - a list of 200 quoted words would fill pages
)
"""Words many British streets are called after, from general knowledge.

Typed in full, such a word is more likely another street than a slip: Hill Lane is not a
misspelling of Mill Lane.
"""

_JOINED = re.compile(r"['\u2019\u2018`\u00b4\u0300-\u036f]")
_PARTED = re.compile(r"[^a-z0-9]+")


@lru_cache(maxsize=200_000)
def street_words(text: str) -> tuple[str, ...]:
    """Return the words of a street name, abbreviations written out.

    ``St`` is a saint before a name and a street after one. A leading "the" is dropped.

    Examples
    --------
    >>> street_words("St. Anne's Tce")
    ('saint', 'annes', 'terrace')
    >>> street_words("Church St N.")
    ('church', 'street', 'north')
    """
    lowered = text.casefold()
    if not lowered.isascii():
        lowered = unicodedata.normalize("NFKD", lowered)
    words = _PARTED.sub(" ", _JOINED.sub("", lowered).replace("&", " and ")).split()
    if len(words) > 1 and words[0] == "the":
        words = words[1:]
    last = len(words) - 1
    return tuple(_whole_word(words, at, last) for at in range(len(words)))


def _whole_word(words: list[str], at: int, last: int) -> str:
    word = words[at]
    if word == "st":
        return _saint_or_street(words, at, last)
    if at and word in _SHORT_TYPES:
        # Only the last word, or one before a direction, says what kind of street it is.
        tail = words[at + 1 :]
        if all(other in _DIRECTION_WORDS for other in tail):
            return _SHORT_TYPES[word]
    if last and at in (0, last) and word in _DIRECTIONS:
        return _DIRECTIONS[word]
    return _SHORT_WORDS.get(word) or _ORDINALS.get(word, word)


def _saint_or_street(words: list[str], at: int, last: int) -> str:
    if at == 0:
        return "saint"
    following = words[at + 1] if at < last else ""
    is_street = (
        not following
        or following in _DIRECTION_WORDS
        or following in TYPES
        or (following in _SHORT_TYPES and at + 1 == last)
    )
    return "street" if is_street else "saint"


@lru_cache(maxsize=20_000)
def _kind_misspelt(word: str) -> str | None:
    """Return the kind of street whose abbreviation is one slip away: crsec is a crescent."""
    if len(word) < _SHORTEST_GUESSED or any(OSA.distance(word, kind) <= 1 for kind in TYPES):
        return None
    near = {
        whole
        for short, whole in _SHORT_TYPES.items()
        if len(short) >= _SHORTEST_GUESSED and OSA.distance(word, short, score_cutoff=1) <= 1
    }
    return near.pop() if len(near) == 1 else None


@lru_cache(maxsize=200_000)
def key_of_misspelt(text: str) -> str:
    """Return the comparison form of a misspelt name.

    A misspelt abbreviation at the end is written out, and an S at the front stays what it
    was: in a misspelt name it is as likely a saint as the south.
    """
    words = street_words(text)
    if not words:
        return ""
    first = (
        ("s",)
        if words[0] == "south" and _PARTED.split(text.casefold().strip())[0] == "s"
        else words[:1]
    )
    kind = _kind_misspelt(words[-1])
    if len(words) == 1:
        return kind or words[0]
    return "".join((*first, *words[1:-1], kind or words[-1]))


def same_but_for_doubling(one: str, other: str) -> bool:
    """Whether two stems differ in nothing but doubled letters or a plural: Red and Reed."""
    return _undoubled(one) == _undoubled(other)


def _undoubled(stem: str) -> str:
    return re.sub(r"(.)\1+", r"\1", stem).removesuffix("s")


def other_key(name: str) -> str | None:
    """Return the form in which a misspelt "St" or "The" at the front is nearest, if any."""
    words = street_words(name)
    if words[:1] == ("saint",):
        return "st" + "".join(words[1:])
    return "the" + "".join(words) if name.casefold().startswith("the ") else None


@lru_cache(maxsize=200_000)
def street_key(text: str) -> str:
    """Return the name in the form names are compared in: its words, joined.

    Examples
    --------
    >>> street_key("Mill Field Rd.") == street_key("MILLFIELD ROAD")
    True
    """
    return "".join(street_words(text))


def stem_of(words: tuple[str, ...]) -> str:
    """Return a name without the word for its kind: "albert" of Albert Road.

    A name that is nothing but such a word (The Crescent) is its own stem.
    """
    kept = words
    while kept and kept[-1] in _DIRECTION_WORDS and len(kept) > 1:
        kept = kept[:-1]
    if len(kept) > 1 and kept[-1] in TYPES:
        return "".join(kept[:-1] + words[len(kept) :])
    return "".join(words)
