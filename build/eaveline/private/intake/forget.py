"""Forgets people, addresses and rows on request: what forget.csv names is used nowhere."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd

from eaveline.errors import InputError, Problem
from eaveline.private.intake.cells import key_from_text, trimmed
from eaveline.private.intake.schema import PERSON_COLUMNS, plain
from eaveline.private.intake.text_grids import Grid, decode, named_rows, text_grid

FORGET_FILE = "forget.csv"
HEADINGS = ("forget", "which")
House = tuple[str, str]
"""A street's slug and a house in it, as the address list writes it."""


@dataclass(frozen=True, slots=True)
class Request:
    """One line of forget.csv that says what to forget; `which` is as it was written."""

    row: int
    what: str
    which: str = field(repr=False)


@dataclass(frozen=True, repr=False)
class Forgetting:
    """What to forget: names in plain form, addresses as they were written, and row keys."""

    people: frozenset[str] = frozenset()
    addresses: frozenset[str] = frozenset()
    keys: frozenset[int] = field(default_factory=frozenset)
    requests: tuple[Request, ...] = ()

    def __repr__(self) -> str:
        """Show counts only: the names are what must not be shown."""
        return f"<Forgetting of {len(self.people) + len(self.addresses) + len(self.keys)} things>"


def load_forgetting(survey_data: Path) -> tuple[Forgetting, list[Problem]]:
    """Read forget.csv: columns `forget` (person, address or row) and `which`.

    Raises
    ------
    InputError
        If the file cannot be read or has no headings: a list that is passed over would leave
        people in.
    """
    path = survey_data / FORGET_FILE
    if not path.is_file():
        return Forgetting(), []
    try:
        text, _ = decode(path.read_bytes(), name=FORGET_FILE)
    except OSError as error:
        raise InputError(
            Problem(
                "forget-unreadable",
                f"The file cannot be read ({type(error).__name__}), so nobody could be forgotten.",
                "Close it in other programs and check that you may open it.",
                file=FORGET_FILE,
            )
        ) from None
    grid, _ = text_grid(text, HEADINGS, name=FORGET_FILE)
    people, addresses, keys = set(), set(), set()
    problems = []
    requests = _requests(grid)
    for number, what, which in ((each.row, each.what, each.which) for each in requests):
        key = key_from_text(which)
        if what == "person" and plain(which):
            people.add(plain(which))
        elif what == "address" and plain(which):
            addresses.add(which)
        elif what == "row" and key is not None:
            keys.add(key)
        elif what or which:
            problems.append(
                Problem(
                    "forget-line-unclear",
                    "This line does not say what to forget.",
                    "Write person, address or row under 'forget', and under 'which' the name, the"
                    " house and street, or the row's key.",
                    file=FORGET_FILE,
                    row=number,
                )
            )
    unclear = {problem.row for problem in problems}
    clear = tuple(each for each in requests if each.which and each.row not in unclear)
    return Forgetting(frozenset(people), frozenset(addresses), frozenset(keys), clear), problems


def _requests(grid: Grid) -> list[Request]:
    """Return each row below the headings."""
    missing, rows = named_rows(grid, HEADINGS)
    if missing and any(trimmed(cell) for row in grid for cell in row):
        raise InputError(
            Problem(
                "forget-headings-missing",
                "The first line lacks the headings, so nobody could be forgotten.",
                "Write forget,which into the first line and build again.",
                file=FORGET_FILE,
            )
        )
    return [Request(number, plain(row["forget"]), row["which"]) for number, row in rows]


def forgotten_rows(
    tables: Mapping[str, pd.DataFrame],
    lines: pd.DataFrame,
    forgetting: Forgetting,
    *,
    houses: Collection[House] = frozenset(),
) -> list[int]:
    """Return the ids of rows that name a forgotten person or address, or are one themselves.

    A cell that names several people ("Ann & Bob") is matched by each of its names. A row goes
    with every correction of it, and a correction with its row: they tell of one thing.

    Parameters
    ----------
    tables
        Rows as checked and located, by folder.
    lines
        The rows of all files, with `key` and `replaces`.
    forgetting
        What to forget.
    houses
        The forgotten addresses that the address list has: rows that the list takes for one of
        them go too, however they spell it.
    """
    found: set[int] = set()
    spellings = {plain(address) for address in forgetting.addresses}
    if forgetting.keys:
        wanted = np.array(sorted(forgetting.keys), dtype=np.uint64)
        hit = np.isin(lines["key"].to_numpy(), wanted) | np.isin(
            lines["replaces"].to_numpy(), wanted
        )
        found.update(lines.index[hit].tolist())
    for table in tables.values():
        if forgetting.people:
            for column in PERSON_COLUMNS:
                if column in table:
                    found.update(_rows_matching(table[column], forgetting.people))
        if forgetting.addresses and "street" in table:
            for whole in plain_addresses(table):
                found.update(table.index[whole.isin(spellings)].tolist())
        if houses and {"street_slug", "house_name"} <= set(table):
            named = zip(table["street_slug"], table["house_name"], strict=True)
            found.update(table.index[[house in houses for house in named]].tolist())
    thing = lines["key"].where(lines["replaces"] == 0, lines["replaces"])
    gone = thing[thing.index.isin(found)]
    return lines.index[thing.isin(gone)].tolist()


def plain_addresses(table: pd.DataFrame) -> Iterator[pd.Series]:
    """Yield the address of each row in plain form: house first, then street first."""
    for first, second in (("house", "street"), ("street", "house")):
        whole = (
            table[first].astype("string").fillna("")
            + " "
            + table[second].astype("string").fillna("")
        )
        yield whole.map(plain)


def _rows_matching(column: pd.Series, people: frozenset[str]) -> list[int]:
    cells = column.array
    names = [
        any(plain(part) in people for part in split_people(str(text))) for text in cells.categories
    ]
    hit = np.array([*names, False])[np.asarray(cells.codes, dtype=np.int64)]
    return [int(row_id) for row_id in column.index[hit]]


def split_people(text: str) -> list[str]:
    """Return the single names in a cell such as ``Ann Poole & Bob Tarn``."""
    for mark in (" and ", "&", "+", "/", ";", ",", "\n"):
        text = text.replace(mark, "\x1f")
    return [part.strip() for part in text.split("\x1f") if part.strip()] + [
        text.replace("\x1f", " ").strip()
    ]
