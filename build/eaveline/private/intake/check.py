"""Checks one file's cells and rows: typed columns out, with every fault and repair listed."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.errors import Problem
from eaveline.private.intake.cell_reading import Reading
from eaveline.private.intake.cells import blank_column
from eaveline.private.intake.dates import clock_in_date
from eaveline.private.intake.raw import RawFile
from eaveline.private.intake.schema import (
    KINDS,
    PLACE_COLUMNS,
    Column,
    RecordKind,
    ValueType,
    heading_table,
    plain,
)
from eaveline.private.intake.times import read_time
from eaveline.private.intake.values import READERS, words_for
from eaveline.private.planning.outline import is_outline

FAULT_COLUMNS = ("position", "column", "code", "suggestion")
_LONGEST_WATCH_MINUTES = 8 * 60
_NUMERIC = frozenset(
    {ValueType.SEASON, ValueType.TIME, ValueType.COUNT, ValueType.NUMBER, ValueType.MONEY}
)
_MAY_LIE_AHEAD = frozenset({"calls_to", "comments_due"})
_AWAY_MONTHS = (1, 2, 11, 12)
"""Neither bird is in Britain then (common practice, no source)."""


@dataclass(frozen=True, repr=False)
class CheckedFile:
    """One file's typed rows.

    Attributes
    ----------
    rows
        A column for each canonical name of the kind; dates as datetime64, clock times as
        minutes after midnight, numbers as floats (NaN where empty), words and texts as
        categoricals. Index 0..n-1, as in the raw file; rows with faults are still there.
    faults, repairs
        One line for each: `FAULT_COLUMNS`, `position` being the row's index.
    notices
        What a person should know about the file as a whole.
    """

    rows: pd.DataFrame
    faults: pd.DataFrame
    repairs: pd.DataFrame
    notices: tuple[Problem, ...]

    def __repr__(self) -> str:
        """Show counts only, so that no cell reaches a log."""
        return f"<CheckedFile of {len(self.rows)} rows, {len(self.faults)} faults>"


def check_file(raw: RawFile, *, today: dt.date) -> CheckedFile:
    """Read every cell of one file and apply the rules for its rows.

    Parameters
    ----------
    raw
        The file as text.
    today
        Dates after this day are held. It is the only use of the clock in the whole flow.
    """
    kind = KINDS[raw.folder]
    faults: list[pd.DataFrame] = []
    repairs: list[pd.DataFrame] = []
    columns: dict[str, object] = {}
    for column in kind.columns:
        cells = raw.cells.get(column.name, blank_column(len(raw)))
        columns[column.name] = _read_column(cells, column, faults, repairs)
    rows = pd.DataFrame(columns, index=pd.RangeIndex(len(raw)))
    if "date" in raw.cells and "time" in rows:
        rows = _with_times_from_dates(rows, raw, repairs)
    faults.extend(_row_faults(raw, rows, kind, today=today))
    all_faults = _joined(faults)
    stray = _not_records(raw, all_faults)
    if stray.any():
        all_faults = pd.concat(
            [
                all_faults[~stray[all_faults["position"].to_numpy(dtype=np.int64)]],
                _faults(stray, "", "line-not-a-record"),
            ],
            ignore_index=True,
        )
    return CheckedFile(
        rows, all_faults, _joined(repairs), (*raw.notices, *_notices(raw, all_faults))
    )


def _read_column(
    cells: pd.Categorical, column: Column, faults: list[pd.DataFrame], repairs: list[pd.DataFrame]
) -> object:
    if column.type in (ValueType.TEXT, ValueType.PLACE):
        return cells
    reader = READERS[column.type]
    readings = [reader(str(text), column) for text in cells.categories]
    codes = np.asarray(cells.codes, dtype=np.int64)
    for found, attribute in ((faults, "fault"), (repairs, "repair")):
        names = np.array(
            [getattr(reading, attribute) or "" for reading in readings] + [""], dtype=object
        )
        if not names.any():
            continue
        hit = names[codes] != ""
        suggestions = np.array(
            [reading.suggestion or "" for reading in readings] + [""], dtype=object
        )
        positions = np.flatnonzero(hit)
        found.append(
            pd.DataFrame(
                {
                    "position": positions,
                    "column": column.name,
                    "code": names[codes[positions]],
                    "suggestion": suggestions[codes[positions]],
                }
            )
        )
    return _typed(readings, codes, column)


def _with_times_from_dates(
    rows: pd.DataFrame, raw: RawFile, repairs: list[pd.DataFrame]
) -> pd.DataFrame:
    """Take the time out of the date's cell, where telephones write it, if the row has none."""
    cells = raw.cells["date"]
    clocks = [clock_in_date(str(text)) for text in cells.categories]
    if not any(clocks):
        return rows
    column = KINDS[raw.folder].column("time")
    read = [read_time(clock, column).value if clock else None for clock in clocks]
    minutes = np.array([*(np.nan if value is None else value for value in read), np.nan])
    found = minutes.astype(np.float64)[np.asarray(cells.codes, dtype=np.int64)]
    blank = np.asarray(raw.cells.get("time", blank_column(len(raw))).codes) < 0
    taken = blank & np.isfinite(found) & rows["date"].notna().to_numpy()
    repairs.append(_faults(taken, "date", "time-from-date"))
    return rows.assign(time=np.where(taken, found, rows["time"]))


def _typed(readings: Sequence[Reading], codes: npt.NDArray[np.int64], column: Column) -> object:
    if column.type is ValueType.DATE:
        dates = np.array([reading.value for reading in readings] + [None], dtype="datetime64[s]")
        return dates[codes]
    if column.type in _NUMERIC:
        numbers = np.array(
            [np.nan if reading.value is None else float(str(reading.value)) for reading in readings]
            + [np.nan]
        )
        return numbers[codes]
    words = words_for(column.type) or ("dry", "wet")
    position = {word: index for index, word in enumerate(words)}
    word_codes = np.array(
        [position.get(str(reading.value), -1) for reading in readings] + [-1], dtype=np.int8
    )
    return pd.Categorical.from_codes(word_codes[codes], categories=pd.Index(words, dtype=object))


def _faults(hit: npt.NDArray[np.bool_] | pd.Series, column: str, code: str) -> pd.DataFrame:
    positions = np.flatnonzero(np.asarray(hit, dtype=bool))
    return pd.DataFrame({"position": positions, "column": column, "code": code, "suggestion": ""})


def _joined(parts: Iterable[pd.DataFrame]) -> pd.DataFrame:
    filled = [part for part in parts if len(part)]
    if not filled:
        return pd.DataFrame(
            {"position": np.empty(0, dtype=np.int64), "column": [], "code": [], "suggestion": []}
        )
    return pd.concat(filled, ignore_index=True)


def _row_faults(
    raw: RawFile, rows: pd.DataFrame, kind: RecordKind, *, today: dt.date
) -> Iterable[pd.DataFrame]:
    """Yield the faults that concern a row rather than one cell's reading."""
    yield _faults(raw.too_long, "", "row-too-long")

    def blank(name: str) -> npt.NDArray[np.bool_]:
        """Return where the cell itself is empty, whatever its reading."""
        return np.asarray(raw.cells.get(name, blank_column(len(raw))).codes) < 0

    for column in kind.columns:
        if column.required:
            yield _faults(blank(column.name), column.name, "cell-missing")
    for group in kind.one_of:
        yield _faults(
            np.logical_and.reduce([blank(name) for name in group]),
            " or ".join(group),
            "one-of-missing",
        )
    if kind.has_place:
        stand_in = [kind.place_from] if kind.place_from else []
        if kind.folder == "watches":
            stand_in = ["streets"]
        lacking = np.logical_and.reduce([blank(name) for name in (*PLACE_COLUMNS, *stand_in)])
        yield _faults(lacking, "place", "place-missing")
    for column in kind.columns:
        if column.type is ValueType.DATE and column.name not in _MAY_LIE_AHEAD:
            late = rows[column.name].to_numpy() > np.datetime64(today)
            yield _faults(late, column.name, "date-in-future")
    yield from _kind_faults(rows, kind, today=today)


def _kind_faults(rows: pd.DataFrame, kind: RecordKind, *, today: dt.date) -> Iterable[pd.DataFrame]:
    if kind.folder in ("sightings", "nest_sites"):
        away = rows["date"].dt.month.isin(_AWAY_MONTHS)
        if kind.folder == "nest_sites":  # walls are looked at in winter too
            away &= rows["behaviour"].notna()
        confirmed = rows["notes"].astype("string").str.contains("checked", case=False, na=False)
        yield _faults(away & ~confirmed, "date", "date-out-of-season")
    if kind.folder == "nest_sites":
        years = rows["date"].dt.year
        yield _faults(
            rows["season"].notna() & years.notna() & (years != rows["season"]),
            "season",
            "season-date-disagree",
        )
        yield _faults(rows["season"] > today.year, "season", "date-in-future")
    if kind.folder == "boxes":
        yield _faults(rows["removed_on"] < rows["fixed_on"], "removed_on", "removed-before-fixed")
        yield _faults(rows["calls_to"] < rows["calls_from"], "calls_to", "calls-turned-round")
    if kind.folder == "planning":
        outlines = rows["site_wkt"].astype("string").fillna("")
        wrong = [bool(text) and not is_outline(text) for text in outlines]
        yield _faults(np.array(wrong, dtype=bool), "site_wkt", "outline-unreadable")
        yield _faults(
            rows["comments_due"] < rows["received"], "comments_due", "comments-before-received"
        )
    if kind.folder == "watches":
        minutes = rows["end"] - rows["start"]
        yield _faults(minutes <= 0, "end", "end-before-start")
        yield _faults(minutes > _LONGEST_WATCH_MINUTES, "end", "watch-too-long")


_STRAY = re.compile(
    r"^(?:grand\s*)?(?:sub\s*)?totals?\b|^sum\b|^average\b"
    r"|^notes?\s*:|^key\s*:|^updated\b|^end of\b",
    re.IGNORECASE,
)


_FEW_CELLS = 3
"""A total or a note fills no more cells than this, or a third of them."""
_UNITS = frozenset(
    {
        "24h",
        "24hclock",
        "24hour",
        "24hourclock",
        "24hours",
        "24hr",
        "24hrs",
        "beaufort",
        "bft",
        "c",
        "cm",
        "date",
        "dayfirst",
        "ddmmyy",
        "ddmmyyyy",
        "decimaldegrees",
        "degc",
        "degrees",
        "degreesc",
        "dmy",
        "freetext",
        "gbp",
        "hhmm",
        "initials",
        "integer",
        "m",
        "metres",
        "mm",
        "no",
        "number",
        "optional",
        "osgb",
        "osgb36",
        "pounds",
        "required",
        "sornm",
        "swifthm",
        "swifthousemartin",
        "text",
        "time",
        "wgs84",
        "yesno",
        "yn",
        "yyyymmdd",
        "£",
    }
)
"""What a row of units below the headings says, in plain form."""


def _not_records(raw: RawFile, faults: pd.DataFrame) -> npt.NDArray[np.bool_]:
    """Return which faulty rows are totals, notes, units or repeated headings."""
    at = np.unique(faults["position"].to_numpy(dtype=np.int64))
    filled = np.zeros(len(at), dtype=np.int64)
    counts = np.zeros((4, len(at)), dtype=np.int64)
    known = heading_table(raw.folder)
    for name, cells in raw.cells.items():
        codes = np.asarray(cells.codes, dtype=np.int64)[at]
        filled += codes >= 0
        # Each distinct cell of the faulty rows is looked at once; blank ones, -1, say nothing.
        says = np.zeros((4, len(cells.categories) + 1), dtype=bool)
        for code in np.unique(codes[codes >= 0]):
            text = str(cells.categories[code])
            word = plain(text)
            says[:, code] = (
                word == plain(name),
                known.get(word) == name,
                word in _UNITS,
                _STRAY.match(text) is not None,
            )
        counts += says[:, codes]
    repeated, heading_like, units, totals = counts
    few = filled <= max(_FEW_CELLS, len(raw.cells) // 3)
    stray = np.zeros(len(raw), dtype=bool)
    stray[at] = (
        ((filled > 1) & ((units == filled) | (np.maximum(repeated, heading_like) > filled / 2)))
        | ((totals > 0) & few)
        | ((filled == 1) & (len(raw.cells) > _FEW_CELLS))
    )
    return stray


def _notices(raw: RawFile, faults: pd.DataFrame) -> Iterable[Problem]:
    if (faults["code"] == "date-month-first").any():
        yield Problem(
            "file-may-be-month-first",
            "Some dates work only with the month first; others here may be turned round unseen.",
            "Ask the sender how they write dates, and send the file again with the day first.",
            file=raw.name,
        )
