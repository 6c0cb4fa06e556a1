"""Writes both papers for every open application, and the list that says which comes first."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Iterable, Sequence
from typing import Any

import pandas as pd

from eaveline.papers.officer.annex import confidential_annex
from eaveline.papers.officer.effort import FindStreet, WatchFinder
from eaveline.papers.officer.sheet import (
    Application,
    anything_recorded,
    publishable_sheet,
    touched_regions,
)
from eaveline.papers.officer.typeset import to_html, to_pdf
from eaveline.private.planning.screen import BAND_WORDS, known_places, screen, urgency
from eaveline.private.planning.tally import reminders, tally
from eaveline.private.register import Register
from eaveline.public.basemap import BaseMap
from eaveline.public.records import PublicRelease
from eaveline.public.town import PublicTown

FOLDER = "officer"


def officer_papers(
    applications: pd.DataFrame,
    register: Register,
    release: PublicRelease,
    *,
    basemap: BaseMap,
    town: PublicTown,
    find_street: FindStreet,
    today: dt.date,
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
    """
    if applications.empty:
        return {}
    known = known_places(register)
    hits = screen(applications, known)
    ordered = urgency(applications, hits, today=today)
    watches = WatchFinder(register, basemap, find_street)
    by_application = {str(row_id): own for row_id, own in hits.groupby("application")}
    papers: dict[str, bytes] = {}
    folders = folder_names(ordered["reference"])
    told = []
    for row_id, row in ordered.iterrows():
        shape = row["shape"]
        touching = () if shape is None else touched_regions(shape, release)
        recorded = any(anything_recorded(region, release) for region in touching)
        told.append(_advice(touched=bool(touching), recorded=recorded, decided=row["decided"]))
        if row["decided"] or not recorded:
            continue
        application = application_of(row)
        sheet = publishable_sheet(application, release, basemap, town)
        annex = confidential_annex(
            application,
            known,
            by_application.get(str(row_id), hits.head(0)),
            watches.near(shape),
            release=release,
            basemap=basemap,
            town=town,
        )
        folder = f"{FOLDER}/{folders[row['reference']]}"
        papers[f"{folder}/publishable.pdf"] = to_pdf(sheet)
        papers[f"{folder}/publishable.html"] = to_html(sheet)
        papers[f"{folder}/confidential-annex.pdf"] = to_pdf(annex)
        papers[f"{folder}/confidential-annex.html"] = to_html(annex)
    papers[f"{FOLDER}/applications.csv"] = _list(ordered, told)
    papers[f"{FOLDER}/reminders.csv"] = _csv(
        ("reference", "reminder"), reminders(applications, today=today)
    )
    papers[f"{FOLDER}/tally.csv"] = _csv(
        ("year", "applications", "asked", "granted", "drawn", "fitted", "photographed"),
        tally(applications),
    )
    return papers


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


def _advice(*, touched: bool, recorded: bool, decided: bool) -> str:
    if decided:
        return "decided"
    if recorded:
        return "papers written: check, sign, send"
    if touched:
        return "nothing published for its squares: watch there first"
    return "outside the map's squares"


def _list(ordered: pd.DataFrame, told: list[str]) -> bytes:
    header = ("reference", "site", "proposal", "received", "comments_due", "days_left")
    rows = [
        (
            row["reference"],
            row["address"] or "",
            row["proposal"] or row["work"] or "",
            _iso(row["received"]),
            _iso(row["comments_due"]),
            "" if pd.isna(row["days_left"]) else int(row["days_left"]),
            BAND_WORDS[row["nearest_band"]] if row["nearest_band"] < len(BAND_WORDS) else "none",
            advice,
        )
        for (_, row), advice in zip(ordered.iterrows(), told, strict=True)
    ]
    return _csv((*header, "nearest_nest_or_box_CONFIDENTIAL", "what_next"), rows)


def _csv(header: tuple[str, ...], rows: Iterable[Sequence[object]]) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows(rows)
    return out.getvalue().encode("utf-8-sig")


def _text(value: object) -> str | None:
    return " ".join(value.split()) if isinstance(value, str) and value.strip() else None


def _day(value: Any) -> dt.date | None:
    return None if pd.isna(value) else value.date()


def _iso(value: Any) -> str:
    return "" if pd.isna(value) else value.date().isoformat()
