"""Rows that a later file gives again with other cells, side by side."""

from __future__ import annotations

import csv
import io
from itertools import combinations, pairwise
from types import MappingProxyType

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.private.intake.cells import blank_column, content_keys, key_texts
from eaveline.private.intake.ledger import Ledger, RowState
from eaveline.private.intake.raw import RawFile
from eaveline.private.intake.take_in import Intake

_IDENTITY: MappingProxyType[str, tuple[str, ...]] = MappingProxyType(
    {
        "sightings": ("seen_by", "date", "time"),
        "nest_sites": ("site", "street", "house", "grid_ref", "season", "date", "species"),
        "boxes": ("box", "fixed_on"),
        "checks": ("box", "cavity", "date"),
        "watches": ("watchers", "date", "start"),
        "requests": ("street", "house", "asked_on"),
        "planning": ("reference",),
    }
)
"""Columns in which a row and its changed copy agree as written: who, when and what it is."""
_HEADER = (
    "first",
    "second",
    "decision",
    "decided_by",
    "why",
    "folder",
    "column",
    "first_cell",
    "second_cell",
    "first_file",
    "first_row",
    "first_state",
    "second_file",
    "second_row",
    "second_state",
)
_MOST_PAIRS = 1_000
_FEW_VERSIONS = 3
_LEAST_FILLED = 2
"""With fewer of those columns filled, agreeing says nothing."""


def changed_rows(intake: Intake, ledger: Ledger) -> bytes:
    """Return changed-rows.csv: pairs of rows from two files that differ in some cells only.

    A longer copy of last month's spreadsheet brings its unchanged rows again, which are one
    row; those that somebody has changed in between are here. Its first columns are those of
    decisions/, which takes pairs of sightings and of nest sites.
    """
    starts = np.cumsum([0, *(len(raw) for raw in intake.files)])
    state, keys = ledger.rows["state"].to_numpy(dtype=object), ledger.rows["key"].to_numpy()
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(_HEADER)
    for (one, here), (other, there) in _pairs(intake.files)[:_MOST_PAIRS]:
        raws = intake.files[one], intake.files[other]
        ids = int(starts[one]) + here, int(starts[other]) + there
        if {state[each] for each in ids} & {RowState.REPLACED.value, RowState.FORGOTTEN.value}:
            continue
        decidable = raws[0].folder in {"sightings", "nest_sites"}
        names = key_texts(keys[list(ids)]) if decidable else ["", ""]
        for column, cells in _differences(raws, (here, there)):
            first, second = (
                (raw.name, raw.rows[place], state[row_id])
                for raw, place, row_id in zip(raws, (here, there), ids, strict=True)
            )
            writer.writerow([*names, "", "", "", raws[0].folder, column, *cells, *first, *second])
    return text.getvalue().encode("utf-8-sig")


_Place = tuple[int, int]
"""The number of a file, and a record's position in it."""


def _pairs(files: tuple[RawFile, ...]) -> list[tuple[_Place, _Place]]:
    """Return places of rows that agree in identity and not in content, of different files."""
    found: list[tuple[_Place, _Place]] = []
    for folder, columns in _IDENTITY.items():
        numbers = [
            number
            for number, raw in enumerate(files)
            if raw.folder == folder and len(raw) and raw.replaces is None
        ]
        if len(numbers) < 2:  # noqa: PLR2004 - a row and its copy
            continue
        rows = pd.concat([_identities(files[number], columns, number) for number in numbers])
        rows = rows[rows.duplicated("identity", keep=False)].drop_duplicates(["identity", "key"])
        rows = rows[rows.duplicated("identity", keep=False)]
        for _, group in rows.groupby("identity", sort=False):
            places = list(zip(group["file"].tolist(), group["position"].tolist(), strict=True))
            # Of few versions every two; of many each beside the next.
            found += [
                (one, other)
                for one, other in (
                    combinations(places, 2) if len(places) <= _FEW_VERSIONS else pairwise(places)
                )
                if one[0] != other[0]
            ]
    return found


def _identities(raw: RawFile, columns: tuple[str, ...], number: int) -> pd.DataFrame:
    """Return identity, content key, file and position of the rows that say who they are."""
    present = {name: raw.cells[name] for name in columns if name in raw.cells}
    filled = np.zeros(len(raw), dtype=np.int64)
    for column in present.values():
        filled += column.codes >= 0
    own = {name: column for name, column in raw.cells.items() if not name.startswith("?")}
    rows = pd.DataFrame(
        {
            "identity": content_keys(present, kind=raw.folder) if present else np.uint64(0),
            "key": content_keys(own, kind=raw.folder),
            "file": number,
            "position": np.arange(len(raw)),
        }
    )
    return rows[filled >= min(_LEAST_FILLED, len(columns))]


def _differences(
    raws: tuple[RawFile, RawFile], places: tuple[int, int]
) -> list[tuple[str, tuple[str, str]]]:
    """Return the columns in which two rows differ, with both cells."""
    found = []
    for name in dict.fromkeys(name for raw in raws for name in raw.cells if name[0] != "?"):
        first, second = (
            _cell(raw.cells.get(name, blank_column(len(raw))), place)
            for raw, place in zip(raws, places, strict=True)
        )
        if first.casefold() != second.casefold():
            found.append((name, (first, second)))
    return found


def _cell(column: pd.Categorical, place: int) -> str:
    codes: npt.NDArray[np.integer] = column.codes
    return str(column.categories[codes[place]]) if codes[place] >= 0 else ""
