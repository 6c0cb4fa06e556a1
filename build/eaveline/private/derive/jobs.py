"""What there is to do this month: checks due, callers, entrances, boxes left unchecked."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd

from eaveline.messages import gettext as _
from eaveline.private.derive.box_seasons import BoxHistory

COLUMNS = ("job", "box", "easting", "northing", "why")
CHECK_MONTHS = range(6, 9)
"""Boxes are looked at from outside from June to August (common practice, no source)."""
CALLER_ON, CALLER_OFF = (5, 1), (7, 31)
"""Calls from early May to the end of July (common practice, no source)."""
OPEN_MONTHS = (4, 5)
"""Entrances plugged against sparrows are opened when swifts return (common practice)."""
UNCHECKED_SEASONS = 2


def jobs(history: BoxHistory, *, today: dt.date) -> pd.DataFrame:
    """Return the jobs of the month that `today` is in, the most pressing kind first.

    Parameters
    ----------
    history
        See `box_seasons.box_history`.
    today
        The day the list is for.

    Returns
    -------
    pandas.DataFrame
        job, box, easting, northing, why; by job, then box.
    """
    units = history.units
    up = units["removed_on"].isna() | (units["removed_on"] > pd.Timestamp(today))
    fitted = units["fixed_on"].isna() | (units["fixed_on"] <= pd.Timestamp(today))
    latest = units.groupby("title")["standing"].transform("max") == units["standing"]
    standing = units[up & fitted & latest]
    parts = [
        _callers(standing, today),
        _entrances(standing, history, today),
        _checks(standing, history, today),
        _unchecked(standing, history, today),
    ]
    filled = [part for part in parts if len(part)]
    if not filled:
        return pd.DataFrame(columns=list(COLUMNS))
    return pd.concat(filled, ignore_index=True)


def _lines(units: pd.DataFrame, job: str, why: str) -> pd.DataFrame:
    return units.assign(job=job, why=why).sort_values("title")[list(COLUMNS)].reset_index(drop=True)


def _callers(units: pd.DataFrame, today: dt.date) -> pd.DataFrame:
    played = units[units["calls_from"].notna()]
    if today.month == CALLER_ON[0]:
        return _lines(played, _("Switch the caller on"), _("calls from early May, off at night"))
    if today.month == CALLER_OFF[0]:
        return _lines(played, _("Switch the caller off"), _("off by the end of July"))
    now = pd.Timestamp(today)
    this_year = played["calls_from"].dt.year == today.year
    noted_on = played["calls_to"] >= now
    no_end = played["calls_to"].isna() & this_year
    after = today.month > CALLER_OFF[0]
    left_on = played[(played["calls_from"] <= now) & (noted_on | no_end) & after]
    return _lines(
        left_on, _("Switch the caller off"), _("no end is noted, and the birds have gone")
    )


def _entrances(units: pd.DataFrame, history: BoxHistory, today: dt.date) -> pd.DataFrame:
    if today.month not in OPEN_MONTHS:
        return _lines(units.iloc[:0], "", "")
    taken = history.seasons[history.seasons["other"] != ""]["unit"].unique()
    return _lines(
        units[units.index.isin(taken)],
        _("Open the entrance, if it was plugged"),
        _("another species has used it, so it may have been plugged until the swifts return"),
    )


def _checks(units: pd.DataFrame, history: BoxHistory, today: dt.date) -> pd.DataFrame:
    if today.month not in CHECK_MONTHS:
        return _lines(units.iloc[:0], "", "")
    rows = history.seasons[(history.seasons["season"] == today.year) & history.seasons["looked"]]
    due = units[~units.index.isin(rows["unit"]) & (units["first_season"] <= today.year)]
    return _lines(
        due, _("Check"), _("not looked at this season; watch from the ground, do not open it")
    )


def _unchecked(units: pd.DataFrame, history: BoxHistory, today: dt.date) -> pd.DataFrame:
    """Return boxes that nobody has looked at in the last two whole seasons."""
    newest = today.year if today.month > max(CHECK_MONTHS) else today.year - 1
    recent = history.seasons[
        history.seasons["looked"] & (history.seasons["season"] > newest - UNCHECKED_SEASONS)
    ]
    old_enough = units["first_season"] <= newest - UNCHECKED_SEASONS + 1
    forgotten = units[old_enough & ~units.index.isin(recent["unit"])]
    last = (history.seasons[history.seasons["looked"]].groupby("unit")["season"].max()).reindex(
        forgotten.index
    )
    lines = _lines(forgotten, _("Plan a check: none for two seasons"), "")
    ordered = last.loc[forgotten.sort_values("title").index].to_numpy(dtype=np.float64)
    why = [
        _("never checked") if np.isnan(year) else _("last checked in %(year)s", year=f"{year:.0f}")
        for year in ordered
    ]
    return lines.assign(why=np.array(why, dtype=object))
