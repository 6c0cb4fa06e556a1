"""Tells of lines in forget.csv that name nothing: a slip of spelling would leave a person in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np
import pandas as pd
from rapidfuzz import fuzz, process

from eaveline.errors import Problem
from eaveline.private.intake.cells import key_from_text
from eaveline.private.intake.forget import (
    FORGET_FILE,
    Forgetting,
    Request,
    plain_addresses,
    split_people,
)
from eaveline.private.intake.schema import PERSON_COLUMNS, plain

_ALIKE: Final = 85
"""How much alike, of 100, a name must be to be pointed at (common practice, no source)."""


def lines_without_effect(
    forgetting: Forgetting,
    tables: Mapping[str, pd.DataFrame],
    lines: pd.DataFrame,
    *,
    in_list: frozenset[str],
    file_names: tuple[str, ...],
) -> list[Problem]:
    """Return a notice for each line that names no person, address or row that came in.

    Parameters
    ----------
    forgetting
        What to forget.
    tables
        Rows as checked and located, by folder.
    lines
        The rows of all files, with `key`, `replaces`, `file`, `row`.
    in_list
        Those of the addresses to forget that the address list has.
    file_names
        The name of each file in `lines`.

    Returns
    -------
    list of Problem
        None of them holds a value: a name that is much alike is told by its file and row.
    """
    if not forgetting.requests:
        return []
    people = _people(tables)
    addresses = _addresses(tables)
    missing = forgetting.keys - {*lines["key"], *lines["replaces"]}
    notices = []
    for request in forgetting.requests:
        spelt = plain(request.which)
        if request.what == "person" and spelt not in people:
            near = process.extractOne(spelt, list(people), scorer=fuzz.WRatio, score_cutoff=_ALIKE)
            step = "Check the spelling."
            if near is not None:
                row_id, column = people[near[0]]
                ((file, row),) = lines.loc[[row_id], ["file", "row"]].to_numpy(dtype=np.int64)
                step = (
                    f"A name much like it is in {file_names[file]}, row {row}, column {column}:"
                    " if it is the same person, copy it from there."
                )
            notices.append(_notice(request, "No record names this person.", step))
        elif request.what == "address" and spelt not in addresses and request.which not in in_list:
            what = "Neither a record nor the address list has this address."
            step = "Write house and street as map/addresses.csv or the members' files have them."
            notices.append(_notice(request, what, step))
        elif request.what == "row" and key_from_text(request.which) in missing:
            what = "No row has this key."
            step = "Copy the key from private/review/; a row whose cells have changed has another."
            notices.append(_notice(request, what, step))
    return notices


def _notice(request: Request, what: str, step: str) -> Problem:
    return Problem(
        "forget-line-without-effect",
        f"{what} So this line forgets nothing.",
        f"{step} If it was taken out of the files already, all is well.",
        file=FORGET_FILE,
        row=request.row,
    )


def _people(tables: Mapping[str, pd.DataFrame]) -> dict[str, tuple[int, str]]:
    """Return each name in plain form with the first row and column that have it."""
    found: dict[str, tuple[int, str]] = {}
    for table in tables.values():
        for column in PERSON_COLUMNS:
            if column in table:
                for row_id, cell in table[column].dropna().drop_duplicates().items():
                    for name in split_people(str(cell)):
                        found.setdefault(plain(name), (int(str(row_id)), column))
    return found


def _addresses(tables: Mapping[str, pd.DataFrame]) -> frozenset[str]:
    """Return each address that rows spell out, in plain form."""
    placed = [table for table in tables.values() if "street" in table]
    return frozenset(text for table in placed for whole in plain_addresses(table) for text in whole)
