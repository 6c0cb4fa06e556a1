"""What became of each box, season by season, from the first it could be used in."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.estimation.survival import CENSORED, COMPETING, EVENT

LATEST_FITTING = (6, 1)
"""A box fitted after 1 June has its first season the year after (common practice, no source)."""
_OTHERS = frozenset({"house sparrow", "starling", "tit", "house martin", "other"})


@dataclass(frozen=True, repr=False)
class BoxHistory:
    """Boxes and their seasons.

    Attributes
    ----------
    units
        One row for each box at each place it stood (the index of the merged boxes): all their
        columns, and first_season, last_season (the last it stood for), cluster (its building, or
        a number of its own below -1), neighbours (boxes on the same building, itself among them).
    seasons
        One row for each unit and season it stood: unit, season, age (1 in its first),
        looked, used (by swifts), other (a species other than swifts, or empty), fledged
        (NaN where nobody said).
    """

    units: pd.DataFrame
    seasons: pd.DataFrame

    def __repr__(self) -> str:
        """Show a count only."""
        return f"<BoxHistory of {len(self.units)} boxes>"


def box_history(
    boxes: pd.DataFrame, checks: pd.DataFrame, visits: pd.DataFrame, *, newest: int
) -> BoxHistory:
    """Return the history of every box.

    Parameters
    ----------
    boxes, checks
        Merged; see `private.merge.boxes`.
    visits
        title and season of boxes that swifts were seen going into.
    newest
        The last season there are records of.

    Notes
    -----
    A use before the first season counts (somebody saw it), and moves the first season. A
    check that says 'not checked' is no look.
    """
    # A table without rows may have lost the type of its titles.
    boxes = boxes.astype({"title": object})
    by_season = _found(checks, visits).astype({"title": object})
    units = _units(boxes, by_season, newest=newest)
    spans = (units["last_season"] - units["first_season"] + 1).clip(lower=0).to_numpy()
    unit = np.repeat(units.index.to_numpy(), spans)
    age = np.concatenate([np.arange(1, span + 1) for span in spans] or [np.empty(0)]).astype(
        np.int64
    )
    seasons = pd.DataFrame(
        {
            "unit": unit,
            "title": units["title"].to_numpy()[np.repeat(np.arange(len(units)), spans)],
            "season": age - 1 + np.repeat(units["first_season"].to_numpy(), spans),
            "age": age,
        }
    ).merge(by_season, on=["title", "season"], how="left")
    return BoxHistory(
        units,
        seasons.assign(
            looked=seasons["looked"].fillna(value=False).astype(bool),
            used=seasons["used"].fillna(value=False).astype(bool),
            other=seasons["other"].fillna(""),
        ).drop(columns="title"),
    )


def _found(checks: pd.DataFrame, visits: pd.DataFrame) -> pd.DataFrame:
    """Return looked, used, other and fledged for each title and season with anything."""
    going_in = pd.DataFrame(
        {"title": visits["title"], "season": visits["season"], "cavity": "", "seen": "swift"}
    )
    columns = ["title", "cavity", "season", "date", "seen", "fledged"]
    parts = [part for part in (checks[columns], going_in) if len(part)] or [checks[columns]]
    rows: pd.DataFrame = pd.concat(parts, ignore_index=True).reindex(columns=columns)
    rows = rows.assign(
        season=rows["season"].astype(np.int64),
        date=pd.to_datetime(rows["date"]),
        fledged=rows["fledged"].astype(np.float64),
        looked=(rows["seen"] != "not checked").to_numpy(dtype=bool),
        used=(rows["seen"] == "swift").to_numpy(dtype=bool),
        other=rows["seen"].where(rows["seen"].isin(_OTHERS)).astype(object),
    )
    grouped = rows.groupby(["title", "season"])
    table = grouped[["looked", "used"]].any()
    last_other = (
        rows[rows["other"].notna()]
        .sort_values(["title", "season", "date", "other"])
        .drop_duplicates(["title", "season"], keep="last")
        .set_index(["title", "season"])["other"]
    )
    # The most of each cavity's visits, then added up over the cavities.
    fledged = (
        rows.groupby(["title", "season", "cavity"])["fledged"]
        .max()
        .groupby(["title", "season"])
        .sum(min_count=1)
    )
    return table.assign(
        other=last_other.reindex(table.index), fledged=fledged.reindex(table.index)
    ).reset_index()


def fitted_season(fixed_on: pd.Series[pd.Timestamp]) -> pd.Series[float]:
    """Return the first season that a box fitted on a date could be used in; NaN without a date."""
    month, day = LATEST_FITTING
    late = (fixed_on.dt.month > month) | ((fixed_on.dt.month == month) & (fixed_on.dt.day > day))
    return (fixed_on.dt.year + late).astype(np.float64)


def stood_then(looks: pd.DataFrame) -> pd.Series[bool]:
    """Return which looks into a box were at the place where it stood that day.

    Parameters
    ----------
    looks
        date, and of a place of the box standing, fixed_on, removed_on: one row for each look and
        place. Where a box first stood, a look before its date of fixing counts.
    """
    up = (looks["standing"] == 0) | looks["fixed_on"].isna() | (looks["fixed_on"] <= looks["date"])
    return up & (looks["removed_on"].isna() | (looks["removed_on"] >= looks["date"]))


def _units(boxes: pd.DataFrame, by_season: pd.DataFrame, *, newest: int) -> pd.DataFrame:
    first_look = by_season[by_season["looked"]].groupby("title")["season"].min()
    first_use = by_season[by_season["used"]].groupby("title")["season"].min()
    ordered = boxes.sort_values(["title", "standing"])
    first = fitted_season(ordered["fixed_on"])
    original = (ordered["standing"] == 0).to_numpy()
    title = ordered["title"]
    # Without any check the mapped titles would be a column of text.
    first = first.fillna(title.map(first_look).astype(np.float64)).fillna(newest)
    used = title.map(first_use).astype(np.float64)
    first = first.where(~(original & (used < first)), used)
    down = ordered["removed_on"]
    gone_before = (down.dt.year - (down.dt.month < 5)).astype(np.float64)  # noqa: PLR2004 - May
    last = gone_before.fillna(newest).clip(upper=newest)
    # A moved box stands at its earlier place until the season before the next begins.
    moved = first.groupby(title).shift(-1) - 1
    last = pd.concat([last, moved], axis=1).min(axis=1)
    building = ordered["building"].to_numpy(dtype=np.int64)
    cluster = np.where(building >= 0, building, -2 - np.arange(len(ordered)))
    return ordered.assign(
        first_season=first.astype(np.int64),
        last_season=last.astype(np.int64),
        cluster=cluster,
        neighbours=pd.Series(cluster, index=ordered.index)
        .groupby(cluster)
        .transform("size")
        .to_numpy(),
    )


def first_use(history: BoxHistory, *, until: pd.Series | None = None) -> pd.DataFrame:
    """Return each box's wait for swifts, whoever else lived in it meanwhile.

    Parameters
    ----------
    history
        See `box_history`.
    until
        For each unit the last season that counts, or NaN for all.

    Returns
    -------
    pandas.DataFrame
        time (seasons, 1 in the first), ending (`EVENT` or `CENSORED`) by unit; boxes nobody
        ever looked into are left out. A box not looked into for some seasons may have been
        used earlier than seen, so that waits are at most this long.
    """
    return _waits(history.seasons, use_only=True, until=until)


def first_occupant(history: BoxHistory) -> pd.DataFrame:
    """Return each box's wait for its first bird, swift (`EVENT`) or other (`COMPETING`)."""
    return _waits(history.seasons, use_only=False, until=None)


def _waits(seasons: pd.DataFrame, *, use_only: bool, until: pd.Series | None) -> pd.DataFrame:
    rows = seasons
    if until is not None:
        limit = rows["unit"].map(until).fillna(np.inf)
        rows = rows[rows["season"] <= limit]
    ended: npt.NDArray[np.bool_] = rows["used"].to_numpy()
    if not use_only:
        ended = ended | (rows["other"] != "").to_numpy()
    first = rows[ended].sort_values(["unit", "age"]).drop_duplicates("unit").set_index("unit")
    last_look = rows[rows["looked"]].groupby("unit")["age"].max()
    table = pd.DataFrame({"time": last_look, "ending": CENSORED})
    table.loc[first.index, "time"] = first["age"]
    table.loc[first.index, "ending"] = np.where(first["used"], EVENT, COMPETING)
    return table.astype(np.int64).sort_index()
