"""The build report: what was read, what became of it, and where to look next."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

import pandas as pd

from eaveline.errors import Problem
from eaveline.messages import day
from eaveline.papers.pages import page
from eaveline.papers.review import PROBLEM_TEXTS, in_words
from eaveline.private.intake.ledger import Ledger, RowState
from eaveline.private.intake.take_in import Intake
from eaveline.public.records import PublicRelease
from eaveline.terms import term


@dataclass(frozen=True)
class Summary:
    """What a volunteer wants to know when the build is done: counts only."""

    rows_read: int
    states: dict[RowState, int]
    files: int
    """Files that have rows; an empty form has none."""
    causes: tuple[tuple[str, str, int], ...]
    """File, reason and number of held rows, most first."""
    notices: tuple[Problem, ...]
    nest_sites: int
    boxes: int
    streets: int
    regions: int
    waiting: int
    """Consented places that wait because their region would be left with too few premises."""
    kept: tuple[str, ...] = ()
    """Papers somebody had edited, set aside under these names."""


def summarise(
    intake: Intake,
    ledger: Ledger,
    release: PublicRelease,
    *,
    nest_sites: int,
    boxes: int,
    streets: int,
    waiting: int,
    notices: Iterable[Problem] = (),
) -> Summary:
    """Return the summary of a build."""
    states = ledger.counts()
    return Summary(
        rows_read=len(ledger.rows),
        states=states,
        files=len({raw.name.partition(" [")[0] for raw in intake.files if len(raw)}),
        causes=held_causes(intake, ledger),
        notices=(*intake.notices, *notices),
        nest_sites=nest_sites,
        boxes=boxes,
        streets=streets,
        regions=len(release.regions),
        waiting=waiting,
    )


def held_causes(intake: Intake, ledger: Ledger) -> tuple[tuple[str, str, int], ...]:
    """Return file, reason and number of rows held for it, most first."""
    held = ledger.rows[ledger.rows["state"] == RowState.HELD.value]
    faults = intake.faults[intake.faults["row_id"].isin(held.index)].drop_duplicates(
        ["row_id", "code"]
    )
    if not len(faults):
        return ()
    files = pd.Series([raw.name for raw in intake.files], dtype=object)
    table = pd.DataFrame(
        {
            "file": held.loc[faults["row_id"], "file"].map(files).to_numpy(),
            "code": faults["code"].to_numpy(),
        }
    )
    counts = (
        table.value_counts()
        .reset_index(name="rows")
        .sort_values(["rows", "file", "code"], ascending=[False, True, True])
    )
    return tuple(
        (str(file), PROBLEM_TEXTS[str(code)][0], int(number))
        for file, code, number in zip(counts["file"], counts["code"], counts["rows"], strict=True)
    )


def report_html(summary: Summary, *, town: str, group: str, made_on: dt.date) -> bytes:
    """Return build-report.html."""
    return page(
        "build-report.html",
        summary=summary,
        town=town,
        group=group,
        made_on=day(made_on),
        causes=[(file, in_words(reason), rows) for file, reason, rows in summary.causes],
        states=[(term(state.value), summary.states[state]) for state in RowState],
    )
