"""What became of the group's own boxes: seasons at risk, and the season of first use."""

from __future__ import annotations

import numpy as np
import pandas as pd

from eaveline.private.register import Register

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
        title, building, easting, northing, height_m, facing, calls (bool: a caller has run),
        first (first season at risk), company (boxes on the building that season, this one
        included), seasons (looked at, up to the first use or the third season) and used
        (bool). One row for each box with at least one season.
    """
    boxes = register.boxes
    swift = ~boxes["kind"].astype("string").str.contains(
        _MARTIN_WORDS, case=False, regex=True, na=False
    )
    boxes = boxes[swift.to_numpy(dtype=bool) & boxes["fixed_on"].notna().to_numpy()]
    first = first_season(boxes["fixed_on"]).astype(np.int64)
    boxes = boxes.assign(first=first, calls=boxes["calls_from"].notna())
    seen = _seen(register)
    if until is not None:
        seen = seen[seen["season"] <= until]
    seen = seen.merge(boxes[["title", "standing", "first", "removed_on"]], on="title")
    gone = seen["removed_on"].dt.year < seen["season"]
    seen = seen[
        (seen["season"] >= seen["first"])
        & (seen["season"] < seen["first"] + FIRST_SEASONS)
        & ~gone.to_numpy(dtype=bool)
    ]
    use = seen[seen["swift"]].groupby(["title", "standing"])["season"].min().rename("use")
    seen = seen.join(use, on=["title", "standing"])
    seen = seen[~(seen["season"] > seen["use"])]
    told = seen.groupby(["title", "standing"]).agg(
        seasons=("season", "nunique"), used=("swift", "any")
    )
    result = boxes.join(told, on=["title", "standing"], how="inner")
    columns = ["title", "building", "easting", "northing", "height_m", "facing", "calls", "first"]
    return (
        result.assign(company=_company(result, boxes))[[*columns, "company", "seasons", "used"]]
        .sort_values(["title", "first"])
        .reset_index(drop=True)
    )


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


def _company(result: pd.DataFrame, boxes: pd.DataFrame) -> list[int]:
    """Return how many boxes were on each box's building in its first season."""
    by_building = {
        int(str(home)): group for home, group in boxes[boxes["building"] >= 0].groupby("building")
    }
    company = []
    for home, first in zip(result["building"].tolist(), result["first"].tolist(), strict=True):
        there = by_building.get(int(home))
        if there is None:
            company.append(1)
            continue
        standing = (there["first"] <= first) & ~(there["removed_on"].dt.year < first)
        company.append(max(1, int(standing.sum())))
    return company
