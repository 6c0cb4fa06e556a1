"""What became of the group's own boxes: seasons at risk, and the season of first use."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.private.register import Register

Ints = npt.NDArray[np.int64]

LAST_FIRST_DAY = (6, 1)
"""A box fitted after 1 June has its first season the year after (common practice)."""
FIRST_SEASONS = 3
"""Uptake is judged over so many seasons."""
_MARTIN_WORDS = r"martin|\bcup\b"


def first_season(fixed_on: pd.Series) -> pd.Series:
    """Return the first season at risk of boxes, NaN where the date is missing."""
    late = (fixed_on.dt.month > LAST_FIRST_DAY[0]) | (
        (fixed_on.dt.month == LAST_FIRST_DAY[0]) & (fixed_on.dt.day > LAST_FIRST_DAY[1])
    )
    result: pd.Series = fixed_on.dt.year + late
    return result


def box_histories(register: Register, *, until: int | None = None) -> pd.DataFrame:
    """Return the first seasons of each swift box.

    Only seasons in which somebody looked count: "not checked" says nothing. A box taken by
    another bird was there for swifts to take too, so its seasons count. Boxes of unknown
    date and martin cups are left out.

    Parameters
    ----------
    register
        Everything merged.
    until
        The last season that may be known; all if None.

    Returns
    -------
    pandas.DataFrame
        box (its row in the register), title, building, easting, northing, height_m, facing,
        calls (bool: a caller has run), first (first season at risk), company (boxes on the
        building that season, this one included), seasons (looked at, up to the first use or
        the third season) and used (bool). One row for each box with at least one season.
    """
    boxes = _swift_boxes(register)
    looks = box_looks(register)
    if until is not None:
        looks = looks[looks["season"] <= until]
    told = looks.groupby("box").agg(seasons=("season", "nunique"), used=("swift", "any"))
    result = boxes.join(told, on="box", how="inner")
    columns = ["box", "title", "building", "easting", "northing", "height_m", "facing", "calls"]
    return (
        result.assign(company=_company(result, boxes))[
            [*columns, "first", "company", "seasons", "used"]
        ]
        .sort_values(["title", "first"])
        .reset_index(drop=True)
    )


def box_looks(register: Register) -> pd.DataFrame:
    """Return each season in which somebody looked at a box that swifts had not used before.

    Returns
    -------
    pandas.DataFrame
        box (its row in the register), season (within the first three of the box) and swift
        (bool: used that season, which is then the box's last row).
    """
    boxes = _swift_boxes(register)
    seen = _seen(register).merge(boxes[["box", "title", "first", "removed_on"]], on="title")
    gone = seen["removed_on"].dt.year < seen["season"]
    seen = seen[
        (seen["season"] >= seen["first"])
        & (seen["season"] < seen["first"] + FIRST_SEASONS)
        & ~gone.to_numpy(dtype=bool)
    ]
    use = seen[seen["swift"]].groupby("box")["season"].min()
    after = seen["season"] > seen["box"].map(use)
    result: pd.DataFrame = seen.loc[~after, ["box", "season", "swift"]]
    return result.reset_index(drop=True)


def _swift_boxes(register: Register) -> pd.DataFrame:
    boxes = register.boxes.assign(box=np.arange(len(register.boxes)))
    swift = ~boxes["kind"].astype("string").str.contains(
        _MARTIN_WORDS, case=False, regex=True, na=False
    )
    boxes = boxes[swift.to_numpy(dtype=bool) & boxes["fixed_on"].notna().to_numpy()]
    first = first_season(boxes["fixed_on"]).astype(np.int64)
    return boxes.assign(first=first, calls=boxes["calls_from"].notna())


def _seen(register: Register) -> pd.DataFrame:
    """Return title, season and swift (bool): one row for each box and season looked at."""
    looked = register.checks[register.checks["seen"] != "not checked"]
    told = pd.concat(
        [
            looked[["title", "season"]].assign(swift=(looked["seen"] == "swift").to_numpy()),
            register.box_visits[["title", "season"]].assign(swift=True),
        ]
    )
    return told.groupby(["title", "season"])["swift"].any().reset_index()


def _company(result: pd.DataFrame, boxes: pd.DataFrame) -> Ints:
    """Return how many boxes were on each box's building in its first season."""
    mine = pd.DataFrame(
        {"row": np.arange(len(result)), "building": result["building"], "season": result["first"]}
    )
    hung = boxes.loc[boxes["building"] >= 0, ["building", "first", "removed_on"]]
    both = mine.merge(hung, on="building")
    there = (both["first"] <= both["season"]) & ~(both["removed_on"].dt.year < both["season"])
    count = np.bincount(both.loc[there, "row"].to_numpy(dtype=np.int64), minlength=len(mine))
    return np.maximum(count, 1).astype(np.int64)
