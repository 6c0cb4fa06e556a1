"""A workbook's sheets as grids of cells, each as a person would type it."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from pathlib import Path

from eaveline.private.intake.text_grids import Grid

SPREADSHEETS = frozenset({".xlsx", ".xlsm", ".xls", ".ods"})
_LONGEST_EXACT = 1e15
"""Whole floats beyond this may have lost figures, so they are shown as they are."""
_FIRST_DAY = dt.date(1900, 1, 1)
"""A spreadsheet stores a bare time of day as a time on this day, or the one before."""


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


def has_failed_formula(path: Path) -> bool:
    """Say whether an Office Open XML workbook holds error cells, which are read as empty."""
    try:
        with zipfile.ZipFile(path) as archive:
            sheets = [name for name in archive.namelist() if name.startswith("xl/worksheets/sheet")]
            # An error cell has the type "e" (ECMA-376, part 1, 18.18.11).
            return any(b' t="e"' in archive.read(name) for name in sheets)
    except (zipfile.BadZipFile, OSError):  # another kind of workbook
        return False


def is_locked(data: bytes) -> bool:
    """Say whether a workbook is encrypted, so that it opens with a password only.

    Office Open XML is then a compound file with the stream EncryptedPackage (MS-OFFCRYPTO,
    2.3.4.4); in OpenDocument the manifest tells how each entry is encrypted (part 2, 4.2).
    """
    if "EncryptedPackage".encode("utf-16-le") in data:
        return True
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return b"encryption-data" in archive.read("META-INF/manifest.xml")
    except (zipfile.BadZipFile, KeyError, OSError, NotImplementedError):
        return False


def cell_text(cell: object) -> str:
    """Return a workbook cell as a person would type it."""
    match cell:
        case None:
            return ""
        case bool():
            return "yes" if cell else "no"
        case float() if cell.is_integer() and abs(cell) < _LONGEST_EXACT:
            return str(int(cell))
        case dt.datetime() if cell.date() <= _FIRST_DAY:
            return cell.strftime("%H:%M")
        case dt.datetime() | dt.date() | dt.time() | dt.timedelta():
            return _moment_text(cell)
        case _:
            return str(cell)


def _moment_text(moment: dt.date | dt.time | dt.timedelta) -> str:
    """Return a day, a day with a time, or a time of day."""
    match moment:
        case dt.datetime() if moment.time() == dt.time(0):
            return moment.date().isoformat()
        case dt.date():
            return moment.isoformat()
        case dt.time():
            return moment.strftime("%H:%M")
        case _:
            minutes = round(moment.total_seconds() / 60)
            return f"{minutes // 60:02d}:{minutes % 60:02d}"
