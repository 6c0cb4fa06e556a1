"""Tables that a build keeps for the next one, as a spreadsheet may have saved them meanwhile."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Iterable, Sequence
from pathlib import Path

from eaveline.errors import InputError, Problem
from eaveline.private.intake.schema import plain
from eaveline.private.intake.text_grids import Row, decode, named_rows, text_grid
from eaveline.whole_files import write_whole


def save_table(path: Path, columns: Sequence[str], rows: Iterable[Iterable[object]]) -> None:
    """Write a table all or nothing, the same on every system; see `write_whole`."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(rows)
    write_whole(path, out.getvalue().encode())


def read_table(
    path: Path, columns: Sequence[str], *, file: str, code: str
) -> tuple[list[str], list[tuple[int, Row]]]:
    """Return which columns a table lacks, and its rows; see `named_rows`.

    Parameters
    ----------
    path
        The file.
    columns
        Those to take.
    file, code
        What a message calls the file, and the message's code.

    Raises
    ------
    InputError
        If the file cannot be opened.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise InputError(
            Problem(
                code=code,
                what=f"The file cannot be read ({type(error).__name__}).",
                next_step="Close it in other programs and check that you may open it.",
                file=file,
            )
        ) from None
    known = {plain(name) for name in columns}
    grid, _ = text_grid(decode(data, name=file)[0], known, name=file)
    return named_rows(grid, columns)


def check_letters(lines: Iterable[str]) -> str:
    """Return 16 letters that depend on every line; letters alone, lest they pass for a number.

    They guard against slips, not against intent.
    """
    digest = hashlib.sha256("\n".join(lines).encode()).digest()
    return "".join(chr(ord("a") + byte % 26) for byte in digest[:16])
