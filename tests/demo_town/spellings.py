"""Every heading and every spelling the members use, by what each stands for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from demo_town.roster import MEMBERS

Used = Mapping[str, tuple[str, ...]]


def _headers_used() -> dict[str, Used]:
    found: dict[str, dict[str, set[str]]] = defaultdict(lambda: defaultdict(set))
    for member in MEMBERS:
        for folder, headings in member.headings.items():
            for column, heading in headings.items():
                found[folder][column].add(heading)
    return {
        folder: {column: tuple(sorted(names)) for column, names in sorted(columns.items())}
        for folder, columns in sorted(found.items())
    }


def _value_spellings_used() -> Used:
    found: dict[str, set[str]] = defaultdict(set)
    for member in MEMBERS:
        for word, spellings in member.words.items():
            found[word].update(spellings)
    return {word: tuple(sorted(spellings)) for word, spellings in sorted(found.items())}


HEADERS_USED: Mapping[str, Used] = _headers_used()
"""For each folder and canonical column the headings used; a ``?`` marks columns unknown to us."""

VALUE_SPELLINGS_USED: Used = _value_spellings_used()
"""For each canonical word the spellings used beside the word itself."""
