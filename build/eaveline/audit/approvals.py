"""Finds what a person must look at once: a street beside a nest, a new photograph."""

from __future__ import annotations

import re
from dataclasses import dataclass

from eaveline.audit.findings import Hit
from eaveline.audit.fragments import Fragment, Kind, Photograph
from eaveline.audit.houses import Words, street_words
from eaveline.audit.secrets import Secrets
from eaveline.audit.text import CELL, decoded, plain

STREET_RULE = "street-and-nest"
PHOTO_RULE = "new-photograph"

_NEST = re.compile(
    r"\b(?:nest|breed|bred\b|roost|chick|egg|fledg|hatch|brood|young\b|colon(?:y|ies)\b)",
    re.IGNORECASE,
)
# A stop after one letter or a short word such as St. ends no sentence.
_SENTENCE_END = re.compile(r"(?<=[^\W\d_]{3}[.!?])[\"')\]]*\s+|(?<=\d[.!?])\s+(?=[A-Z])|\n\s*\n")
_QUOTED = re.compile(r"\"([^\"]+)\"|'([^']+)'")
_LONGEST_STREET = 6


@dataclass(frozen=True, slots=True)
class Streets:
    """The public list of streets as short words."""

    names: frozenset[Words]


def streets_of(secrets: Secrets) -> Streets:
    """Return the streets to look for."""
    named = {*secrets.street_names, *(street for street, _ in secrets.addresses)}
    return Streets(frozenset(words for name in named if (words := street_words(name))))


def street_and_nest_hits(fragment: Fragment, streets: Streets) -> list[Hit]:
    """Find sentences that name a street of the town together with a nest.

    Parameters
    ----------
    fragment
        Only visible text, attributes are looked at; it must come from a page that
        somebody wrote (content/).
    streets
        From `streets_of`.

    Returns
    -------
    list of Hit
        A person may allow each; its digest is that of the sentence.
    """
    if fragment.kind not in (Kind.TEXT, Kind.TAG):
        return []
    text = plain(decoded(fragment.text))
    if not _NEST.search(text):
        return []
    if fragment.kind is Kind.TAG:
        parts = [first or second for first, second in _QUOTED.findall(text)]
    else:
        parts = [text.replace(CELL, " ")]
    return [
        Hit(STREET_RULE, " ".join(sentence.split()), allowable=True)
        for part in parts
        for sentence in _SENTENCE_END.split(part)
        if sentence and _NEST.search(sentence) and _names_street(sentence, streets)
    ]


def _names_street(sentence: str, streets: Streets) -> bool:
    words = street_words(sentence)
    return any(
        words[start : start + length] in streets.names
        for start in range(len(words))
        for length in range(1, _LONGEST_STREET + 1)
    )


def photograph_hit(photograph: Photograph) -> Hit:
    """Return the finding that stands until the picture's digest is on the allow-list."""
    return Hit(PHOTO_RULE, photograph.sha256, allowable=True)
