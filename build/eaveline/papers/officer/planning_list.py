"""Lists the planning applications: what is new, which comes first, what is to do next."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from eaveline.messages import gettext as _
from eaveline.papers.officer.sheet import anything_recorded
from eaveline.papers.pages import page
from eaveline.private.planning.news import SEEN_FILE, News, Seen, look
from eaveline.private.planning.screen import BAND_WORDS, Known, known_places, screen, urgency
from eaveline.private.planning.tally import reminders, tally
from eaveline.private.register import Register
from eaveline.public.maps.squares import region_polygon
from eaveline.public.records import PublicRelease
from eaveline.terms import term

Flags = npt.NDArray[np.bool_]

FOLDER = "officer"
_HEADER = (
    *("reference", "news", "site", "proposal", "received", "comments_due", "days_left"),
    *("nearest_nest_or_box_CONFIDENTIAL", "what_next"),
)


@dataclass(frozen=True, repr=False)
class PlanningList:
    """Applications screened and put in order.

    Attributes
    ----------
    ordered
        From `urgency`, with `touched` (the site touches a square of the release) and
        `recorded` (one of these has anything recorded).
    known, hits
        What they were screened against, and what was found.
    seen
        What is remembered, and so what is new.
    """

    ordered: pd.DataFrame
    known: Known
    hits: pd.DataFrame
    seen: Seen

    def __repr__(self) -> str:
        """Show the number of applications only."""
        return f"<PlanningList: {len(self.ordered)} applications>"


@dataclass(frozen=True)
class PlanningCounts:
    """What is said in the terminal: counts only."""

    applications: int = 0
    open: int = 0
    new: int = 0
    more_near: int = 0
    first: bool = False
    """Whether there was no list before, so that nothing can be new."""


def screen_list(
    applications: pd.DataFrame,
    register: Register,
    release: PublicRelease,
    *,
    earlier: Seen | None,
    today: dt.date,
) -> PlanningList:
    """Screen applications against the register, and put them in order.

    Parameters
    ----------
    applications
        From `merge_applications`.
    register
        What the group knows.
    release
        Which squares have anything recorded in public.
    earlier
        What was remembered the last time; None at the first.
    today
        Days left are counted from it.
    """
    known = known_places(register)
    hits = screen(applications, known)
    ordered = urgency(applications, hits, today=today)
    touched, recorded = _touching(ordered["shape"], release)
    return PlanningList(
        ordered.assign(touched=touched, recorded=recorded),
        known,
        hits,
        look(applications, hits, earlier=earlier),
    )


def _touching(shapes: pd.Series, release: PublicRelease) -> tuple[Flags, Flags]:
    """Return which sites touch a square of the release, and which one with anything recorded."""
    size_m = release.rule.cell_size_m
    tree = shapely.STRtree(
        [region_polygon(region.cells, cell_size_m=size_m) for region in release.regions]
    )
    told = np.array([anything_recorded(region, release) for region in release.regions], dtype=bool)
    sites, squares = tree.query(shapes.to_numpy(), predicate="intersects")
    touched, recorded = np.zeros((2, len(shapes)), dtype=bool)
    touched[sites] = True
    recorded[sites[told[squares]]] = True
    return touched, recorded


def planning_lists(
    screened: PlanningList,
    *,
    group: str,
    today: dt.date,
    has_papers: Callable[[str], bool] = lambda _: True,
) -> dict[str, bytes]:
    """Return the lists by their names below the private folder.

    Parameters
    ----------
    screened
        From `screen_list`.
    group
        Whose list it is.
    today
        For reminders.
    has_papers
        Whether the papers of a reference are written, if it is to have any.
    """
    ordered = screened.ordered
    news = screened.seen.news()
    rows = [_row(row, news, has_papers) for row in ordered.to_dict("records")]
    return {
        SEEN_FILE: screened.seen.to_json(),
        f"{FOLDER}/applications.csv": _csv(_HEADER, rows),
        f"{FOLDER}/applications.html": page(
            "planning-list.html",
            group=group,
            rows=rows,
            counts=planning_counts(screened),
        ),
        f"{FOLDER}/reminders.csv": _csv(("reference", "reminder"), reminders(ordered, today=today)),
        f"{FOLDER}/tally.csv": _csv(
            ("year", "applications", "asked", "granted", "drawn", "fitted", "photographed"),
            tally(ordered),
        ),
    }


def planning_counts(screened: PlanningList) -> PlanningCounts:
    """Return how many applications there are, are open, and are new."""
    news = list(screened.seen.news().values())
    return PlanningCounts(
        applications=len(screened.ordered),
        open=int((~screened.ordered["decided"]).sum()),
        new=news.count(News.NEW),
        more_near=news.count(News.MORE_NEAR),
        first=screened.seen.before is None,
    )


def _row(
    row: Mapping[Any, Any], news: Mapping[str, News], has_papers: Callable[[str], bool]
) -> tuple[object, ...]:
    band = row["nearest_band"]
    reference = str(row["reference"])
    told = news.get(reference)
    return (
        row["reference"],
        "" if told is None else term(told.value),
        row["address"] or "",
        row["proposal"] or row["work"] or "",
        _iso(row["received"]),
        _iso(row["comments_due"]),
        "" if pd.isna(row["days_left"]) else int(row["days_left"]),
        term(BAND_WORDS[band]) if band < len(BAND_WORDS) else _("none"),
        _advice(row, written=row["recorded"] and has_papers(reference)),
    )


def _advice(row: Mapping[Any, Any], *, written: bool) -> str:
    if row["decided"]:
        return _("decided")
    if written:
        return _("papers written: check, sign, send")
    if row["recorded"]:
        return _("the next build writes its papers")
    if row["touched"]:
        return _("nothing published for its squares: watch there first")
    return _("outside the map's squares")


def _csv(header: tuple[str, ...], rows: Iterable[Sequence[object]]) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows(rows)
    return out.getvalue().encode("utf-8-sig")


def _iso(value: Any) -> str:
    return "" if pd.isna(value) else value.date().isoformat()
