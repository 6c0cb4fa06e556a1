"""A text file as a grid of cells, whatever its encoding, separator and line ends."""

from __future__ import annotations

import csv
import io
from collections.abc import Container, Sequence
from typing import Literal

from eaveline.errors import Problem
from eaveline.private.intake.cells import trimmed
from eaveline.private.intake.schema import plain

Grid = list[list[str]]
Row = dict[str, str]

HEADING_SEARCH_ROWS = 30
"""How far down headings are looked for (common practice, no source)."""
LONGEST_CELL = 20_000
MOST_LINES_IN_A_CELL = 20
"""A cell beyond either limit was made by a quotation mark that nobody closed."""
_SEPARATORS = (",", ";", "\t", "|")
_LARGEST_FIELD = 2**31 - 1
"""The most that the csv module takes on every system; a cell past `LONGEST_CELL` is told below."""
_Quoting = Literal[0, 3]


def decode(data: bytes, *, name: str) -> tuple[str, Problem | None]:
    """Return the text of a file in UTF-8, UTF-16 or Windows-1252."""
    if data[:2] in {b"\xff\xfe", b"\xfe\xff"}:
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


def text_grid(text: str, known: Container[str], *, name: str) -> tuple[Grid, list[Problem]]:
    """Return the cells of a text file under the separator that makes most sense of its headings."""
    notices: list[Problem] = []
    separator = _separator(text, known)
    grid = split_cells(text, separator)
    if _swallowed(grid):
        grid = split_cells(text, separator, quoting=csv.QUOTE_NONE)
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


def named_rows(grid: Grid, names: Sequence[str]) -> tuple[list[str], list[tuple[int, Row]]]:
    """Return the rows of a small table of our own, whatever order its columns have come into.

    Parameters
    ----------
    grid
        Cells; the headings stand in the first row that holds anything.
    names
        The columns to take.

    Returns
    -------
    missing
        Those of the names that are no heading.
    rows
        Each filled row below the headings: its number as a spreadsheet shows it, and its trimmed
        cells by the names of those columns that are there.
    """
    filled = [
        (number, [trimmed(cell) for cell in row])
        for number, row in enumerate(grid, start=1)
        if any(map(trimmed, row))
    ]
    headings = [plain(cell) for cell in filled[0][1]] if filled else []
    place = {name: headings.index(plain(name)) for name in names if plain(name) in headings}
    rows = [
        (number, {name: row[at] if at < len(row) else "" for name, at in place.items()})
        for number, row in filled[1:]
    ]
    return [name for name in names if name not in place], rows


def _separator(text: str, known: Container[str]) -> str:
    """Return the separator under which some early line has most known headings."""
    lines = (
        text[:20_000].replace("\r\n", "\n").replace("\r", "\n").split("\n")[:HEADING_SEARCH_ROWS]
    )

    def score(separator: str) -> tuple[int, int]:
        known_most = max(
            (sum(plain(cell) in known for cell in line.split(separator)) for line in lines),
            default=0,
        )
        # Where no heading is known, the separator that most lines have.
        return known_most, sum(separator in line for line in lines)

    return max(_SEPARATORS, key=score)


def split_cells(text: str, separator: str, *, quoting: _Quoting = csv.QUOTE_MINIMAL) -> Grid:
    """Return the cells of a text, however long they are."""
    csv.field_size_limit(_LARGEST_FIELD)
    source = io.StringIO(text.replace("\x00", ""), newline="")
    return list(csv.reader(source, delimiter=separator, quoting=quoting))


def _swallowed(grid: Grid) -> bool:
    """Say whether a stray quotation mark has swallowed lines into one cell."""
    return any(
        len(cell) > LONGEST_CELL or cell.count("\n") + cell.count("\r") > MOST_LINES_IN_A_CELL
        for row in grid
        for cell in row
    )
