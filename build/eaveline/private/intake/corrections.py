"""Reads corrected copies of rows-to-fix.csv: each line replaces the row its key names."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from eaveline.errors import Problem
from eaveline.private.intake.cells import key_from_text, text_column_of, trimmed
from eaveline.private.intake.headings import find_headings
from eaveline.private.intake.raw import RawFile, unusable
from eaveline.private.intake.schema import KINDS, plain
from eaveline.private.intake.text_grids import Grid, decode, text_grid
from eaveline.private.intake.workbook_grids import SPREADSHEETS, workbook_grids

KEY_COLUMNS = (
    "key",
    "folder",
    "from_file",
    "from_row",
    "wrong_column",
    "what_is_wrong",
    "what_to_do",
    "perhaps",
    "other_cells",
)
"""The columns of rows-to-fix.csv that come before the record's own cells."""


def _known_headings() -> dict[str, str]:
    names = [*KEY_COLUMNS, *(name for kind in KINDS.values() for name in kind.names)]
    return {plain(name): name for name in names}


def corrections_by_folder(path: Path, *, name: str) -> list[RawFile]:
    """Read one corrections file as a RawFile for each record kind it corrects.

    Lines without a key or with an unknown folder come back too, with no key to replace, so
    that they are held with their reason rather than passed over.
    """
    known = _known_headings()
    try:
        if path.suffix.casefold() in SPREADSHEETS:
            grids = workbook_grids(path)
        else:
            text, _ = decode(path.read_bytes(), name=name)
            grids = [("", text_grid(text, known, name=name)[0])]
    except Exception as error:  # noqa: BLE001 - whatever a damaged file raises, the build goes on
        return [
            unusable(
                next(iter(KINDS)),
                name,
                "file-unreadable",
                f"The file cannot be opened ({type(error).__name__}).",
                "Save it as CSV again.",
            )
        ]
    files: list[RawFile] = []
    for _, grid in grids:
        start = find_headings(grid, known)
        headings = [known.get(plain(cell), "") for cell in grid[start]] if start is not None else []
        if start is None or "key" not in headings or "folder" not in headings:
            files.append(
                unusable(
                    next(iter(KINDS)),
                    name,
                    "corrections-without-key-column",
                    "The file has no key and folder columns to say which rows it corrects.",
                    "Correct a copy of rows-to-fix.csv and keep its first columns as they are.",
                )
            )
            continue
        files.extend(_split(grid, start, headings, name=name))
    return files


def _split(grid: Grid, start: int, headings: list[str], *, name: str) -> list[RawFile]:
    folder_at = headings.index("folder")
    by_folder: dict[str, list[tuple[int, list[str]]]] = {}
    lost: list[Problem] = []
    for number, row in enumerate(grid[start + 1 :], start=start + 2):
        if not any(trimmed(cell) for cell in row):
            continue
        folder = trimmed(row[folder_at]).casefold() if folder_at < len(row) else ""
        if folder not in KINDS:
            folder = _folder_of(headings, row)
            lost.append(
                Problem(
                    "correction-without-folder",
                    "The line does not say which folder it belongs to.",
                    "Copy the folder from rows-to-fix.csv.",
                    file=name,
                    row=number,
                    column="folder",
                )
            )
        by_folder.setdefault(folder, []).append((number, row))
    files = []
    for folder, records in by_folder.items():
        width = len(headings)
        columns = {
            heading: text_column_of(row[at] if at < len(row) else "" for _, row in records)
            for at, heading in enumerate(headings)
            if heading in KINDS[folder].names
        }
        key_at = headings.index("key")
        keys = [key_from_text(row[key_at]) if key_at < len(row) else None for _, row in records]
        files.append(
            RawFile(
                folder,
                name,
                columns,
                np.array([number for number, _ in records], dtype=np.int64),
                np.array(
                    [any(trimmed(cell) for cell in row[width:]) for _, row in records], dtype=bool
                ),
                replaces=np.array([key or 0 for key in keys], dtype=np.uint64),
                notices=tuple(lost),
            )
        )
        lost = []
    return files


def _folder_of(headings: list[str], row: list[str]) -> str:
    """Return the record kind whose columns hold most of the row's cells."""
    filled = {heading for heading, cell in zip(headings, row, strict=False) if trimmed(cell)}
    return max(KINDS, key=lambda folder: len(filled & set(KINDS[folder].names)))
