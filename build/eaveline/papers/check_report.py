"""What `check` reports: the faults of every file by cause, the most useful to mend first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from eaveline.errors import Problem
from eaveline.papers.review import PROBLEM_TEXTS
from eaveline.private.intake.ledger import RowState
from eaveline.private.intake.take_in import Intake

CHECK_FORMAT = "eaveline-check/1"
MOST_ROWS_NAMED = 10


@dataclass(frozen=True, slots=True)
class Cause:
    """One cause for which rows of one file are held.

    Attributes
    ----------
    code, what, next_step
        As in the catalogues of problems; no private value.
    columns
        Where it was found.
    rows
        How many rows are held for it.
    freed
        How many of them are held for nothing else: mending this cause frees them.
    first_rows
        The first of them, as a spreadsheet numbers rows.
    """

    code: str
    what: str
    next_step: str
    columns: tuple[str, ...]
    rows: int
    freed: int
    first_rows: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class FileReport:
    """One file: how many rows it has and how many are held, and why."""

    file: str
    rows: int
    held: int
    causes: tuple[Cause, ...]
    notices: tuple[Problem, ...]


def check_report(intake: Intake) -> tuple[FileReport, ...]:
    """Return a report of every file with something to mend.

    Files nobody can use come first, then those with most rows held; within a file the cause
    whose mending frees most rows.
    """
    lines = intake.ledger.rows
    held = lines[lines["state"] == RowState.HELD.value]
    faults = intake.faults[intake.faults["row_id"].isin(held.index)]
    names = np.array([raw.name for raw in intake.files], dtype=object)
    each = pd.DataFrame(
        {
            "row_id": faults["row_id"].to_numpy(),
            "file": names[held.loc[faults["row_id"], "file"].to_numpy(dtype=np.int64)],
            "row": held.loc[faults["row_id"], "row"].to_numpy(),
            "code": faults["code"].to_numpy(),
            "column": faults["column"].to_numpy(),
        }
    )
    each["alone"] = each.groupby("row_id")["code"].transform("nunique") == 1
    causes: dict[str, list[Cause]] = {}
    for (file, code), group in each.groupby(["file", "code"], sort=True):
        causes.setdefault(str(file), []).append(_cause(str(code), group))
    notices: dict[str, list[Problem]] = {}
    for notice in intake.notices:
        notices.setdefault(notice.file or "", []).append(notice)
    read, kept_back = (
        pd.Series(names[part["file"].to_numpy(dtype=np.int64)]).value_counts()
        for part in (lines, held)
    )
    reports = [
        FileReport(
            file,
            int(read.get(file, 0)),
            int(kept_back.get(file, 0)),
            tuple(sorted(causes.get(file, ()), key=_usefulness)),
            tuple(notices.get(file, ())),
        )
        for file in {*causes, *notices}
    ]
    return tuple(
        sorted(reports, key=lambda each: (each.rows > 0, -each.held, not each.causes, each.file))
    )


def _usefulness(cause: Cause) -> tuple[int, int, str]:
    return -cause.freed, -cause.rows, cause.code


def _cause(code: str, group: pd.DataFrame) -> Cause:
    what, next_step = PROBLEM_TEXTS[code]
    first = group.drop_duplicates("row_id").sort_values("row")
    return Cause(
        code,
        what,
        next_step,
        tuple(sorted({str(column) for column in group["column"] if column})),
        len(first),
        int(first["alone"].sum()),
        tuple(first["row"].tolist()[:MOST_ROWS_NAMED]),
    )


def check_json(intake: Intake, *, notices: Iterable[Problem] = ()) -> dict[str, Any]:
    """Return the report for machines; `notices` are those of the map folder."""
    counts = intake.ledger.counts()
    return {
        "format": CHECK_FORMAT,
        "rows_read": sum(counts.values()),
        "states": {state.value: number for state, number in counts.items()},
        "files": [
            {
                "file": report.file,
                "rows": report.rows,
                "held": report.held,
                "causes": [
                    {
                        "code": cause.code,
                        "what": cause.what,
                        "next_step": cause.next_step,
                        "columns": list(cause.columns),
                        "rows": cause.rows,
                        "freed": cause.freed,
                        "first_rows": list(cause.first_rows),
                    }
                    for cause in report.causes
                ],
                "notices": [_notice(notice) for notice in report.notices],
            }
            for report in check_report(intake)
        ],
        "map_notices": [_notice(notice) for notice in notices],
    }


def _notice(notice: Problem) -> dict[str, Any]:
    return {
        "code": notice.code,
        "what": notice.what,
        "next_step": notice.next_step,
        "row": notice.row,
        "column": notice.column,
    }
