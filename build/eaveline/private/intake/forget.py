"""Forgets people, addresses and rows on request: what forget.csv names is used nowhere."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd

from eaveline.errors import Problem
from eaveline.private.intake.cells import key_from_text
from eaveline.private.intake.schema import PERSON_COLUMNS, plain
from eaveline.private.intake.text_grids import decode

FORGET_FILE = "forget.csv"
WHAT = ("person", "address", "row")


@dataclass(frozen=True, repr=False)
class Forgetting:
    """What to forget: names and addresses in plain form, and row keys."""

    people: frozenset[str] = frozenset()
    addresses: frozenset[str] = frozenset()
    keys: frozenset[int] = field(default_factory=frozenset)

    def __repr__(self) -> str:
        """Show counts only: the names are what must not be shown."""
        return f"<Forgetting of {len(self.people) + len(self.addresses) + len(self.keys)} things>"


def load_forgetting(survey_data: Path) -> tuple[Forgetting, list[Problem]]:
    """Read forget.csv: columns `forget` (person, address or row) and `which`."""
    path = survey_data / FORGET_FILE
    if not path.is_file():
        return Forgetting(), []
    text, _ = decode(path.read_bytes(), name=FORGET_FILE)
    people, addresses, keys = set(), set(), set()
    problems = []
    records = csv.DictReader(io.StringIO(text, newline=""), skipinitialspace=True)
    for number, record in enumerate(records, start=2):
        what = plain(str(record.get("forget") or ""))
        which = str(record.get("which") or "").strip()
        key = key_from_text(which)
        if what == "person" and plain(which):
            people.add(plain(which))
        elif what == "address" and plain(which):
            addresses.add(plain(which))
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
    return Forgetting(frozenset(people), frozenset(addresses), frozenset(keys)), problems


def forgotten_rows(
    tables: Mapping[str, pd.DataFrame], lines: pd.DataFrame, forgetting: Forgetting
) -> list[int]:
    """Return the ids of rows that name a forgotten person or address, or are one themselves.

    A cell that names several people ("Ann & Bob") is matched by each of its names.
    """
    found: set[int] = set()
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
            for first, second in (("house", "street"), ("street", "house")):
                whole = (
                    table[first].astype("string").fillna("")
                    + " "
                    + table[second].astype("string").fillna("")
                )
                found.update(table.index[whole.map(plain).isin(forgetting.addresses)].tolist())
    return sorted(found)


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
