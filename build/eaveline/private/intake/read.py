"""Reads one file of records, whatever its form, into columns of text."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.errors import Problem
from eaveline.private.intake.cells import text_column, text_column_of, trimmed
from eaveline.private.intake.headings import (
    HeadingWords,
    ambiguous_notice,
    bare_number,
    heading_notice,
    headings_of,
    lacking,
    likely_headings,
    meanings_of,
    nearest_name,
)
from eaveline.private.intake.mappings import ColumnMapping, mapping_file_name, mapping_for
from eaveline.private.intake.raw import Heading, RawFile, unusable
from eaveline.private.intake.schema import KINDS, plain
from eaveline.private.intake.text_grids import (
    LONGEST_CELL,
    MOST_LINES_IN_A_CELL,
    Grid,
    decode,
    split_cells,
    text_grid,
)
from eaveline.private.intake.workbook_grids import (
    SPREADSHEETS,
    has_failed_formula,
    is_locked,
    workbook_grids,
)

TEXT_FILES = frozenset({".csv", ".tsv", ".txt"})
_EMPTY_LINE = re.compile(rb"\n\r?\n")
"""Arrow passes over such a line, so the rows below it would be numbered wrongly."""
_WORKBOOK_STARTS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
"""The first bytes of a zip archive (.xlsx, .ods) and of an old workbook (.xls)."""

Mappings = Sequence[ColumnMapping]


def read_file(path: Path, *, folder: str, name: str, mappings: Mappings = ()) -> list[RawFile]:
    """Read every table in one file.

    Parameters
    ----------
    path
        The file.
    folder
        The record kind's folder.
    name
        What to call the file in messages.
    mappings
        Confirmed column mappings.

    Returns
    -------
    list of RawFile
        One for a CSV, one for each filled sheet of a workbook. A file that cannot be used
        comes back as a RawFile without rows whose notices say why, so that it is never
        passed over in silence.
    """
    try:
        data = path.read_bytes()
        if path.suffix.casefold() in SPREADSHEETS and data:
            return _read_workbook(path, folder=folder, name=name, mappings=mappings)
    except Exception as error:  # noqa: BLE001 - whatever a damaged file raises, the build goes on
        return [
            unusable(
                folder,
                name,
                "file-unreadable",
                f"The file cannot be opened ({type(error).__name__}).",
                "Open it in a spreadsheet, save it as CSV under a new name and remove this one.",
            )
        ]
    if data.startswith(_WORKBOOK_STARTS):
        return [
            unusable(
                folder,
                name,
                "file-is-a-workbook",
                "This is a spreadsheet file with the ending of a text file.",
                "Give it the ending .xlsx or .ods, or export it as CSV.",
            )
        ]
    if not data.strip(b"\x00\xff\xfe\xef\xbb\xbf \t\r\n,;"):
        return [_empty(folder, name)]
    text, encoding_notice = decode(data, name=name)
    fast = _read_fast(data, text, folder=folder, name=name, mappings=mappings)
    if fast is not None:
        return [fast]
    grid, notices = text_grid(text, HeadingWords(folder, mappings), name=name)
    notices = [encoding_notice, *notices] if encoding_notice else notices
    return [from_grid(grid, folder=folder, name=name, notices=notices, mappings=mappings)]


def _empty(folder: str, name: str) -> RawFile:
    return unusable(
        folder, name, "file-empty", "The file holds nothing.", "Remove it, or send it again."
    )


def _locked(folder: str, name: str) -> RawFile:
    return unusable(
        folder,
        name,
        "file-locked",
        "The workbook opens only with a password, so no row of it was read.",
        "Open it with the password, save it as CSV and remove this one.",
    )


def _read_workbook(path: Path, *, folder: str, name: str, mappings: Mappings) -> list[RawFile]:
    if is_locked(path.read_bytes()):
        return [_locked(folder, name)]
    tables = workbook_grids(path)
    if not tables:
        return [_empty(folder, name)]
    several = len(tables) > 1
    failed = Problem(
        "formula-failed",
        "Some cells show an error instead of a result; they were read as empty.",
        "Mend the formulas, or type the values.",
        file=name,
    )
    notices = [failed] if has_failed_formula(path) else []
    return [
        from_grid(
            grid,
            folder=folder,
            name=f"{name} [{sheet_name}]" if several else name,
            notices=notices,
            mappings=mappings,
        )
        for sheet_name, grid in tables
    ]


def _read_fast(
    data: bytes, text: str, *, folder: str, name: str, mappings: Mappings
) -> RawFile | None:
    """Read a clean UTF-8 comma file with headings in row 1 through Arrow, or return None."""
    from pyarrow import ArrowInvalid, string  # noqa: PLC0415 - for a quick start
    from pyarrow import csv as arrow_csv  # noqa: PLC0415 - the same

    body = data.removeprefix(b"\xef\xbb\xbf")
    if (
        b"\x00" in body[:100]
        or body.count(b"\r") != body.count(b"\r\n")
        or _EMPTY_LINE.search(body)
        or body[:1] in b"\r\n"
    ):
        return None
    first_line, _, second = text.partition("\n")
    if first_line.count('"') % 2:  # a heading that runs over several lines
        return None
    early = split_cells(f"{first_line}\n{second[:2000]}", ",")[:2]
    found = headings_of(early, HeadingWords(folder, mappings)) if early else None
    headings = [trimmed(cell) for cell in early[0]]
    if found is None or found != (headings, 1):
        return None
    names = [f"c{index}" for index in range(len(headings))]
    try:
        table = arrow_csv.read_csv(
            io.BytesIO(body),
            read_options=arrow_csv.ReadOptions(column_names=names, skip_rows=1, encoding="utf8"),
            parse_options=arrow_csv.ParseOptions(newlines_in_values=b'"' in body),
            convert_options=arrow_csv.ConvertOptions(
                column_types=dict.fromkeys(names, string()), strings_can_be_null=False
            ),
        )
    except (ArrowInvalid, UnicodeDecodeError):
        return None
    columns: list[pd.Categorical] = []
    for column in table.columns:
        encoded = column.combine_chunks().dictionary_encode()
        distinct = encoded.dictionary.to_pylist()
        if any(
            len(cell) > LONGEST_CELL or cell.count("\n") > MOST_LINES_IN_A_CELL for cell in distinct
        ):
            return None
        columns.append(text_column(distinct, encoded.indices.to_numpy(zero_copy_only=False)))
    filled = np.flatnonzero(np.logical_or.reduce([column.codes >= 0 for column in columns]))
    rows = filled.astype(np.int64) + 2
    return _assemble(
        headings,
        columns if len(rows) == table.num_rows else [column.take(filled) for column in columns],
        rows,
        np.zeros(len(rows), dtype=bool),
        folder=folder,
        name=name,
        mappings=mappings,
    )


def from_grid(
    grid: Grid,
    *,
    folder: str,
    name: str,
    notices: Iterable[Problem] = (),
    mappings: Mappings = (),
) -> RawFile:
    """Find the headings in a grid of cells and return the records below them."""
    found = headings_of(grid, HeadingWords(folder, mappings))
    if found is None:
        return _without_headings(grid, folder=folder, name=name, notices=notices)
    headings, start = found
    while headings and not headings[-1]:
        headings.pop()
    width = len(headings)
    records = [
        (number, row)
        for number, row in enumerate(grid[start:], start=start + 1)
        if any(trimmed(cell) for cell in row)
    ]
    rows = np.array([number for number, _ in records], dtype=np.int64)
    too_long = np.array(
        [any(trimmed(cell) for cell in row[width:]) for _, row in records], dtype=bool
    )
    columns = [
        text_column_of(row[index] if index < len(row) else "" for _, row in records)
        for index in range(width)
    ]
    return _assemble(
        headings,
        columns,
        rows,
        too_long,
        folder=folder,
        name=name,
        notices=notices,
        mappings=mappings,
    )


def _without_headings(grid: Grid, *, folder: str, name: str, notices: Iterable[Problem]) -> RawFile:
    likely = likely_headings(grid)
    below = grid[likely + 1 :] if likely is not None else []
    unmapped = [
        Heading(
            trimmed(text),
            None,
            nearest_name(text, folder=folder),
            next((trimmed(row[at]) for row in below if at < len(row) and trimmed(row[at])), ""),
        )
        for at, text in enumerate(grid[likely] if likely is not None else [])
    ]
    step = f"Put the headings of {folder}/ above the records, or move the file where it belongs"
    if unmapped:
        step += f", or complete private/review/mappings/{mapping_file_name(name)} and move it"
        step += " to survey_data/mappings"
    return unusable(
        folder,
        name,
        "headings-not-found",
        "No row holds headings that fit this folder.",
        f"{step}.",
        also=notices,
        unmapped=unmapped,
    )


def _assemble(
    headings: Sequence[str],
    columns: Sequence[pd.Categorical],
    rows: npt.NDArray[np.int64],
    too_long: npt.NDArray[np.bool_],
    *,
    folder: str,
    name: str,
    notices: Iterable[Problem] = (),
    mappings: Mappings = (),
) -> RawFile:
    """Give each column its canonical name; say which headings are unknown or doubled."""
    mapping = mapping_for(headings, folder=folder, mappings=mappings)
    mapped = mapping.means if mapping else {}
    meanings = meanings_of(headings, folder=folder, mapping=mapping)
    found = list(notices)
    bare = None if mapping else bare_number(headings, meanings)
    if bare is not None:
        meanings[bare] = None if "street" in meanings else "birds"
    cells: dict[str, pd.Categorical] = {}
    own_names = {plain(canonical) for canonical in KINDS[folder].names}
    # A heading that a mapping names, then the canonical name itself, goes before any alias.
    order = sorted(
        range(len(headings)),
        key=lambda at: (
            plain(headings[at]) not in mapped,
            plain(headings[at]) not in own_names,
            at,
        ),
    )
    for index in order:
        heading, column, canonical = headings[index], columns[index], meanings[index]
        if not heading and not len(column.categories):
            continue
        if canonical is not None and canonical not in cells:
            cells[canonical] = column
            continue
        label = f"? {heading or f'column {index + 1}'}"
        while label in cells:
            label += "'"
        cells[label] = column
        if index == bare:
            found.append(ambiguous_notice(name, number=index + 1))
        elif plain(heading) not in mapped or canonical is not None:
            found.append(
                heading_notice(heading, canonical, folder=folder, name=name, number=index + 1)
            )
    for canonical, text in mapping.always.items() if mapping else ():
        cells.setdefault(canonical, text_column([text], np.zeros(len(rows), dtype=np.int64)))
    raw = RawFile(folder, name, cells, rows, too_long, notices=tuple(found))
    return _asking_for_a_mapping(raw, headings, columns, meanings)


def _asking_for_a_mapping(
    raw: RawFile,
    headings: Sequence[str],
    columns: Sequence[pd.Categorical],
    meanings: Sequence[str | None],
) -> RawFile:
    """Say what the headings lack for any row to be used, if anything."""
    missing = lacking(raw.cells, folder=raw.folder) if len(raw) else ()
    if not missing:
        return raw
    notice = Problem(
        "columns-missing",
        f"No heading says {', '.join(missing)}, so the rows cannot be used.",
        f"Complete private/review/mappings/{mapping_file_name(raw.name)} and move it to"
        " survey_data/mappings, or add the column.",
        file=raw.name,
    )
    unmapped = tuple(
        Heading(
            heading,
            meaning,
            nearest_name(heading, folder=raw.folder) if meaning is None else None,
            str(column.categories[0]) if len(column.categories) else "",
        )
        for heading, column, meaning in zip(headings, columns, meanings, strict=True)
    )
    return replace(raw, notices=(*raw.notices, notice), unmapped=unmapped)
