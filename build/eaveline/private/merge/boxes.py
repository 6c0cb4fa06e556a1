"""Joins rows about one box, its checks included; a moved box stands twice."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.private.intake.crossref import MOVED_M, names
from eaveline.private.merge.decisions import Decisions, joined_labels, positions_of
from eaveline.private.merge.sites import AssignBuilding
from eaveline.private.places.houses import flats


@dataclass(frozen=True, repr=False)
class MergedBoxes:
    """Boxes after merging.

    Attributes
    ----------
    boxes
        One row for each box at each place it stood: box (as first written), title (its
        plain form), standing (0, 1, ...), building, easting, northing, uncertainty_m, fixed_on,
        removed_on, kind, cavities, height_m, facing, entrance_mm, clear_drop_m, calls_from,
        calls_to, share, refused, agreed (as for sites), cost.
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
    boxes: pd.DataFrame,
    checks: pd.DataFrame,
    *,
    assign_building: AssignBuilding,
    decisions: Decisions | None = None,
) -> MergedBoxes:
    """Join the rows of each box, and of each check.

    Rows of one id at one place are one box; a filled cell goes before an empty one, and
    where two rows differ the later date of fixing speaks, then the row key. A box of that id
    fixed after the first came down stands anew: moved, or replaced. A box renumbered is one
    box if decisions/ says of its two rows that they are the same.

    Parameters
    ----------
    boxes, checks
        Usable rows, indexed by row id.
    assign_building
        See `sites.AssignBuilding`.
    """
    titles = names(boxes["box"])
    now = _renumbered(boxes.assign(title=titles), decisions or Decisions())
    # Of no titles pandas would make a column of numbers.
    known_as = titles.map(now).astype(titles.dtype)
    merged, box_members = _boxes(boxes, known_as, assign_building)
    checked = names(checks["box"])
    kept, check_members, doubtful = _checks(checks, checked.map(now).astype(object).fillna(checked))
    return MergedBoxes(merged, kept, box_members | check_members, doubtful)


def _renumbered(rows: pd.DataFrame, decisions: Decisions) -> dict[str, str]:
    """Return for each box's title the one it goes by: of boxes said to be the same, the newest."""
    rows = rows.sort_values(["fixed_on", "key"], na_position="first", kind="stable")
    titles = rows["title"].to_numpy(dtype=object)
    label = np.unique(titles.astype(str), return_index=True, return_inverse=True)[2]
    pairs = positions_of(decisions.same, rows["key"].to_numpy(dtype=np.uint64))
    joined = joined_labels(label.astype(np.int64), pairs)
    newest = dict(zip(joined.tolist(), titles, strict=True))  # a later row overwrites an earlier
    return {title: newest[group] for title, group in zip(titles, joined.tolist(), strict=True)}


def _boxes(
    table: pd.DataFrame, titles: pd.Series, assign_building: AssignBuilding
) -> tuple[pd.DataFrame, dict[int, int]]:
    rows = table.assign(title=titles).sort_values(["title", "fixed_on", "key"], kind="stable")
    rows = rows.assign(standing=_standings(rows))
    rows = rows.assign(row_id=rows.index)
    of_one = ["title", "standing"]
    boxes = rows.groupby(of_one, sort=True)
    head = boxes["row_id"].transform("first")
    others = rows.index[(head != rows["row_id"]).to_numpy()]
    members = dict(zip(others.tolist(), head[others].tolist(), strict=True))
    first = rows[(head == rows["row_id"]).to_numpy()].set_index(of_one)
    placed = rows[rows["easting"].notna()].sort_values([*of_one, "uncertainty_m", "key"])
    place = placed.drop_duplicates(of_one).set_index(of_one)
    answers = rows[of_one].assign(
        yes=(rows["share"] == "yes").to_numpy(), no=(rows["share"] == "no").to_numpy()
    )
    said = answers.groupby(of_one, sort=True)[["yes", "no"]].any()
    homes = rows[of_one].assign(flat=flats(rows["house"]))[answers["yes"]]
    agreed = homes.groupby(of_one)["flat"].agg(frozenset).to_dict()
    last = rows[[*of_one, *_LAST_WINS]].astype(dict.fromkeys(_LAST_WINS, object))
    merged = (
        pd.DataFrame(
            {
                "row_id": first["row_id"],
                "box": first["box"].astype(str),
                "easting": place["easting"],
                "northing": place["northing"],
                "uncertainty_m": place["uncertainty_m"],
                "fixed_on": boxes["fixed_on"].min(),
                "removed_on": boxes["removed_on"].max(),
                # A refusal in any row counts, however often others say yes: publish less.
                "share": said["yes"] & ~said["no"],
                "refused": said["no"],
            },
            index=said.index,
        )
        .assign(agreed=[agreed.get(box, frozenset()) for box in said.index])
        .join(last.groupby(of_one, sort=True).last())
        .astype({"kind": "str", "facing": "str"})
        .reset_index()
        # Without a row nothing tells that titles are texts.
        .astype({"title": object})
        .set_index("row_id")[
            [
                "box",
                "title",
                "standing",
                "easting",
                "northing",
                "uncertainty_m",
                "fixed_on",
                "removed_on",
                "share",
                "refused",
                "agreed",
                *_LAST_WINS,
            ]
        ]
    )
    for column in ("fixed_on", "removed_on", "calls_from", "calls_to"):
        merged[column] = pd.to_datetime(merged[column])
    # Where no row fills a column it holds None alone, which is no number yet.
    for column in ("cavities", "height_m", "entrance_mm", "clear_drop_m", "cost"):
        merged[column] = merged[column].astype(np.float64)
    place_columns = [
        merged[name].to_numpy(dtype=np.float64) for name in ("easting", "northing", "uncertainty_m")
    ]
    return merged.assign(building=assign_building(*place_columns)), members


def _standings(rows: pd.DataFrame) -> npt.NDArray[np.int64]:
    """Return the number of the place each row is about; rows without one are about the last.

    Rows come in order of title and date of fixing. A box fixed when the last one of its id
    at that place was down already is another standing, though the place is the same.
    """
    standing = np.zeros(len(rows), dtype=np.int64)
    east, north = rows["easting"].to_numpy(dtype=float), rows["northing"].to_numpy(dtype=float)
    reach = rows["uncertainty_m"].to_numpy(dtype=float)
    up, down = rows["fixed_on"].to_numpy(), rows["removed_on"].to_numpy()
    titles = rows["title"].tolist()
    stood: dict[object, list[_Standing]] = {}
    placed = np.flatnonzero(~np.isnan(east)).tolist()
    for position in placed:
        known = stood.setdefault(titles[position], [])
        for number in reversed(range(len(known))):
            head, taken_down = known[number].head, known[number].down
            apart = np.hypot(east[position] - east[head], north[position] - north[head])
            near = apart <= reach[position] + reach[head] + MOVED_M
            if near and not up[position] >= taken_down:  # NaT compares as False
                standing[position] = number
                known[number].down = np.fmax(taken_down, down[position])
                break
        else:
            known.append(_Standing(position, down[position]))
            standing[position] = len(known) - 1
    for position in np.flatnonzero(np.isnan(east)).tolist():
        standing[position] = max(len(stood.get(titles[position], [])) - 1, 0)
    return standing


@dataclass
class _Standing:
    """A box at one place: the row that first told of it, and when it came down."""

    head: int
    down: np.datetime64


def _checks(
    table: pd.DataFrame, titles: pd.Series
) -> tuple[pd.DataFrame, dict[int, int], pd.DataFrame]:
    rows = table.assign(
        title=titles,
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
