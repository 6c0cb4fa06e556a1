"""What the command says in the terminal: progress, then a summary a volunteer understands."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace

from rich.console import Console
from rich.table import Table
from rich.text import Text

from eaveline.audit.findings import AuditResult, audit_problems
from eaveline.errors import Problem, SiteRefusedError
from eaveline.papers.check_report import Cause, check_json, check_report
from eaveline.papers.officer.planning_list import PlanningCounts
from eaveline.pipeline import Outcome
from eaveline.private.intake.ledger import Ledger, RowState
from eaveline.private.intake.take_in import Intake
from eaveline.private.planning.news import News

_MOST_CAUSES = 8
_MOST_NOTICES = 6
_MINOR = frozenset({"column-unknown", "column-twice", "premises-counted", "form-lines-unfilled"})
"""Notes that may wait for the report: nothing that was meant to count is left out for them."""


@contextmanager
def progress() -> Iterator[Callable[[str], None]]:
    """Give a function that shows what is being done now; on a plain pipe it says nothing."""
    console = Console(stderr=True)
    with console.status("Starting") as status:
        yield lambda doing: status.update(Text(doing))


def show_summary(outcome: Outcome) -> None:
    """Say what came in, what became of it, and where to look next."""
    summary = outcome.summary
    console = Console(highlight=False, markup=False)
    console.print(_states(summary.states, summary.rows_read))
    console.print(
        f"Register: {_many(summary.nest_sites, 'nest site')}, {_many(summary.boxes, 'box')}. "
        f"Site: {summary.streets} street pages, {summary.regions} squares or groups of squares, "
        f"{outcome.files_changed} files new or changed.",
        soft_wrap=True,
    )
    held = summary.states[RowState.HELD]
    if held:
        console.print(f"\n{held} rows are held back. The most frequent reasons:")
        console.print(_causes(summary.causes))
        console.print(
            "Mend them in a copy of private/review/rows-to-fix.csv and save it into"
            " survey_data/corrections/.",
            soft_wrap=True,
        )
    if summary.notices:
        weighty = [each for each in summary.notices if each.code not in _MINOR][:_MOST_NOTICES]
        for notice in weighty:
            console.print(f"\n{notice}", markup=False, soft_wrap=True)
        if rest := len(summary.notices) - len(weighty):
            more = "more " if weighty else ""
            said = (
                f"One {more}note about a file is"
                if rest == 1
                else f"{rest} {more}notes about files are"
            )
            console.print(f"\n{said} in the report.")
    for name in summary.kept:
        console.print(f"A paper you had changed was kept as private/{name}.", soft_wrap=True)
    if summary.waiting:
        places = "One place" if summary.waiting == 1 else f"{summary.waiting} places"
        wait = "waits" if summary.waiting == 1 else "wait"
        console.print(
            f"{places} with consent {wait}: too few other premises stay in the square.",
            soft_wrap=True,
        )
    if outcome.planning is not None:
        news = list(outcome.planning.news().values())
        console.print(
            _planning_line(
                len(outcome.planning.now),
                new=None if outcome.planning.before is None else news.count(News.NEW),
                more_near=news.count(News.MORE_NEAR),
            ),
            soft_wrap=True,
        )
    console.print(
        "\nLook next:\n"
        "  site/index.html                   the site, ready to upload\n"
        "  private/index.html                your own papers, and what each is for\n"
        "  private/review/build-report.html  what happened to every row",
    )


def _many(number: int, what: str) -> str:
    many = f"{what}es" if what.endswith("x") else f"{what}s"
    return f"{number:,} {what if number == 1 else many}"


def show_planning(counts: PlanningCounts) -> None:
    """Say what is new among the planning applications, and where the list is."""
    console = Console(highlight=False, markup=False)
    if not counts.applications:
        console.print("There are no planning applications in survey_data/planning/.")
        return
    new = None if counts.first else counts.new
    console.print(
        _planning_line(counts.applications, new=new, more_near=counts.more_near), soft_wrap=True
    )
    console.print(
        f"{counts.open} undecided. The list, the most urgent first: "
        "private/officer/applications.html\n"
        "Papers for officers are written by the next build.",
        soft_wrap=True,
    )


def _planning_line(applications: int, *, new: int | None, more_near: int) -> str:
    many = "1 application" if applications == 1 else f"{applications:,} applications"
    if new is None:
        return f"Planning: {many}; the next list is compared with this one."
    return (
        f"Planning: {many}; {new} new since the list before, {more_near} with more recorded near."
    )


def _states(states: dict[RowState, int], rows_read: int) -> Table:
    table = Table(title=None, show_edge=False, pad_edge=False)
    table.add_column("Rows read")
    table.add_column(f"{rows_read:,}", justify="right")
    for state, number in states.items():
        table.add_row(state.value, f"{number:,}")
    return table


def _causes(causes: Iterable[tuple[str, str, int]]) -> Table:
    """Return the most frequent reasons, whatever files they are in."""
    rows: Counter[str] = Counter()
    files: Counter[str] = Counter()
    for _, reason, number in causes:
        rows[reason] += number
        files[reason] += 1
    table = Table(show_edge=False, pad_edge=False)
    table.add_column("Rows", justify="right")
    table.add_column("Reason")
    table.add_column("Files", justify="right")
    for reason, number in rows.most_common(_MOST_CAUSES):
        table.add_row(str(number), reason, str(files[reason]))
    return table


def show_check(intake: Intake, notices: Iterable[Problem]) -> None:
    """List what is wrong in the records by file and cause, the most useful to mend first."""
    console = Console(highlight=False, markup=False)
    ledger: Ledger = intake.ledger
    console.print(_states(ledger.counts(), len(ledger.rows)))
    for report in check_report(intake):
        held = f"{report.held} of {report.rows} rows held" if report.rows else "no row used"
        console.print(f"\n{report.file or 'All files'}: {held}", soft_wrap=True)
        for cause in report.causes:
            console.print(f"  {_cause_line(cause)}", soft_wrap=True)
        for notice in report.notices:
            console.print(f"  {_notice_line(notice)}", soft_wrap=True)
    for notice in notices:
        console.print(str(notice), soft_wrap=True)
    if not ledger.counts()[RowState.HELD]:
        console.print("Every row can be used.")


def _cause_line(cause: Cause) -> str:
    rows = ", ".join(str(row) for row in cause.first_rows)
    more = " ..." if cause.rows > len(cause.first_rows) else ""
    columns = f" in {', '.join(cause.columns)}" if cause.columns else ""
    number = "1 row" if cause.rows == 1 else f"{cause.rows} rows"
    return f"{number} ({rows}{more}){columns}: {cause.what} {cause.next_step} [{cause.code}]"


def _notice_line(notice: Problem) -> str:
    """Return a notice without its file, which stands above it."""
    return str(replace(notice, file=None))


def print_check_json(intake: Intake, notices: Iterable[Problem]) -> None:
    """Print what is wrong in the records as JSON."""
    print(json.dumps(check_json(intake, notices=notices), indent=2))  # noqa: T201 - for a pipe


def show_audit(result: AuditResult) -> None:
    """Say what the audit found, or that it found nothing."""
    if not result.passed:
        raise SiteRefusedError(audit_problems(result))
    Console(highlight=False, markup=False).print(
        f"The audit read {result.files_read} files and found nothing that must not be published."
    )
