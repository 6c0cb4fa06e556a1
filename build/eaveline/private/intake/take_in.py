"""Takes in every file of survey_data/: read, check, locate, then one state for each row."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache, partial
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.errors import Problem
from eaveline.private.intake.cells import content_keys
from eaveline.private.intake.check import CheckedFile, check_file
from eaveline.private.intake.crossref import StreetFinder, cross_reference, names
from eaveline.private.intake.files import passed_over, read_all
from eaveline.private.intake.forget import Forgetting, forgotten_rows, load_forgetting
from eaveline.private.intake.forget_lines import lines_without_effect
from eaveline.private.intake.ledger import Ledger, RowState, resolve
from eaveline.private.intake.mappings import load_mappings
from eaveline.private.intake.memory import Memory
from eaveline.private.intake.raw import RawFile
from eaveline.private.intake.schema import KINDS, PLACE_COLUMNS

Locator = Callable[[pd.DataFrame], pd.DataFrame]
"""Takes the place columns of rows; returns easting, northing, uncertainty_m, method,
problem, problem_column, suggestion and repair for each, on the same index."""


@dataclass(frozen=True, repr=False)
class Intake:
    """All that came in.

    Attributes
    ----------
    tables
        For each record kind its usable rows: typed columns, the place found, and `key`.
        The index is the row's number in the ledger.
    ledger
        Every row read, with its state.
    faults, repairs
        row_id, column, code, suggestion: one line for each, of all rows.
    files
        The files as text, for showing original cells.
    notices
        What concerns files rather than rows.
    left_alone
        easting, northing, uncertainty_m, street_slug, house_name of the addresses to forget
        that the address list has.
    """

    tables: Mapping[str, pd.DataFrame]
    ledger: Ledger
    faults: pd.DataFrame
    repairs: pd.DataFrame
    files: tuple[RawFile, ...]
    notices: tuple[Problem, ...]
    left_alone: pd.DataFrame

    @property
    def forgets(self) -> bool:
        """Whether forget.csv names anything that there is."""
        return bool(self.ledger.counts()[RowState.FORGOTTEN]) or len(self.left_alone) > 0

    def __repr__(self) -> str:
        """Show the number of rows only."""
        return f"<Intake of {len(self.ledger.rows)} rows>"


def take_in(
    survey_data: Path,
    *,
    locator: Locator,
    today: dt.date,
    find_street: StreetFinder | None = None,
    progress: Callable[[str], None] = lambda _: None,
    memory: Memory | None = None,
) -> Intake:
    """Read, check and locate everything, and settle the state of each row.

    Parameters
    ----------
    survey_data
        The town's folder of records.
    locator
        Finds places; see `Locator`.
    today
        Dates after it are held.
    find_street
        Finds the streets that watches name.
    progress
        Called with the name of each file before it is read.
    memory
        Of the last reading: files that have not changed are not read again.
    """
    mappings, mapping_notices = load_mappings(survey_data)
    memory = memory or Memory()
    memory.begin(under=(mappings, today))
    files = read_all(survey_data, mappings=mappings, progress=progress, memory=memory)
    forgetting, forget_notices = load_forgetting(survey_data)
    return settle(
        files,
        locator=locator,
        today=today,
        find_street=find_street,
        forgetting=forgetting,
        notices=(*passed_over(survey_data), *mapping_notices, *forget_notices),
        memory=memory,
    )


def settle(
    files: Iterable[RawFile],
    *,
    locator: Locator,
    today: dt.date,
    find_street: StreetFinder | None = None,
    forgetting: Forgetting | None = None,
    notices: Iterable[Problem] = (),
    memory: Memory | None = None,
) -> Intake:
    """Check and locate the rows of `files` and settle the state of each."""
    memory = memory or Memory()
    raw_files = tuple(files)
    found_notices = list(notices)
    typed: dict[str, list[pd.DataFrame]] = {folder: [] for folder in KINDS}
    lines: list[pd.DataFrame] = []
    faults: list[pd.DataFrame] = []
    repairs: list[pd.DataFrame] = []
    start = 0
    for number, raw in enumerate(raw_files):
        # The file stands in its own answer, so that no other can come to its address.
        _, checked, key = memory.recall(id(raw), partial(_checked, raw, today=today))
        found_notices.extend(checked.notices)
        index = pd.RangeIndex(start, start + len(raw))
        typed[raw.folder].append(checked.rows.set_axis(index).assign(key=key))
        lines.append(
            pd.DataFrame(
                {
                    "folder": raw.folder,
                    "file": number,
                    "row": raw.rows,
                    "key": key,
                    "replaces": raw.replaces if raw.replaces is not None else np.uint64(0),
                    "is_correction": raw.replaces is not None,
                },
                index=index,
            )
        )
        for parts, found in ((faults, checked.faults), (repairs, checked.repairs)):
            parts.append(_with_row_ids(found, start))
        start += len(raw)
    tables = {folder: _stack(parts) for folder, parts in typed.items() if parts}
    stray = _stray_rows(_stack_lines(faults))
    for folder, table in tables.items():
        if KINDS[folder].has_place:
            tables[folder], place_faults, place_repairs = _located(table, locator, skip=stray)
            place_faults, named = _placed_by_name(tables[folder], place_faults, folder=folder)
            faults.append(place_faults)
            repairs.extend([place_repairs, named])
    rows = pd.concat(lines) if lines else _no_lines()
    all_faults = _stack_lines(faults)
    forgetting = forgetting or Forgetting()
    names_of_files = tuple(raw.name for raw in raw_files)
    left_alone = _listed(forgetting.addresses, locator)
    found_notices += lines_without_effect(
        forgetting,
        tables,
        rows,
        in_list=frozenset(left_alone.index),
        file_names=names_of_files,
    )
    houses = frozenset(zip(left_alone["street_slug"], left_alone["house_name"], strict=True))
    forgotten = forgotten_rows(tables, rows, forgetting, houses=houses)
    first_pass = resolve(rows, all_faults, forgotten)
    usable = {folder: _used(table, first_pass) for folder, table in tables.items()}
    across = cross_reference(usable, tables, find_street=find_street)
    all_faults = _stack_lines([all_faults, across])
    ledger = resolve(rows, all_faults, forgotten) if len(across) else first_pass
    final = {folder: _used(table, ledger) for folder, table in tables.items()}
    for folder in KINDS:
        final.setdefault(folder, _empty_table(folder))
    return Intake(
        tables=final,
        ledger=replace(ledger, file_names=names_of_files),
        faults=_stack_lines([all_faults, ledger.added_faults]),
        repairs=_stack_lines(repairs),
        files=raw_files,
        notices=tuple(found_notices),
        left_alone=left_alone,
    )


def _checked(
    raw: RawFile, *, today: dt.date
) -> tuple[RawFile, CheckedFile, npt.NDArray[np.uint64]]:
    """Return a file's rows as checked, and their keys."""
    names = [column for column in KINDS[raw.folder].names if column in raw.cells]
    key = content_keys({name: raw.cells[name] for name in names}, kind=raw.folder)
    if not names:
        key = np.zeros(len(raw), dtype=np.uint64)
    return raw, check_file(raw, today=today), key


def _used(table: pd.DataFrame, ledger: Ledger) -> pd.DataFrame:
    used = ledger.is_used(table.index)
    return table if used.all() else table[used]


def _with_row_ids(found: pd.DataFrame, start: int) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "row_id": found["position"].to_numpy(dtype=np.int64) + start,
            "column": found["column"].to_numpy(dtype=object),
            "code": found["code"].to_numpy(dtype=object),
            "suggestion": found["suggestion"].to_numpy(dtype=object),
        }
    )


def _no_lines() -> pd.DataFrame:
    return pd.DataFrame(
        {
            "folder": np.empty(0, dtype=object),
            "file": np.empty(0, dtype=np.int64),
            "row": np.empty(0, dtype=np.int64),
            "key": np.empty(0, dtype=np.uint64),
            "replaces": np.empty(0, dtype=np.uint64),
            "is_correction": np.empty(0, dtype=bool),
        }
    )


def _stack_lines(parts: Iterable[pd.DataFrame]) -> pd.DataFrame:
    filled = [part for part in parts if len(part)]
    if not filled:
        return pd.DataFrame(
            {"row_id": np.empty(0, dtype=np.int64), "column": [], "code": [], "suggestion": []}
        )
    return pd.concat(filled, ignore_index=True)


def _stack(parts: list[pd.DataFrame]) -> pd.DataFrame:
    """Stack tables, joining the categories of text columns."""
    if len(parts) == 1:
        return parts[0]
    index = np.concatenate([part.index.to_numpy() for part in parts])
    columns: dict[str, object] = {}
    for name in parts[0].columns:
        pieces = [part[name] for part in parts]
        if isinstance(pieces[0].dtype, pd.CategoricalDtype):
            columns[name] = pd.api.types.union_categoricals([piece.array for piece in pieces])
        else:
            columns[name] = np.concatenate([piece.to_numpy() for piece in pieces])
    return pd.DataFrame(columns, index=index)


def _stray_rows(faults: pd.DataFrame) -> npt.NDArray[np.int64]:
    """Return the ids of rows that are no records or say no place: no use locating them."""
    stray = faults["code"].isin(["line-not-a-record", "place-missing"])
    return faults.loc[stray, "row_id"].to_numpy(dtype=np.int64)


_PLACE_RESULTS = ("easting", "northing", "uncertainty_m", "method", "street_slug", "house_name")


def _located(
    table: pd.DataFrame, locator: Locator, *, skip: npt.NDArray[np.int64]
) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    places = table[list(PLACE_COLUMNS)]
    somewhere = places.notna().any(axis=1).to_numpy() & ~np.isin(table.index.to_numpy(), skip)
    found = locator(places[somewhere]).reindex(table.index)
    located = table.drop(columns=["easting", "northing"]).assign(
        **{name: found[name] for name in _PLACE_RESULTS if name in found}
    )
    return located, _lines_of(found, "problem"), _lines_of(found, "repair")


_LISTED = ("easting", "northing", "uncertainty_m", "street_slug", "house_name")


def _listed(addresses: Collection[str], locator: Locator) -> pd.DataFrame:
    """Return the places of those of some addresses that the address list has, by address."""
    if not addresses:
        return pd.DataFrame({name: pd.Series(dtype=object) for name in _LISTED})
    spelt = sorted(addresses)
    places = pd.DataFrame(index=spelt, columns=list(PLACE_COLUMNS), dtype="category")
    found = locator(places.assign(street=pd.Categorical(spelt)))
    return found[list(_LISTED)].dropna(subset=["street_slug", "house_name"])


_DESCRIPTIONS = frozenset({"place-is-relative", "place-is-opposite", "place-is-corner"})
"""Faults of places that are told rather than given ("third house along")."""


def _placed_by_name(
    table: pd.DataFrame, faults: pd.DataFrame, *, folder: str
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Take descriptions of a place for what they are where the site's or box's name tells it.

    Returns
    -------
    faults, repairs
        The faults that stay, and a repair for each description that was passed over because
        another row gives the place of the site or box it names.
    """
    name = KINDS[folder].place_from
    if name is None or name not in table or not len(faults):
        return faults, _stack_lines([])
    titles = names(table[name])
    placed = set(titles[table["easting"].notna()].dropna())
    told = faults["code"].isin(_DESCRIPTIONS) & faults["row_id"].map(titles).isin(placed)
    repaired = faults[told].assign(code="place-of-namesake-used", suggestion="")
    return faults[~told], repaired


def _lines_of(found: pd.DataFrame, what: str) -> pd.DataFrame:
    hit = found[found[what].notna()]
    suggestion = hit["suggestion"].astype(object).where(hit["suggestion"].notna(), "")
    return pd.DataFrame(
        {
            "row_id": hit.index.to_numpy(dtype=np.int64),
            "column": hit["problem_column"]
            .astype(object)
            .where(hit["problem_column"].notna(), "place")
            .to_numpy(),
            "code": hit[what].astype(object).to_numpy(),
            "suggestion": suggestion.to_numpy(),
        }
    )


@cache
def _empty_table(folder: str) -> pd.DataFrame:
    raw = RawFile(folder, "", {}, np.empty(0, dtype=np.int64), np.empty(0, dtype=bool))
    table = check_file(raw, today=dt.date.max).rows.assign(key=np.empty(0, dtype=np.uint64))
    if KINDS[folder].has_place:
        table = table.drop(columns=["easting", "northing"]).assign(
            easting=np.empty(0),
            northing=np.empty(0),
            uncertainty_m=np.empty(0),
            method=np.empty(0, dtype=object),
            street_slug=np.empty(0, dtype=object),
            house_name=np.empty(0, dtype=object),
        )
    return table.set_axis(pd.Index([], dtype=np.int64))
