"""What each heading of a file means, and which row of a file holds the headings."""

from __future__ import annotations

import re
from collections.abc import Container, Iterable, Sequence
from functools import lru_cache
from itertools import zip_longest
from types import MappingProxyType

from rapidfuzz import fuzz, process

from eaveline.errors import Problem
from eaveline.private.intake.cells import trimmed
from eaveline.private.intake.mappings import ColumnMapping
from eaveline.private.intake.schema import KINDS, PLACE_COLUMNS, aliases, heading_table, plain
from eaveline.private.intake.text_grids import HEADING_SEARCH_ROWS, Grid

_LEAST_KNOWN = 2
"""A row with fewer known headings is no row of headings."""
_ASIDE = re.compile(r"\([^()]*\)|\[[^\[\]]*\]")
_WORD = re.compile(r"[a-z0-9£]+")
_FILLERS = frozenset(
    {
        "a",
        "an",
        "and",
        "any",
        "are",
        "at",
        "did",
        "do",
        "does",
        "enter",
        "fill",
        "for",
        "give",
        "i",
        "if",
        "in",
        "is",
        "it",
        "its",
        "known",
        "me",
        "my",
        "of",
        "on",
        "or",
        "our",
        "please",
        "possible",
        "saw",
        "see",
        "select",
        "tell",
        "that",
        "the",
        "them",
        "there",
        "these",
        "they",
        "this",
        "to",
        "us",
        "was",
        "we",
        "were",
        "what",
        "which",
        "you",
        "your",
    }
)
"""Words that a question is padded with."""


class HeadingWords:
    """The plain forms under which a folder's headings are known, with a file's mappings."""

    def __init__(self, folder: str, mappings: Iterable[ColumnMapping] = ()) -> None:
        """Remember the folder and what its mappings add."""
        self._folder = folder
        self._mapped = {
            heading for each in mappings if each.folder == folder for heading in each.means
        }

    def __contains__(self, heading: object) -> bool:
        """Say whether a heading, in plain form or as written, is known."""
        text = str(heading)
        return text in self._mapped or meaning_of(text, folder=self._folder) is not None


@lru_cache(maxsize=20_000)
def meaning_of(heading: str, *, folder: str) -> str | None:
    """Return the canonical name a heading stands for, or None.

    Tried in turn: the heading, the heading without what stands in brackets, and its words
    without those a question is padded with ("What time did you see them?" is "time").
    """
    known = heading_table(folder)
    bare = _ASIDE.sub(" ", heading)
    return (
        known.get(plain(heading)) or known.get(plain(bare)) or _core_table(folder).get(_core(bare))
    )


def _core(heading: str) -> str:
    return "".join(
        word for word in _WORD.findall(heading.casefold().replace("'", "")) if word not in _FILLERS
    )


@lru_cache(maxsize=32)
def _core_table(folder: str) -> MappingProxyType[str, str]:
    """Return the cores of known headings that can mean one column only."""
    meanings: dict[str, set[str]] = {}
    for column in KINDS[folder].columns:
        for text in (column.name.replace("_", " "), *aliases(folder, column.name)):
            meanings.setdefault(_core(text), set()).add(column.name)
    return MappingProxyType(
        {core: min(columns) for core, columns in meanings.items() if core and len(columns) == 1}
    )


def find_headings(grid: Grid, known: Container[str]) -> int | None:
    """Return the index of the row with most known headings (at least two), or None."""
    best, best_score = None, _LEAST_KNOWN - 1
    for index, row in enumerate(grid[:HEADING_SEARCH_ROWS]):
        score = _known_in(row, known)
        if score > best_score:
            best, best_score = index, score
    return best


def _known_in(row: Sequence[str], known: Container[str]) -> int:
    filled = {plain(cell): cell for cell in row if trimmed(cell)}
    return sum(form in known or cell in known for form, cell in filled.items())


def headings_of(grid: Grid, known: Container[str]) -> tuple[list[str], int] | None:
    """Return the headings and the index of the first row below them, or None.

    Headings spread over two rows ("Grid" above "reference") are read together where that
    makes more of them known than either row alone.
    """
    start = find_headings(grid, known)
    single = _known_in(grid[start], known) if start is not None else _LEAST_KNOWN - 1
    best: tuple[list[str], int] | None = None
    for index in range(min(len(grid) - 1, HEADING_SEARCH_ROWS)):
        joined = _joined(grid[index], grid[index + 1], known)
        score = _known_in(joined, known) if joined is not None else 0
        if joined is not None and score > single:
            best, single = (joined, index + 2), score
    if best is not None:
        return best
    return None if start is None else ([trimmed(cell) for cell in grid[start]], start + 1)


def _joined(upper: Sequence[str], lower: Sequence[str], known: Container[str]) -> list[str] | None:
    """Return two rows of headings as one: joined where that is known, else the known one.

    None if some cell of the lower row is part of no known heading, or one of the upper row
    holds figures: it may be a record.
    """
    headings = []
    for above, below in zip_longest(map(trimmed, upper), map(trimmed, lower), fillvalue=""):
        if re.search(r"\d", above) and not _is_known(above, known):
            return None
        both = f"{above} {below}".strip()
        choices = [text for text in (both, below) if text and _is_known(text, known)]
        if below and not choices:
            return None
        headings.append(choices[0] if choices else above)
    return headings


def _is_known(text: str, known: Container[str]) -> bool:
    return plain(text) in known or text in known


def likely_headings(grid: Grid) -> int | None:
    """Return the index of the row that looks most like headings where none is known."""
    rows = [
        (sum(bool(trimmed(cell)) and not re.search(r"\d", cell) for cell in row), -index)
        for index, row in enumerate(grid[:HEADING_SEARCH_ROWS])
    ]
    most, index = max(rows, default=(0, 0))
    return -index if most >= _LEAST_KNOWN else None


def nearest_name(heading: str, *, folder: str) -> str | None:
    """Return the canonical name an unknown heading is most like, if it is like any."""
    known = heading_table(folder)
    if not plain(heading):
        return None
    near = process.extractOne(plain(heading), list(known), scorer=fuzz.ratio, score_cutoff=70)
    return known[near[0]] if near else None


def meanings_of(
    headings: Sequence[str], *, folder: str, mapping: ColumnMapping | None
) -> list[str | None]:
    """Return what each heading means: a mapping goes before the known names."""
    mapped = mapping.means if mapping else {}
    return [
        mapped[plain(heading)]
        if plain(heading) in mapped
        else (meaning_of(heading, folder=folder) if heading else None)
        for heading in headings
    ]


def bare_number(headings: Sequence[str], meanings: Sequence[str | None]) -> int | None:
    """Return the column headed just "Number" in a file of birds that has no other count.

    It may be the house's number or the number of birds. Without a street it can't be a
    house's; with one, only the sender knows.
    """
    if "behaviour" not in meanings or "birds" in meanings or "nests" in meanings:
        return None
    bare = [
        index
        for index, heading in enumerate(headings)
        if plain(heading) in {"number", "no", "num"} and meanings[index] == "house"
    ]
    return bare[0] if len(bare) == 1 else None


def lacking(present: Container[str], *, folder: str) -> tuple[str, ...]:
    """Return what a file of these columns lacks, so that none of its rows could be used."""
    kind = KINDS[folder]
    missing = [column.name for column in kind.columns if column.required]
    missing = [name for name in missing if name not in present]
    missing += [
        " or ".join(group) for group in kind.one_of if not any(name in present for name in group)
    ]
    stand_ins = (*PLACE_COLUMNS, kind.place_from or "", "streets")
    if kind.has_place and not any(name in present for name in stand_ins):
        missing.append("a place")
    return tuple(missing)


def ambiguous_notice(name: str, *, number: int) -> Problem:
    """Return the notice of a heading that may mean two things."""
    return Problem(
        "column-ambiguous",
        "This heading may mean the house or the number of birds, so its cells are not used.",
        "Call it 'House no' or 'No. seen', and send the file again.",
        file=name,
        column=f"number {number}",
    )


def heading_notice(
    heading: str, canonical: str | None, *, folder: str, name: str, number: int
) -> Problem:
    """Return the notice of a heading whose cells are not used."""
    place = f"number {number}"
    if canonical is not None:
        return Problem(
            "column-twice",
            f"Two columns both mean {canonical}; the second was kept but not used.",
            "Leave one of them, or rename the other.",
            file=name,
            column=place,
        )
    near = nearest_name(heading, folder=folder)
    hint = f" The nearest known name is {near}." if near else ""
    return Problem(
        "column-unknown",
        f"This heading is not known, so its cells are kept but not used.{hint}",
        "Rename it if it should count; otherwise nothing is needed.",
        file=name,
        column=place,
    )
