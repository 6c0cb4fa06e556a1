"""The ledger: every row read ends in exactly one state, and the counts sum."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt
import pandas as pd


class RowState(StrEnum):
    """What became of a row."""

    USED = "used"
    MERGED = "merged into another"
    REPLACED = "replaced by a correction"
    FORGOTTEN = "forgotten on request"
    HELD = "held back"


STATES = tuple(RowState)
_CODE = {state: code for code, state in enumerate(STATES)}
_Codes = npt.NDArray[np.int8]


def _states(codes: _Codes) -> pd.Categorical:
    return pd.Categorical.from_codes(
        codes, categories=pd.Index([state.value for state in STATES], dtype=object)
    )


@dataclass(frozen=True, repr=False)
class Ledger:
    """Every row read.

    Attributes
    ----------
    rows
        folder, file (number), row (as the spreadsheet shows it), key, replaces, is_correction,
        state (a categorical of `RowState`) and into: the row that a merged or replaced row
        went into, -1 for the others. The index is the row's id.
    added_faults
        Faults found while settling corrections.
    file_names
        The name of each file number.
    """

    rows: pd.DataFrame
    added_faults: pd.DataFrame
    file_names: tuple[str, ...] = ()

    def __repr__(self) -> str:
        """Show the counts only."""
        return f"<Ledger of {len(self.rows)} rows>"

    def is_used(self, row_ids: pd.Index) -> npt.NDArray[np.bool_]:
        """Return which of these rows are used."""
        state = self.rows["state"].cat.codes.to_numpy()
        return np.asarray(state[self.rows.index.get_indexer(row_ids)] == _CODE[RowState.USED])

    def counts(self) -> dict[RowState, int]:
        """Return how many rows are in each state; the sum is the number of rows read."""
        found = self.rows["state"].value_counts()
        return {state: int(found.get(state.value, 0)) for state in STATES}

    def merge(self, members: Mapping[int, int]) -> Ledger:
        """Return a ledger in which each used row of `members` went into its representative."""
        if not members:
            return self
        ids = np.fromiter(members, dtype=np.int64, count=len(members))
        into = np.fromiter(members.values(), dtype=np.int64, count=len(members))
        at = self.rows.index.get_indexer(pd.Index(ids))
        state = np.array(self.rows["state"].cat.codes, dtype=np.int8)
        if not (state[at] == _CODE[RowState.USED]).all():
            msg = "only used rows can be merged"
            raise ValueError(msg)
        state[at] = _CODE[RowState.MERGED]
        target = self.rows["into"].to_numpy(copy=True)
        target[at] = into
        rows = self.rows.assign(state=_states(state), into=target)
        return Ledger(rows, self.added_faults, self.file_names)


def resolve(lines: pd.DataFrame, faults: pd.DataFrame, forgotten: Iterable[int]) -> Ledger:
    """Settle the state of every row.

    The order of precedence is: forgotten, replaced by a correction, identical to another
    row, held for a fault, used. A correction that is itself faulty is held and its original
    still counts as replaced, so the row to mend is shown once.

    Parameters
    ----------
    lines
        folder, file, row, key, replaces, is_correction; the index is the row's id.
    faults
        row_id, column, code, suggestion.
    forgotten
        Ids of rows to forget.
    """
    count = len(lines)
    ids = lines.index.to_numpy(dtype=np.int64)
    state = np.full(count, _CODE[RowState.USED], dtype=np.int8)
    into = np.full(count, -1, dtype=np.int64)
    faulty = np.isin(ids, faults["row_id"].to_numpy(dtype=np.int64))
    gone = np.isin(ids, np.fromiter(forgotten, dtype=np.int64))
    state[gone] = _CODE[RowState.FORGOTTEN]
    added = _settle_corrections(lines, state, into, faulty, gone)
    added_ids = np.array([row_id for row_id, _ in added], dtype=np.int64)
    faulty |= np.isin(ids, added_ids)
    _settle_identical(lines, state, into, faulty)
    state[(state == _CODE[RowState.USED]) & faulty] = _CODE[RowState.HELD]
    rows = lines.assign(state=_states(state), into=into)
    added_faults = pd.DataFrame(
        {
            "row_id": added_ids,
            "column": "key",
            "code": [code for _, code in added],
            "suggestion": "",
        }
    )
    return Ledger(rows, added_faults)


def _settle_corrections(
    lines: pd.DataFrame,
    state: _Codes,
    into: npt.NDArray[np.int64],
    faulty: npt.NDArray[np.bool_],
    gone: npt.NDArray[np.bool_],
) -> list[tuple[int, str]]:
    """Mark what corrections replace; return the faults of corrections themselves."""
    is_correction = lines["is_correction"].to_numpy(dtype=bool)
    if not is_correction.any():
        return []
    ids = lines.index.to_numpy(dtype=np.int64)
    keys, replaces = lines["key"].to_numpy(), lines["replaces"].to_numpy()
    folders = lines["folder"].to_numpy()
    nameless = is_correction & ~gone & (replaces == 0)
    added = [(int(row_id), "correction-without-key") for row_id in ids[nameless]]
    named = pd.DataFrame({"folder": folders, "replaces": replaces})
    named = named[is_correction & ~gone & (replaces != 0)]
    # Few rows are named or repeated by a correction, and only those are looked up.
    asked = np.concatenate([replaces[is_correction], keys[is_correction]])
    some = np.flatnonzero(~is_correction & np.isin(keys, asked))
    found = pd.Series(some).groupby([folders[some], keys[some]]).indices
    for (folder, target), group in named.groupby(["folder", "replaces"], sort=True):
        positions = group.index.to_numpy()
        originals = some[found.get((folder, target), [])]
        valid = positions[~faulty[positions]]
        best = valid if len(valid) else positions
        if not len(originals):
            added.extend(
                (int(ids[p]), "correction-names-no-row")
                for p in positions
                if (folder, keys[p]) not in found
            )
            continue
        live = originals[~gone[originals]]
        state[live] = _CODE[RowState.REPLACED]
        into[live] = ids[best[0]]
        if len(valid):
            beaten = positions[faulty[positions]]
            state[beaten] = _CODE[RowState.REPLACED]
            into[beaten] = ids[valid[0]]
        if len(np.unique(keys[valid])) > 1:
            added.extend((int(ids[p]), "correction-twice") for p in valid)
    return added


def _settle_identical(
    lines: pd.DataFrame,
    state: _Codes,
    into: npt.NDArray[np.int64],
    faulty: npt.NDArray[np.bool_],
) -> None:
    """Merge rows of one kind with the same content into one of them.

    A faultless row goes first: a row may be faulty through what is not its content, such
    as cells beyond the last heading.
    """
    ids = lines.index.to_numpy(dtype=np.int64)
    live = np.flatnonzero((state == _CODE[RowState.USED]) & (lines["key"].to_numpy() != 0))
    # The key is made from the folder too. Few rows share one, and only those are compared.
    keys = lines["key"].to_numpy()[live]
    live = live[pd.Series(keys).duplicated(keep=False).to_numpy()]
    live = live[np.argsort(faulty[live], kind="stable")]
    frame = pd.DataFrame(
        {
            "folder": lines["folder"].to_numpy()[live],
            "key": lines["key"].to_numpy()[live],
            "id": ids[live],
        }
    )
    first = frame.groupby(["folder", "key"], sort=False)["id"].transform("first").to_numpy()
    repeated = ids[live] != first
    state[live[repeated]] = _CODE[RowState.MERGED]
    into[live[repeated]] = first[repeated]
