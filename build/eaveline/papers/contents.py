"""The first page of the group's own papers: each one, and what it is for."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass

from eaveline.messages import day
from eaveline.messages import gettext as _
from eaveline.papers.pages import page
from eaveline.papers.report import Summary
from eaveline.private.intake.ledger import RowState

CONTENTS_FILE = "index.html"


@dataclass(frozen=True)
class Entry:
    """A paper, with the sentence that says what it is for and its copies in other formats."""

    file: str
    title: str
    purpose: str
    copies: tuple[str, ...] = ()


@dataclass(frozen=True)
class Shelf:
    """Papers for one kind of work."""

    heading: str
    entries: tuple[Entry, ...]


def contents_page(
    papers: Collection[str], summary: Summary, *, group: str, made_on: dt.date
) -> bytes:
    """Return index.html of the private folder.

    Parameters
    ----------
    papers
        Names of all papers below the private folder.
    summary
        What the build came to.
    group
        The group's name.
    made_on
        The day of the newest record.
    """
    return page(
        "contents.html",
        shelves=shelves(papers),
        held=summary.states[RowState.HELD],
        notices=len(summary.notices),
        group=group,
        made_on=day(made_on),
    )


def shelves(papers: Collection[str]) -> tuple[Shelf, ...]:
    """Return the shelves, with those papers that there are."""
    found = []
    for shelf in _all_shelves():
        entries = tuple(
            Entry(
                entry.file,
                entry.title,
                entry.purpose,
                tuple(name for name in entry.copies if name in papers),
            )
            for entry in shelf.entries
            if entry.file in papers
        )
        if entries:
            found.append(Shelf(shelf.heading, entries))
    return tuple(found)


def _all_shelves() -> tuple[Shelf, ...]:
    return (
        Shelf(
            _("To mend and to decide"),
            (
                Entry(
                    "review/build-report.html",
                    _("Build report"),
                    _("What became of every row, and what is wrong with whole files."),
                ),
                Entry(
                    "review/rows-to-fix.csv",
                    _("Rows to fix"),
                    _("Mend them in a spreadsheet and save it into survey_data/corrections/."),
                ),
                Entry(
                    "review/worth-a-look.csv",
                    _("Pairs that could be one"),
                    _("Write same or different, and save the line into survey_data/decisions/."),
                ),
                Entry(
                    "review/merged.csv",
                    _("Rows that were merged"),
                    _("Which went together, and how far apart they were."),
                ),
                Entry(
                    "review/repairs.csv",
                    _("Cells that were repaired"),
                    _("What was written, and what it was taken to mean."),
                ),
                Entry(
                    "review/changed-rows.csv",
                    _("Rows sent again with changes"),
                    _("Two files give one row in two ways: decide which of them stands."),
                ),
            ),
        ),
        Shelf(
            _("Out and about"),
            (
                Entry(
                    "doorstep-list.html",
                    _("Doors to knock on"),
                    _("Where the next free boxes stand the best chance, with the reason for each."),
                    ("doorstep-list.csv",),
                ),
                Entry(
                    "watch-first.csv",
                    _("Streets to watch first"),
                    _("Where an evening or two would tell most."),
                    ("watch-rota.csv",),
                ),
                Entry(
                    "field-sheets/watch-form.pdf",
                    _("Watch form"),
                    _("To print for an evening outside, and its table to type into."),
                    ("field-sheets/watch-form.csv", "field-sheets/watch-form-seen.csv"),
                ),
                Entry(
                    "field-sheets/street-list.pdf",
                    _("List of streets"),
                    _("To print and share out among watchers."),
                    ("field-sheets/street-list.csv",),
                ),
                Entry(
                    "figures/jobs-this-month.csv",
                    _("Jobs for this month"),
                    _("Boxes to check, callers to switch on or off, entrances to open."),
                ),
            ),
        ),
        Shelf(
            _("For planning officers"),
            (
                Entry(
                    "officer/applications.html",
                    _("Planning applications"),
                    _("The most urgent first, with the papers to check and sign for each."),
                    ("officer/applications.csv",),
                ),
                Entry(
                    "officer/reminders.csv",
                    _("Reminders"),
                    _("What was asked for and granted, and is still to be seen on a wall."),
                ),
                Entry(
                    "officer/tally.csv",
                    _("Asked, granted, built"),
                    _("What came of the group's requests, year by year."),
                ),
            ),
        ),
        Shelf(
            _("What the records say"),
            (
                Entry(
                    "private-figures.html",
                    _("Figures with exact places"),
                    _("Evidence, watching, arrivals, boxes and costs; every table is in figures/."),
                ),
                Entry(
                    "register.gpkg",
                    _("Exact map"),
                    _("Nest sites, boxes, sightings and watches, for a mapping program."),
                ),
                Entry(
                    "annual-report.pdf",
                    _("Report of the year"),
                    _("For residents, funders and the council; it holds public figures only."),
                    ("annual-report.html",),
                ),
                Entry(
                    "records-centre.csv",
                    _("Export for the records centre"),
                    _("Exact places in standard terms, for the body named in town.toml alone."),
                ),
            ),
        ),
    )
