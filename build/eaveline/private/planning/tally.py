"""What became of applications: boxes asked for, granted, drawn, fitted, and what to chase."""

from __future__ import annotations

import datetime as dt
from collections.abc import Hashable, Mapping
from typing import Any

import pandas as pd

from eaveline.messages import gettext as _

STEPS = ("boxes_asked", "boxes_granted", "boxes_drawn", "boxes_fitted")
LOOK_AFTER_DAYS = 365
"""A year after consent, somebody looks whether building has begun (common practice)."""


def tally(applications: pd.DataFrame) -> list[tuple[object, ...]]:
    """Return a row for each year of receipt, the oldest first; those without a date last.

    A row holds the year, applications, boxes asked for, granted, drawn and fitted, and
    applications with a photograph.
    """
    years = applications["received"].dt.year
    rows: list[tuple[object, ...]] = []
    undated = _("no date")
    for year, group in applications.groupby(years.fillna(0).astype(int)):
        sums = [int(group[step].fillna(0).sum()) for step in STEPS]
        rows.append((year or undated, len(group), *sums, int(group["photographed"].sum())))
    return rows[1:] + rows[:1] if rows and rows[0][0] == undated else rows


def reminders(applications: pd.DataFrame, *, today: dt.date) -> list[tuple[object, ...]]:
    """Return reference and what to do next, for every application that waits for somebody.

    Parameters
    ----------
    applications
        From `merge_applications`.
    today
        Dates are compared with it.
    """
    now = pd.Timestamp(today)
    return [
        (row["reference"], reminder)
        for row in applications.sort_values("reference").to_dict("records")
        if (reminder := _reminder(row, now))
    ]


def _reminder(row: Mapping[Hashable, Any], now: pd.Timestamp) -> str:
    """Return what to do next, or nothing."""
    if pd.isna(row["outcome"]):
        return _("Comments are over: look up the decision.") if row["comments_due"] < now else ""
    if "refus" in str(row["outcome"]).casefold():
        return ""
    asked, granted, drawn, fitted = (row[step] for step in STEPS)
    # Comparing with an unknown number is false, so each line holds only where all are known.
    questions = (
        (asked > 0 and pd.isna(granted), _("Decided: count the boxes in the conditions.")),
        (granted > 0 and pd.isna(drawn), _("Boxes granted: look for them on the drawings.")),
        (granted > 0 and drawn < granted, _("The drawings show fewer boxes than were granted.")),
        (
            granted > 0 and pd.isna(fitted) and _long_ago(row["decided_on"], now),
            _("Consent is a year old: has building begun?"),
        ),
        (fitted > 0 and not row["photographed"], _("Boxes fitted: take a photograph.")),
        (fitted < granted, _("Fewer boxes fitted than granted: tell the council.")),
    )
    return next((words for applies, words in questions if applies), "")


def _long_ago(day: Any, now: pd.Timestamp) -> bool:
    return bool(pd.isna(day) or (now - day).days > LOOK_AFTER_DAYS)
