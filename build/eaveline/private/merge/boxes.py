"""Joins rows about one box, its checks included; a moved box stands twice."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.private.crossref import MOVED_M, names
from eaveline.private.merge.sites import AssignBuilding


@dataclass(frozen=True, repr=False)
class MergedBoxes:
    """Boxes after merging.

    Attributes
    ----------
    boxes
        One row for each box at each place it stood: box (as first written), title (its
        plain form), standing (0, 1, ...), building, easting, northing, uncertainty_m, fixed_on,
        removed_on, kind, cavities, height_m, facing, entrance_mm, clear_drop_m, calls_from,
        calls_to, share, cost.
    checks
        One row for each box, cavity and date: title, cavity, date, season, seen, stage, eggs,
        young, fledged.
    members
        For each row merged away, the row it went into.
    doubtful
        Checks of one cavity on one day that disagree: first_id, second_id.
    """

    boxes: pd.DataFrame
    checks: pd.DataFrame
    members: dict[int, int]
    doubtful: pd.DataFrame

    def __repr__(self) -> str:
        """Show counts only."""
        return f"<MergedBoxes: {len(self.boxes)} boxes, {len(self.checks)} checks>"


_LAST_WINS = (
    "kind",
    "cavities",
    "height_m",
    "facing",
    "entrance_mm",
    "clear_drop_m",
    "calls_from",
    "calls_to",
    "cost",
)


def merge_boxes(
    boxes: pd.DataFrame, checks: pd.DataFrame, *, assign_building: AssignBuilding
) -> MergedBoxes:
    """Join the rows of each box, and of each check.

    Rows of one id at one place are one box; a filled cell goes before an empty one, and
    where two rows differ the later date of fixing speaks, then the row key.

    Parameters
    ----------
    boxes, checks
        Usable rows, indexed by row id.
    assign_building
        See `sites.AssignBuilding`.
    """
    merged, box_members = _boxes(boxes, assign_building)
    kept, check_members, doubtful = _checks(checks)
    return MergedBoxes(merged, kept, box_members | check_members, doubtful)


def _boxes(
    table: pd.DataFrame, assign_building: AssignBuilding
) -> tuple[pd.DataFrame, dict[int, int]]:
    rows = table.assign(title=names(table["box"])).sort_values(
        ["title", "fixed_on", "key"], kind="stable"
    )
    rows = rows.assign(standing=_standings(rows))
    members: dict[int, int] = {}
    lines = []
    for (title, standing), group in rows.groupby(["title", "standing"], sort=True):
        head, *others = group.index.tolist()
        members |= dict.fromkeys(others, head)
        placed = group[group["easting"].notna()].sort_values(["uncertainty_m", "key"])
        place = placed.iloc[0]
        line = {
            "row_id": head,
            "box": str(group["box"].iloc[0]),
            "title": title,
            "standing": int(str(standing)),
            "easting": float(place["easting"]),
            "northing": float(place["northing"]),
            "uncertainty_m": float(place["uncertainty_m"]),
            "fixed_on": group["fixed_on"].min(),
            "removed_on": group["removed_on"].max(),
            "share": bool((group["share"] == "yes").any() and not (group["share"] == "no").any()),
        }
        for column in _LAST_WINS:
            filled = group[column].dropna()
            line[column] = filled.iloc[-1] if len(filled) else None
        lines.append(line)
    merged = pd.DataFrame(
        lines,
        columns=[
            "row_id",
            "box",
            "title",
            "standing",
            "easting",
            "northing",
            "uncertainty_m",
            "fixed_on",
            "removed_on",
            "share",
            *_LAST_WINS,
        ],
    ).set_index("row_id")
    for column in ("fixed_on", "removed_on", "calls_from", "calls_to"):
        merged[column] = pd.to_datetime(merged[column])
    place_columns = [
        merged[name].to_numpy(dtype=np.float64) for name in ("easting", "northing", "uncertainty_m")
    ]
    return merged.assign(building=assign_building(*place_columns)), members


def _standings(rows: pd.DataFrame) -> npt.NDArray[np.int64]:
    """Return the number of the place each row is about; rows without one are about the last."""
    standing = np.zeros(len(rows), dtype=np.int64)
    titles = rows["title"].to_numpy()
    east, north = rows["easting"].to_numpy(dtype=float), rows["northing"].to_numpy(dtype=float)
    reach = rows["uncertainty_m"].to_numpy(dtype=float)
    places: dict[object, list[int]] = {}
    for position in range(len(rows)):
        heads = places.setdefault(titles[position], [])
        if np.isnan(east[position]):
            continue
        for number, head in enumerate(heads):
            apart = np.hypot(east[position] - east[head], north[position] - north[head])
            if apart <= reach[position] + reach[head] + MOVED_M:
                standing[position] = number
                break
        else:
            heads.append(position)
            standing[position] = len(heads) - 1
    for position in range(len(rows)):
        if np.isnan(east[position]):
            standing[position] = max(len(places[titles[position]]) - 1, 0)
    return standing


def _checks(table: pd.DataFrame) -> tuple[pd.DataFrame, dict[int, int], pd.DataFrame]:
    rows = table.assign(
        title=names(table["box"]),
        hole=names(table["cavity"]).fillna(""),
        row_id=table.index,
        filled=table[["stage", "eggs", "young", "fledged"]].notna().sum(axis=1),
        looked=(table["seen"] != "not checked").to_numpy(),
    ).sort_values(
        ["title", "hole", "date", "looked", "filled", "key"],
        ascending=[True, True, True, False, False, True],
    )
    same = ["title", "hole", "date"]
    head = rows.groupby(same, sort=False)["row_id"].transform("first")
    again = rows[head != rows["row_id"]]
    into = head[again.index]
    members = dict(zip(again.index.tolist(), into.tolist(), strict=True))
    disagree = (
        again["seen"].astype(object).to_numpy() != rows.loc[into, "seen"].astype(object).to_numpy()
    )
    doubtful = pd.DataFrame(
        {
            "first_id": into.to_numpy(dtype=np.int64)[disagree],
            "second_id": again.index.to_numpy(dtype=np.int64)[disagree],
        }
    )
    kept = rows[head == rows["row_id"]]
    checks = pd.DataFrame(
        {
            "title": kept["title"],
            "cavity": kept["hole"],
            "date": kept["date"],
            "season": kept["date"].dt.year.astype(np.int64),
            "seen": kept["seen"].astype(object),
            "stage": kept["stage"].astype(object),
            "eggs": kept["eggs"],
            "young": kept["young"],
            "fledged": kept["fledged"],
        }
    )
    return checks, members, doubtful
