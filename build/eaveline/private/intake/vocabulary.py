"""The trade's words, each with the spellings volunteers use for it."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from eaveline.private.intake.schema import package_words, plain

BEHAVIOUR_CODES: MappingProxyType[str, int] = MappingProxyType(
    {
        "high overhead": 0,
        "low over roofs": 1,
        "pair circling": 3,
        "screaming party": 5,
        "visiting wall or eaves": 6,
        "carrying material": 9,
        "entering or leaving a nest": 13,
        "droppings or food carried": 14,
        "eggs": 15,
        "young": 16,
    }
)
"""EBCC breeding atlas code of each behaviour (second European Breeding Bird Atlas).

Code 12, recently fledged young, is not used: young swifts do not stay near the nest.
"""

NEST_EVIDENCE_CODE = 6
"""From this code on (a bird at a wall or eaves) an observation is evidence for a nest site."""


def _table(words: Mapping[str, tuple[str, ...]]) -> MappingProxyType[str, str]:
    table: dict[str, str] = {}
    for canonical, spellings in words.items():
        for spelling in (canonical, *spellings):
            table.setdefault(plain(spelling) or spelling, canonical)
    return MappingProxyType(table)


VOCABULARIES: MappingProxyType[str, MappingProxyType[str, str]] = MappingProxyType(
    {name: _table(words) for name, words in package_words("spellings").items()}
)
"""For each vocabulary: a spelling without case, spaces or punctuation, and what it means."""

CANONICAL: MappingProxyType[str, tuple[str, ...]] = MappingProxyType(
    {name: tuple(words) for name, words in package_words("spellings").items()}
)
"""The canonical words of each vocabulary, in the order they are listed to people."""
