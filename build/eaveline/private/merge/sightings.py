"""Merges sightings of one party by several people into one sighting."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.private.merge.decisions import Decisions, joined_labels, positions_of, without_pairs
from eaveline.private.merge.linkage import complete_linkage, near_pairs
from eaveline.private.schema import plain
from eaveline.private.vocabulary import BEHAVIOUR_CODES, NEST_EVIDENCE_CODE

MINUTES_A_DAY = 1440
_FAR_MINUTE = 100_000_000
"""Later than any minute since 1970 that a record can have."""
_DOUBTFUL = 1.6
"""Pairs up to this many times the limits are shown in worth-a-look.csv."""
_MOST_DOUBTFUL = 500

_MOST_ALLOWED_M = 100.0
"""A place vaguer than this is not allowed more for it: it would be near everything."""

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]

_CLASS_OF_CODE = {0: 0, 1: 1, 3: 3, 5: 5, 6: 6, 9: 9, 13: 13, 14: 13, 15: 13, 16: 13}
"""Behaviour classes that can be one event: all signs of an occupied nest are one class."""


@dataclass(frozen=True, repr=False)
class MergedSightings:
    """Sightings after merging.

    Attributes
    ----------
    sightings
        One row for each, indexed by the row id of its representative: key, date, season,
        minute (of the day, NaN if unknown), species, atlas_code, birds (the largest, never
        the sum), easting, northing, uncertainty_m, street_slug, house_name, notes,
        calls_playing (bool), rows (how many were merged).
    members
        For each row merged away, the row it went into.
    joins
        One line for each merge: row_id, into, metres, minutes and the limits.
    doubtful
        Pairs just beyond a limit: first_id, second_id, metres, minutes, part.
    """

    sightings: pd.DataFrame
    members: dict[int, int]
    joins: pd.DataFrame
    doubtful: pd.DataFrame

    def __repr__(self) -> str:
        """Show counts only."""
        return f"<MergedSightings: {len(self.sightings)} of {len(self.sightings) + len(self.members)} rows>"


def merge_sightings(
    table: pd.DataFrame, *, decisions: Decisions, distance_m: float, minutes: float
) -> MergedSightings:
    """Merge sightings under complete linkage.

    Two sightings may be one when species and behaviour class agree, different people saw
    them, their places differ by no more than `distance_m` beyond both uncertainties and
    their times by no more than `minutes`; every two rows of a merged sighting must be so.
    The same row typed again (same person, minute, place, birds and behaviour) is one.

    Parameters
    ----------
    table
        The usable rows of sightings/, indexed by row id, with easting, northing and
        uncertainty_m in metres and `time` in minutes of the day.
    decisions
        What people decided; it goes before the limits.
    distance_m, minutes
        The limits.
    """
    # Content alone sets the order, so that files and rows may come in any order.
    rows = table.sort_values(["key"], kind="stable")
    codes: Ints = np.asarray(rows["behaviour"].astype(object).map(BEHAVIOUR_CODES), dtype=np.int64)
    day = rows["date"].to_numpy().astype("datetime64[D]").astype(np.int64)
    time = rows["time"].to_numpy(dtype=np.float64)
    keys = rows["key"].to_numpy(dtype=np.uint64)
    count = len(rows)
    classes = np.array([_CLASS_OF_CODE[int(code)] for code in codes], dtype=np.int64)
    species = np.asarray(rows["species"].cat.codes, dtype=np.int64)
    recorder = _recorders(rows["seen_by"])
    timed = np.isfinite(time)
    places = {
        "easting": rows["easting"].to_numpy(dtype=np.float64),
        "northing": rows["northing"].to_numpy(dtype=np.float64),
        "uncertainty_m": np.minimum(
            rows["uncertainty_m"].to_numpy(dtype=np.float64), _MOST_ALLOWED_M
        ),
    }
    minute: Floats = (day * MINUTES_A_DAY + np.where(timed, time, 0.0)).astype(np.float64)
    group = species * 100 + classes
    candidates = np.flatnonzero(timed)
    first, second, part = near_pairs(
        **{name: values[candidates] for name, values in places.items()},
        minute=minute[candidates],
        group=group[candidates],
        recorder=recorder[candidates],
        distance_m=distance_m * _DOUBTFUL,
        minutes=minutes * _DOUBTFUL,
    )
    first, second, part = candidates[first], candidates[second], part * _DOUBTFUL
    barred = positions_of(decisions.different, keys)
    allowed = without_pairs(first, second, barred, count=count)
    first, second, part = first[allowed], second[allowed], part[allowed]
    within = part <= 1.0
    retyped = _retyped(rows, minute, codes, recorder)
    label = complete_linkage(count, first[within], second[within], part[within])
    label = joined_labels(label, retyped)
    label = joined_labels(label, positions_of(decisions.same, keys))
    return _collapse(
        rows,
        label,
        codes=codes,
        first=first,
        second=second,
        part=part,
        distance_m=distance_m,
        minutes=minutes,
        minute=minute,
    )


def _recorders(column: pd.Series) -> Ints:
    """Return a number for each person, by plain name; -1 where nobody is named."""
    cells = column.array
    number: dict[str, int] = {}
    numbers = [number.setdefault(plain(str(text)), len(number)) for text in cells.categories]
    return np.array([*numbers, -1], dtype=np.int64)[np.asarray(cells.codes, dtype=np.int64)]


def _retyped(
    rows: pd.DataFrame,
    minute: Floats,
    codes: Ints,
    recorder: Ints,
) -> tuple[Ints, Ints]:
    """Return pairs of rows that one person sent twice in different spellings."""
    timed = rows["time"].notna().to_numpy()
    moment = pd.Series(recorder * _FAR_MINUTE + minute.astype(np.int64))
    # Few rows share person and minute with another, and only those are compared in full.
    same = np.flatnonzero((recorder >= 0) & timed & moment.duplicated(keep=False).to_numpy())
    some = rows.iloc[same]
    frame = pd.DataFrame(
        {
            "moment": moment.to_numpy()[same],
            "species": some["species"].cat.codes.to_numpy(),
            "code": codes[same],
            "birds": some["birds"].fillna(-1).to_numpy(),
            "easting": some["easting"].round(0).to_numpy(),
            "northing": some["northing"].round(0).to_numpy(),
        }
    )
    first = same[
        frame.assign(at=np.arange(len(frame)))
        .groupby(list(frame.columns), sort=False)["at"]
        .transform("first")
        .to_numpy(dtype=np.int64)
    ]
    again = first != same
    return first[again], same[again]


def _collapse(
    rows: pd.DataFrame,
    label: Ints,
    *,
    codes: Ints,
    first: Ints,
    second: Ints,
    part: Floats,
    distance_m: float,
    minutes: float,
    minute: Floats,
) -> MergedSightings:
    ids = rows.index.to_numpy(dtype=np.int64)
    work = pd.DataFrame(
        {
            "label": label,
            "position": np.arange(len(rows)),
            "uncertainty_m": rows["uncertainty_m"].to_numpy(),
            "birds": rows["birds"].to_numpy(dtype=np.float64),
            "code": codes,
            "calls": (rows["calls_playing"] == "yes").to_numpy(),
        }
    )
    # The most precise place speaks for the sighting; then the largest count, then the key.
    best = (
        work.sort_values(
            ["label", "uncertainty_m", "birds", "position"], ascending=[True, True, False, True]
        )
        .drop_duplicates("label")
        .set_index("label")["position"]
    )
    totals = work.groupby("label").agg(
        birds=("birds", "max"), code=("code", "max"), calls=("calls", "any"), rows=("label", "size")
    )
    chosen = best.to_numpy()
    taken = rows.iloc[chosen]
    totals = totals.loc[best.index]
    sightings = pd.DataFrame(
        {
            "key": taken["key"].to_numpy(),
            "date": taken["date"].to_numpy(),
            "season": taken["date"].dt.year.to_numpy(),
            "minute": taken["time"].to_numpy(),
            "species": taken["species"].astype(object).to_numpy(),
            "atlas_code": totals["code"].to_numpy(),
            "birds": totals["birds"].to_numpy(),
            "easting": taken["easting"].to_numpy(),
            "northing": taken["northing"].to_numpy(),
            "uncertainty_m": taken["uncertainty_m"].to_numpy(),
            "method": taken["method"].to_numpy(),
            "notes": taken["notes"].astype(object).to_numpy(),
            "calls_playing": totals["calls"].to_numpy(dtype=bool),
            "rows": totals["rows"].to_numpy(),
        },
        index=ids[chosen],
    ).sort_values("key")
    speaker = best.reindex(label).to_numpy(dtype=np.int64)
    joined = np.flatnonzero(speaker != np.arange(len(rows)))
    joins = pd.DataFrame(
        {
            "row_id": ids[joined],
            "into": ids[speaker[joined]],
            "metres": np.round(_metres(rows, joined, speaker[joined]), 1),
            "minutes": np.round(np.abs(minute[joined] - minute[speaker[joined]]), 1),
            "limit_m": distance_m
            + np.round(
                rows["uncertainty_m"].to_numpy()[joined]
                + rows["uncertainty_m"].to_numpy()[speaker[joined]],
                1,
            ),
            "limit_minutes": minutes,
        }
    )
    apart = label[first] != label[second]
    # A pair within the limits that was not joined belongs to two groups that are not near.
    order = np.argsort(part[apart], kind="stable")[:_MOST_DOUBTFUL]
    a, b = first[apart][order], second[apart][order]
    doubtful = pd.DataFrame(
        {
            "first_id": ids[a],
            "second_id": ids[b],
            "metres": np.round(_metres(rows, a, b), 1),
            "minutes": np.round(np.abs(minute[a] - minute[b]), 1),
            "part": np.round(part[apart][order], 3),
        }
    )
    members = dict(zip(joins["row_id"].tolist(), joins["into"].tolist(), strict=True))
    return MergedSightings(sightings, members, joins, doubtful)


def _metres(rows: pd.DataFrame, a: Ints, b: Ints) -> Floats:
    east, north = (
        rows["easting"].to_numpy(dtype=np.float64),
        rows["northing"].to_numpy(dtype=np.float64),
    )
    apart: Floats = np.hypot(east[a] - east[b], north[a] - north[b])
    return apart


def is_nest_evidence(sightings: pd.DataFrame) -> pd.Series:
    """Return which sightings are evidence for a nest at a building (atlas code 6 or more)."""
    return sightings["atlas_code"] >= NEST_EVIDENCE_CODE
