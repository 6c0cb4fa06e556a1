"""Merges sightings of one party by several people into one sighting."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.private.intake.schema import plain
from eaveline.private.intake.vocabulary import BEHAVIOUR_CODES, NEST_EVIDENCE_CODE
from eaveline.private.merge.decisions import Decisions, joined_labels, positions_of, without_pairs
from eaveline.private.merge.linkage import Reports, complete_linkage, near_pairs

MINUTES_A_DAY = 1440
_FAR_MINUTE = 100_000_000
"""Later than any minute since 1970 that a record can have."""
_DOUBTFUL = (1.05, 1.6)
"""Pairs up to this many times the limits are doubtful; the second where the first gives few."""
_MOST_DOUBTFUL = 500

_MOST_ALLOWED_M = 800.0
"""A place vaguer than a square of 1 km is allowed no more: it would be near everything."""
_LEAST_TIMES = 4
"""Three times on the five minutes happen by chance to one recorder in 125, four to one in 625."""

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]

_COLUMNS = [
    "key",
    "date",
    "time",
    "species",
    "behaviour",
    "birds",
    "seen_by",
    "easting",
    "northing",
    "uncertainty_m",
    "method",
    "calls_playing",
    "notes",
]
_CLASS_OF_CODE = np.array([*range(13), 13, 13, 13, 13], dtype=np.int64)
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
        One line for each merge: row_id, into, metres, minutes, the limits with what the pair's
        uncertainties add to them, and the part of the limits that the pair uses.
    doubtful
        Pairs just beyond a limit: first_id, second_id, metres, minutes, part.
    """

    sightings: pd.DataFrame
    members: dict[int, int]
    joins: pd.DataFrame
    doubtful: pd.DataFrame

    def __repr__(self) -> str:
        """Show counts only."""
        whole = len(self.sightings) + len(self.members)
        return f"<MergedSightings: {len(self.sightings)} of {whole} rows>"


def merge_sightings(
    table: pd.DataFrame, *, decisions: Decisions, distance_m: float, minutes: float
) -> MergedSightings:
    """Merge sightings under complete linkage.

    Two sightings may be one when species and behaviour class agree, different people saw
    them, their places differ by no more than `distance_m` beyond both uncertainties, their
    times by no more than `minutes`, and their counts by no more than a factor; a pair at one
    of these limits must agree in the others (see `Reports.part`). Every two rows of a merged
    sighting must be so. The same row typed again (same person, minute, place, birds and
    behaviour) is one.

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
    rows = table[_COLUMNS].take(np.argsort(table["key"].to_numpy(), kind="stable"))
    codes = _atlas_codes(rows["behaviour"])
    keys = rows["key"].to_numpy(dtype=np.uint64)
    count = len(rows)
    day = rows["date"].to_numpy().astype("datetime64[D]").astype(np.int64)
    time = rows["time"].to_numpy(dtype=np.float64)
    timed = np.isfinite(time)
    minute: Floats = (day * MINUTES_A_DAY + np.where(timed, time, 0.0)).astype(np.float64)
    recorder = _recorders(rows["seen_by"])
    retyped, typed_again = _retyped(rows, minute, codes, recorder)
    # A row typed again stands where its first stands, and takes no part of its own.
    timed[typed_again] = False
    candidates = np.flatnonzero(timed)
    group = np.asarray(rows["species"].cat.codes, dtype=np.int64) * 100 + _CLASS_OF_CODE[codes]
    reports = Reports(
        easting=rows["easting"].to_numpy(dtype=np.float64),
        northing=rows["northing"].to_numpy(dtype=np.float64),
        uncertainty_m=np.minimum(rows["uncertainty_m"].to_numpy(dtype=np.float64), _MOST_ALLOWED_M),
        minute=minute,
        blur_minutes=_blur_minutes(recorder, time),
        count=rows["birds"].to_numpy(dtype=np.float64),
        group=group,
        recorder=recorder,
    )
    barred = positions_of(decisions.different, keys)
    limits = {"distance_m": distance_m, "minutes": minutes}

    def pairs(widened: float) -> tuple[Ints, Ints, Floats]:
        first, second, part = near_pairs(reports.take(candidates), widened=widened, **limits)
        first, second = candidates[first], candidates[second]
        allowed = without_pairs(first, second, barred, count=count)
        return first[allowed], second[allowed], part[allowed]

    first, second, part = near = pairs(_DOUBTFUL[0])
    within = part <= 1.0
    label = complete_linkage(count, first[within], second[within], part[within])
    label[typed_again] = label[retyped]
    label = joined_labels(label, positions_of(decisions.same, keys))
    apart = _most_doubtful(label, *near, widened=_DOUBTFUL[0])
    if len(apart[0]) < _MOST_DOUBTFUL:
        apart = _most_doubtful(label, *pairs(_DOUBTFUL[1]), widened=_DOUBTFUL[1])
    speaker = _speakers(rows, label)
    joins = _joins(rows, speaker, reports, **limits)
    return MergedSightings(
        _collapsed(rows, speaker, codes=codes),
        dict(zip(joins["row_id"].tolist(), joins["into"].tolist(), strict=True)),
        joins,
        _doubtful_table(rows, *apart, minute=minute),
    )


def _most_doubtful(
    label: Ints, first: Ints, second: Ints, part: Floats, *, widened: float
) -> tuple[Ints, Ints, Floats]:
    """Return the pairs that were not joined, those closest to a limit first.

    A pair within the limits that was not joined belongs to two groups that are not near.
    """
    unsure = np.flatnonzero((label[first] != label[second]) & (np.abs(part - 1.0) < widened - 1.0))
    order = np.lexsort((second[unsure], first[unsure], np.abs(part[unsure] - 1.0)))
    chosen = unsure[order[:_MOST_DOUBTFUL]]
    return first[chosen], second[chosen], part[chosen]


def _doubtful_table(
    rows: pd.DataFrame, first: Ints, second: Ints, part: Floats, *, minute: Floats
) -> pd.DataFrame:
    ids = rows.index.to_numpy(dtype=np.int64)
    return pd.DataFrame(
        {
            "first_id": ids[first],
            "second_id": ids[second],
            "metres": np.round(_metres(rows, first, second), 1),
            "minutes": np.round(np.abs(minute[first] - minute[second]), 1),
            "part": np.round(part, 3),
        }
    )


def _atlas_codes(column: pd.Series) -> Ints:
    """Return the atlas code of each row's behaviour."""
    cells = column.array
    codes = np.array([BEHAVIOUR_CODES[str(word)] for word in cells.categories], dtype=np.int64)
    found: Ints = codes[np.asarray(cells.codes)]
    return found


def _recorders(column: pd.Series) -> Ints:
    """Return a number for each person, by plain name; -1 where nobody is named."""
    cells = column.array
    number: dict[str, int] = {}
    numbers = [number.setdefault(plain(str(text)), len(number)) for text in cells.categories]
    return np.array([*numbers, -1], dtype=np.int64)[np.asarray(cells.codes, dtype=np.int64)]


def _blur_minutes(recorder: Ints, time: Floats) -> Floats:
    """Return how far each time may be out because its recorder rounds to five minutes.

    Someone rounds if all of at least `_LEAST_TIMES` times are on the five minutes.
    """
    some = (recorder >= 0) & np.isfinite(time)
    count = int(recorder.max(initial=0)) + 1
    times = np.bincount(recorder[some], minlength=count)
    round_times = np.bincount(recorder[some], weights=time[some] % 5 == 0, minlength=count)
    rounds = (times >= _LEAST_TIMES) & (round_times == times)
    return np.where(some & rounds[recorder], 2.5, 0.0)


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


def _speakers(rows: pd.DataFrame, label: Ints) -> Ints:
    """Return for each row the one that speaks for its sighting.

    The most precise place speaks; then the largest count, then the key.
    """
    birds = rows["birds"].to_numpy(dtype=np.float64)
    reach = rows["uncertainty_m"].to_numpy(dtype=np.float64)
    order = np.lexsort((np.arange(len(rows)), -np.nan_to_num(birds, nan=-1.0), reach, label))
    starts = np.flatnonzero(np.diff(label[order], prepend=-1))
    speaker = np.empty(len(rows), dtype=np.int64)
    speaker[order] = np.repeat(order[starts], np.diff(starts, append=len(rows)))
    return speaker


def _collapsed(rows: pd.DataFrame, speaker: Ints, *, codes: Ints) -> pd.DataFrame:
    """Return one sighting for each row that speaks."""
    order = np.argsort(speaker, kind="stable")
    starts = np.flatnonzero(np.diff(speaker[order], prepend=-1))
    chosen = speaker[order[starts]]
    taken = rows.take(chosen)
    calls = (rows["calls_playing"] == "yes").to_numpy()

    def over_members(values: npt.NDArray[np.generic], ufunc: np.ufunc) -> npt.NDArray[np.generic]:
        return ufunc.reduceat(values[order], starts) if len(starts) else values

    return pd.DataFrame(
        {
            "key": taken["key"].to_numpy(),
            "date": taken["date"].to_numpy(),
            "season": taken["date"].dt.year.to_numpy(),
            "minute": taken["time"].to_numpy(),
            "species": taken["species"].astype(object).to_numpy(),
            "atlas_code": over_members(codes, np.maximum),
            "birds": over_members(rows["birds"].to_numpy(dtype=np.float64), np.fmax),
            "easting": taken["easting"].to_numpy(),
            "northing": taken["northing"].to_numpy(),
            "uncertainty_m": taken["uncertainty_m"].to_numpy(),
            "method": taken["method"].to_numpy(),
            "notes": taken["notes"].astype(object).to_numpy(),
            "calls_playing": over_members(calls, np.logical_or),
            "rows": np.diff(starts, append=len(rows)),
        },
        index=rows.index.to_numpy(dtype=np.int64)[chosen],
    ).sort_values("key")


def _joins(
    rows: pd.DataFrame, speaker: Ints, reports: Reports, *, distance_m: float, minutes: float
) -> pd.DataFrame:
    """Return a line for each row that went into another, with how far apart they were."""
    ids = rows.index.to_numpy(dtype=np.int64)
    away = np.flatnonzero(speaker != np.arange(len(rows)))
    into = speaker[away]
    reach, blur = reports.uncertainty_m, reports.blur_minutes
    part = reports.part(away, into, distance_m=distance_m, minutes=minutes)
    return pd.DataFrame(
        {
            "row_id": ids[away],
            "into": ids[into],
            "metres": np.round(_metres(rows, away, into), 1),
            "minutes": np.round(np.abs(reports.minute[away] - reports.minute[into]), 1),
            "limit_m": np.round(distance_m + reach[away] + reach[into], 1),
            "limit_minutes": minutes + blur[away] + blur[into],
            "part": np.round(part, 3),
        }
    )


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
