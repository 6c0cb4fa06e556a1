"""Reads one file of records, whatever its encoding and separator, into columns of text."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd
from rapidfuzz import fuzz, process

from eaveline.errors import Problem
from eaveline.private.cells import blank_column, text_column, text_column_of, trimmed
from eaveline.private.schema import KINDS, heading_table, plain

SPREADSHEETS = frozenset({".xlsx", ".xlsm", ".xls", ".ods"})
TEXT_FILES = frozenset({".csv", ".tsv", ".txt"})
HEADING_SEARCH_ROWS = 30
_SEPARATORS = (",", ";", "\t")
_LONGEST_CELL = 20_000
_MOST_LINES_IN_A_CELL = 20


@dataclass(frozen=True, repr=False)
class RawFile:
    """One file's records as text.

    Attributes
    ----------
    folder
        The record kind's folder.
    name
        The file's path below survey_data/, with forward slashes (and the sheet, if several).
    cells
        A column for each canonical name present, each a categorical of texts, and one for
        each unknown heading under ``"? heading"``.
    rows
        Each record's row as a spreadsheet shows it.
    too_long
        Whether the record has filled cells beyond the last heading.
    replaces
        Corrections only: the key of the row each record replaces.
    notices
        What a person should know about the file as a whole.
    """

    folder: str
    name: str
    cells: dict[str, pd.Categorical]
    rows: npt.NDArray[np.int64]
    too_long: npt.NDArray[np.bool_]
    replaces: npt.NDArray[np.uint64] | None = None
    notices: tuple[Problem, ...] = field(default=())

    def __repr__(self) -> str:
        """Show the number of rows only, so that no cell reaches a log."""
        return f"<RawFile of {len(self)} rows>"

    def __len__(self) -> int:
        """Return the number of records."""
        return len(self.rows)


Grid = list[list[str]]


def read_file(path: Path, *, folder: str, name: str) -> list[RawFile]:
    """Read every table in one file.

    Returns
    -------
    list of RawFile
        One for a CSV, one for each filled sheet of a workbook. A file that cannot be used
        comes back as a RawFile without rows whose notices say why, so that it is never
        passed over in silence.
    """
    suffix = path.suffix.casefold()
    try:
        if suffix in SPREADSHEETS:
            return _read_workbook(path, folder=folder, name=name)
        data = path.read_bytes()
    except Exception as error:  # noqa: BLE001 - whatever a damaged file raises, the build goes on
        return [
            _unusable(
                folder,
                name,
                "file-unreadable",
                f"The file cannot be opened ({type(error).__name__}).",
                "Open it in a spreadsheet, save it as CSV under a new name and remove this one.",
            )
        ]
    if data[:4] == b"PK\x03\x04" or data[:4] == b"\xd0\xcf\x11\xe0":
        return [
            _unusable(
                folder,
                name,
                "file-is-a-workbook",
                "This is a spreadsheet file with the ending of a text file.",
                "Give it the ending .xlsx or .ods, or export it as CSV.",
            )
        ]
    if not data.strip(b"\x00\xff\xfe\xef\xbb\xbf \t\r\n,;"):
        return [
            _unusable(
                folder,
                name,
                "file-empty",
                "The file holds nothing.",
                "Remove it, or send it again.",
            )
        ]
    text, encoding_notice = decode(data, name=name)
    fast = _read_fast(data, text, folder=folder, name=name)
    if fast is not None:
        return [fast]
    grid, notices = text_grid(text, heading_table(folder), name=name)
    notices = [encoding_notice, *notices] if encoding_notice else notices
    return [from_grid(grid, folder=folder, name=name, notices=notices)]


def text_grid(text: str, known: Container[str], *, name: str) -> tuple[Grid, list[Problem]]:
    """Return the cells of a text file under the separator that makes most sense of its headings."""
    notices: list[Problem] = []
    separator = _separator(text, known)
    grid = _grid(text, separator)
    if _swallowed(grid):
        grid = _grid(text, separator, quoting=csv.QUOTE_NONE)
        grid = [[cell.strip('"') for cell in row] for row in grid]
        notices.append(
            Problem(
                "quote-unclosed",
                "A quotation mark is opened and never closed.",
                "The lines were read without regard to quotation marks; look at them.",
                file=name,
            )
        )
    return grid, notices


def decode(data: bytes, *, name: str) -> tuple[str, Problem | None]:
    """Return the text of a file in UTF-8, UTF-16 or Windows-1252."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", errors="replace").lstrip("\ufeff"), None
    sample = data[:2000]
    if sample.count(0) > len(sample) // 4:  # UTF-16 saved without its mark
        order = "utf-16-le" if sample[1::2].count(0) >= sample[::2].count(0) else "utf-16-be"
        return data.decode(order, errors="replace").lstrip("\ufeff"), None
    try:
        return data.decode("utf-8-sig"), None
    except UnicodeDecodeError:
        text = data.decode("cp1252", errors="replace")
        if "\ufffd" in text or "\x00" in text:
            return text.replace("\x00", ""), Problem(
                "letters-unreadable",
                "Some letters in this file cannot be read.",
                "Look for odd marks in names and notes; saving the file as UTF-8 mends it.",
                file=name,
            )
        return text, None


def _separator(text: str, known: Container[str]) -> str:
    """Return the separator under which some early line has most known headings."""
    lines = (
        text[:20_000].replace("\r\n", "\n").replace("\r", "\n").split("\n")[:HEADING_SEARCH_ROWS]
    )

    def score(separator: str) -> int:
        return max(
            (sum(plain(cell) in known for cell in line.split(separator)) for line in lines),
            default=0,
        )

    return max(_SEPARATORS, key=lambda separator: (score(separator), -_SEPARATORS.index(separator)))


def _grid(text: str, separator: str, *, quoting: int = csv.QUOTE_MINIMAL) -> Grid:
    csv.field_size_limit(10_000_000)
    source = io.StringIO(text.replace("\x00", ""), newline="")
    return list(csv.reader(source, delimiter=separator, quoting=quoting))  # type: ignore[arg-type]


def _swallowed(grid: Grid) -> bool:
    """Say whether a stray quotation mark has swallowed lines into one cell."""
    return any(
        len(cell) > _LONGEST_CELL or cell.count("\n") + cell.count("\r") > _MOST_LINES_IN_A_CELL
        for row in grid
        for cell in row
    )


def _read_fast(data: bytes, text: str, *, folder: str, name: str) -> RawFile | None:
    """Read a clean UTF-8 comma file with headings in row 1 through Arrow, or return None."""
    from pyarrow import ArrowInvalid, csv as arrow_csv, string  # noqa: PLC0415 - keeps `--help` quick

    body = data.removeprefix(b"\xef\xbb\xbf")
    if (
        b"\x00" in body[:100]
        or b"\r" in body.replace(b"\r\n", b"")
        or re.search(rb"\n[ \t,;\"]*\r?\n", body)
        or body[:1] in b"\r\n"
    ):
        return None
    first_line = text.split("\n", 1)[0].rstrip("\r")
    headings = next(csv.reader([first_line]), [])
    known = heading_table(folder)
    if (
        sum(plain(heading) in known for heading in headings) < max(2, len(headings) // 2)
        or first_line.count('"') % 2  # a heading that runs over several lines
    ):
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
    columns = []
    for column in table.columns:
        encoded = column.combine_chunks().dictionary_encode()
        distinct = encoded.dictionary.to_pylist()
        if any(
            len(cell) > _LONGEST_CELL or cell.count("\n") > _MOST_LINES_IN_A_CELL
            for cell in distinct
        ):
            return None
        columns.append(text_column(distinct, encoded.indices.to_numpy(zero_copy_only=False)))
    rows = np.arange(2, table.num_rows + 2, dtype=np.int64)
    return _assemble(
        headings, columns, rows, np.zeros(len(rows), dtype=bool), folder=folder, name=name
    )


def from_grid(grid: Grid, *, folder: str, name: str, notices: Iterable[Problem] = ()) -> RawFile:
    """Find the headings in a grid of cells and return the records below them."""
    known = heading_table(folder)
    start = find_headings(grid, known)
    if start is None:
        return _unusable(
            folder,
            name,
            "headings-not-found",
            "No row holds headings that fit this folder.",
            f"Put the headings of {folder}/ above the records, or move the file to the folder it belongs in.",
            also=notices,
        )
    headings = [trimmed(cell) for cell in grid[start]]
    while headings and not headings[-1]:
        headings.pop()
    width = len(headings)
    records = [
        (number, row)
        for number, row in enumerate(grid[start + 1 :], start=start + 2)
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
    return _assemble(headings, columns, rows, too_long, folder=folder, name=name, notices=notices)


def find_headings(grid: Grid, known: Container[str]) -> int | None:
    """Return the index of the row with most known headings (at least two), or None."""
    best, best_score = None, 1
    for index, row in enumerate(grid[:HEADING_SEARCH_ROWS]):
        filled = [plain(cell) for cell in row if trimmed(cell)]
        score = len({cell for cell in filled if cell in known})
        if score > best_score:
            best, best_score = index, score
    return best


def _assemble(
    headings: Sequence[str],
    columns: Sequence[pd.Categorical],
    rows: npt.NDArray[np.int64],
    too_long: npt.NDArray[np.bool_],
    *,
    folder: str,
    name: str,
    notices: Iterable[Problem] = (),
) -> RawFile:
    """Give each column its canonical name; say which headings are unknown or doubled."""
    known = heading_table(folder)
    own_names = {plain(canonical): canonical for canonical in KINDS[folder].names}
    found = list(notices)
    cells: dict[str, pd.Categorical] = {}
    meanings = [known.get(plain(heading)) if heading else None for heading in headings]
    bare = _bare_number(headings, meanings)
    if bare is not None:
        meanings[bare] = None if "street" in meanings else "birds"
    # A heading that is the canonical name itself is taken before any alias of it.
    order = sorted(
        range(len(headings)), key=lambda index: (plain(headings[index]) not in own_names, index)
    )
    for index in order:
        heading, column = headings[index], columns[index]
        if not heading and not len(column.categories):
            continue
        canonical = meanings[index]
        if canonical is not None and canonical not in cells:
            cells[canonical] = column
            continue
        label = f"? {heading or f'column {index + 1}'}"
        while label in cells:
            label += "'"
        cells[label] = column
        if index == bare:
            found.append(_ambiguous(name, number=index + 1))
            continue
        found.append(
            _heading_notice(heading, canonical, folder=folder, name=name, number=index + 1)
        )
    return RawFile(folder, name, cells, rows, too_long, notices=tuple(found))


def _bare_number(headings: Sequence[str], meanings: Sequence[str | None]) -> int | None:
    """Return the column headed just "Number" in a file of birds that has no other count.

    It may be the house's number or the number of birds. Without a street it can't be a
    house's; with one, only the sender knows.
    """
    if "behaviour" not in meanings or "birds" in meanings or "nests" in meanings:
        return None
    bare = [
        index
        for index, heading in enumerate(headings)
        if plain(heading) in {"number", "no", "num"} and meanings[index] == "house"
    ]
    return bare[0] if len(bare) == 1 else None


def _ambiguous(name: str, *, number: int) -> Problem:
    return Problem(
        "column-ambiguous",
        "This heading may mean the house or the number of birds, so its cells are not used.",
        "Call it 'House no' or 'No. seen', and send the file again.",
        file=name,
        column=f"number {number}",
    )


def _heading_notice(
    heading: str, canonical: str | None, *, folder: str, name: str, number: int
) -> Problem:
    place = f"number {number}"
    if canonical is not None:
        return Problem(
            "column-twice",
            f"Two columns both mean {canonical}; the second was kept but not used.",
            "Leave one of them, or rename the other.",
            file=name,
            column=place,
        )
    near = (
        process.extractOne(
            plain(heading), list(heading_table(folder)), scorer=fuzz.ratio, score_cutoff=70
        )
        if heading
        else None
    )
    hint = f" The nearest known name is {heading_table(folder)[near[0]]}." if near else ""
    return Problem(
        "column-unknown",
        f"This heading is not known, so its cells are kept but not used.{hint}",
        "Rename it if it should count; otherwise nothing is needed.",
        file=name,
        column=place,
    )


def _unusable(
    folder: str, name: str, code: str, what: str, step: str, *, also: Iterable[Problem] = ()
) -> RawFile:
    return RawFile(
        folder,
        name,
        {},
        np.empty(0, dtype=np.int64),
        np.empty(0, dtype=bool),
        notices=(*also, Problem(code, what, step, file=name)),
    )


def workbook_grids(path: Path) -> list[tuple[str, Grid]]:
    """Return the filled sheets of a workbook as texts, with their names."""
    from python_calamine import CalamineWorkbook  # noqa: PLC0415 - only workbooks need it

    workbook = CalamineWorkbook.from_path(path)
    tables = []
    for sheet_name in workbook.sheet_names:
        sheet = workbook.get_sheet_by_name(sheet_name).to_python(skip_empty_area=False)
        grid = [[cell_text(cell) for cell in row] for row in sheet]
        if any(cell for row in grid for cell in row):
            tables.append((sheet_name, grid))
    return tables


def _read_workbook(path: Path, *, folder: str, name: str) -> list[RawFile]:
    tables = workbook_grids(path)
    if not tables:
        return [
            _unusable(
                folder,
                name,
                "file-empty",
                "The file holds nothing.",
                "Remove it, or send it again.",
            )
        ]
    several = len(tables) > 1
    return [
        from_grid(grid, folder=folder, name=f"{name} [{sheet_name}]" if several else name)
        for sheet_name, grid in tables
    ]


def cell_text(cell: object) -> str:
    """Return a workbook cell as a person would type it."""
    match cell:
        case None:
            return ""
        case bool():
            return "yes" if cell else "no"
        case float() if cell.is_integer() and abs(cell) < 1e15:
            return str(int(cell))
        case dt.datetime() if cell.time() == dt.time(0):
            return cell.date().isoformat()
        case dt.datetime() if cell.date() <= dt.date(1900, 1, 1):  # a bare time of day
            return cell.strftime("%H:%M")
        case dt.datetime() | dt.date():
            return cell.isoformat()
        case dt.time():
            return cell.strftime("%H:%M")
        case dt.timedelta():
            minutes = round(cell.total_seconds() / 60)
            return f"{minutes // 60:02d}:{minutes % 60:02d}"
        case _:
            return str(cell)


def empty_columns(raw: RawFile, names: Iterable[str]) -> dict[str, pd.Categorical]:
    """Return a column for each of `names`, blank where the file has none."""
    return {name: raw.cells.get(name, blank_column(len(raw))) for name in names}
