"""Writes both papers for every open application, and the list that says which comes first."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from typing import Any

import pandas as pd

from eaveline.papers.officer.annex import confidential_annex
from eaveline.papers.officer.document import Document
from eaveline.papers.officer.effort import FindStreet, WatchFinder
from eaveline.papers.officer.planning_list import FOLDER, planning_lists, screen_list
from eaveline.papers.officer.sheet import (
    Application,
    publishable_sheet,
)
from eaveline.papers.officer.typeset import to_html, to_pdf
from eaveline.private.planning.news import Seen
from eaveline.private.register import Register
from eaveline.public.maps.basemap import BaseMap
from eaveline.public.records import PublicRelease
from eaveline.public.town import PublicTown

Printer = Callable[[str, Document], bytes]
"""Given a paper's name below the private folder, and the paper."""


def _print(_: str, document: Document) -> bytes:
    return to_pdf(document)


def officer_papers(
    applications: pd.DataFrame,
    register: Register,
    release: PublicRelease,
    *,
    basemap: BaseMap,
    town: PublicTown,
    find_street: FindStreet,
    today: dt.date,
    earlier: Seen | None = None,
    printer: Printer = _print,
) -> dict[str, bytes]:
    """Return the papers by their names below the private folder.

    Two papers are written for every undecided application that touches a square with
    anything in the release. A square's public figures decide, never the register, so that a
    comment does not itself tell where a nest is.

    Parameters
    ----------
    applications
        From `merge_applications`.
    register
        Gives the annexes' places.
    release
        Gives the publishable sheets, and decides which applications get any.
    basemap, town
        The public map and the town's public face.
    find_street
        Finds the street a watch names.
    today
        For days left and reminders only; no PDF holds it.
    earlier
        What was remembered of the applications the last time; None at the first.
    printer
        Prints a paper; see `printed.PrintedBefore.pdf`.
    """
    if applications.empty:
        return {}
    screened = screen_list(applications, register, release, earlier=earlier, today=today)
    hits = screened.hits
    watches = WatchFinder(register, basemap, find_street)
    by_application = {str(row_id): own for row_id, own in hits.groupby("application")}
    papers = planning_lists(screened, group=town.group, today=today)
    folders = folder_names(applications["reference"])
    open_ones = screened.ordered[~screened.ordered["decided"] & screened.ordered["recorded"]]
    for row_id, row in open_ones.iterrows():
        application = application_of(row)
        sheet = publishable_sheet(application, release, basemap, town)
        annex = confidential_annex(
            application,
            screened.known,
            by_application.get(str(row_id), hits.head(0)),
            watches.near(row["shape"]),
            release=release,
            basemap=basemap,
            town=town,
        )
        folder = f"{FOLDER}/{folders[row['reference']]}"
        for name, paper in (("publishable.pdf", sheet), ("confidential-annex.pdf", annex)):
            papers[f"{folder}/{name}"] = printer(f"{folder}/{name}", paper)
        papers[f"{folder}/publishable.html"] = to_html(sheet)
        papers[f"{folder}/confidential-annex.html"] = to_html(annex)
    return papers


def about_no_application(applications: pd.DataFrame) -> Callable[[str], bool]:
    """Return what tells whether a paper is about an application that is no longer listed.

    A decided one is still listed: its papers are what the group sent, and stay.
    """
    listed = set(folder_names(applications["reference"]).values())

    def gone(name: str) -> bool:
        folder, *below = name.split("/")
        return folder == FOLDER and len(below) > 1 and below[0] not in listed

    return gone


def application_of(row: pd.Series) -> Application:
    """Return what the council publishes of an application."""
    return Application(
        reference=str(row["reference"]),
        address=_text(row["address"]),
        proposal=_text(row["proposal"]),
        work=_text(row["work"]),
        dwellings=None if pd.isna(row["dwellings"]) else int(row["dwellings"]),
        received=_day(row["received"]),
        comments_due=_day(row["comments_due"]),
        shape=row["shape"],
    )


def folder_names(references: pd.Series) -> dict[str, str]:
    """Return a folder's name for each reference: 26/00101/FUL is 26-00101-FUL.

    Where two come to the same, the later one in order of the alphabet gets a number.
    """
    names: dict[str, str] = {}
    taken: set[str] = set()
    for reference in sorted({str(text) for text in references}):
        base = re.sub(r"[^A-Za-z0-9]+", "-", reference).strip("-")[:60] or "application"
        name, number = base, 1
        while name.casefold() in taken:
            number += 1
            name = f"{base}-{number}"
        taken.add(name.casefold())
        names[reference] = name
    return names


def _text(value: object) -> str | None:
    return " ".join(value.split()) if isinstance(value, str) and value.strip() else None


def _day(value: Any) -> dt.date | None:
    return None if pd.isna(value) else value.date()
