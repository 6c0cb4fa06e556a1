"""Sheets as bytes: separated text in any encoding, or a workbook."""

from __future__ import annotations

import csv
import datetime as dt
import io
import zipfile
from collections.abc import Sequence
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from demo_town.notation import EXCEL_EPOCH
from demo_town.sheets import TIME_COLUMNS, Sheet

if TYPE_CHECKING:
    from demo_town.entries import Value

FIXED_TIME = (2026, 11, 14, 9, 0, 0)
"""Written as the time of every part of a workbook, so that its bytes never change."""

_PARTS = {
    "[Content_Types].xml": (
        '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
        '<Default Extension="rels" '
        'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        '<Override PartName="/xl/workbook.xml" ContentType='
        '"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/>'
        '<Override PartName="/xl/styles.xml" ContentType='
        '"application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"/>'
        '<Override PartName="/xl/worksheets/sheet1.xml" ContentType='
        '"application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/></Types>'
    ),
    "_rels/.rels": (
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        '<Relationship Id="rId1" Type='
        '"http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" '
        'Target="xl/workbook.xml"/></Relationships>'
    ),
    "xl/workbook.xml": (
        '<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" '
        'xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships">'
        '<sheets><sheet name="Sheet1" sheetId="1" r:id="rId1"/></sheets></workbook>'
    ),
    "xl/_rels/workbook.xml.rels": (
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        '<Relationship Id="rId1" Type='
        '"http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" '
        'Target="worksheets/sheet1.xml"/>'
        '<Relationship Id="rId2" Type='
        '"http://schemas.openxmlformats.org/officeDocument/2006/relationships/styles" '
        'Target="styles.xml"/></Relationships>'
    ),
    "xl/styles.xml": (
        '<styleSheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
        '<fonts count="1"><font><sz val="11"/><name val="Calibri"/></font></fonts>'
        '<fills count="1"><fill><patternFill patternType="none"/></fill></fills>'
        '<borders count="1"><border/></borders>'
        '<cellStyleXfs count="1"><xf/></cellStyleXfs>'
        '<cellXfs count="3"><xf numFmtId="0" xfId="0"/>'
        '<xf numFmtId="14" applyNumberFormat="1" xfId="0"/>'
        '<xf numFmtId="20" applyNumberFormat="1" xfId="0"/></cellXfs>'
        '<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles>'
        "</styleSheet>"
    ),
}
_HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
_DATE_STYLE, _TIME_STYLE = 1, 2


def encoded(sheet: Sheet) -> bytes:
    """Return the file's bytes."""
    if sheet.member.excel:
        return _workbook(sheet)
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=sheet.member.separator, lineterminator=sheet.member.line_end)
    writer.writerow(sheet.headings)
    writer.writerows(sheet.rows)
    text = out.getvalue()
    if sheet.member.encoding == "utf-16":  # little-endian with its mark, on every machine
        return b"\xff\xfe" + text.encode("utf-16-le")
    return text.encode(sheet.member.encoding)


def _workbook(sheet: Sheet) -> bytes:
    """Return a workbook with one sheet; stored, not compressed, so that no library matters."""
    rows = [_row_xml(1, sheet.headings, sheet.columns)]
    rows += [_row_xml(n, row, sheet.columns) for n, row in enumerate(sheet.rows, start=2)]
    data = (
        '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
        + "".join(rows)
        + "</sheetData></worksheet>"
    )
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for name, text in (*_PARTS.items(), ("xl/worksheets/sheet1.xml", data)):
            info = zipfile.ZipInfo(name, FIXED_TIME)
            info.create_system = 3
            archive.writestr(info, (_HEAD + text).encode())
    return out.getvalue()


def _row_xml(number: int, cells: Sequence[Value], columns: Sequence[str]) -> str:
    parts = [
        _cell_xml(f"{_letters(index)}{number}", cell, column)
        for index, (cell, column) in enumerate(zip(cells, columns, strict=True))
        if cell != ""
    ]
    return f'<row r="{number}">{"".join(parts)}</row>'


def _cell_xml(where: str, cell: Value, column: str) -> str:
    if isinstance(cell, dt.date):
        return f'<c r="{where}" s="{_DATE_STYLE}"><v>{(cell - EXCEL_EPOCH).days}</v></c>'
    if isinstance(cell, int | float):
        style = f' s="{_TIME_STYLE}"' if column in TIME_COLUMNS else ""
        return f'<c r="{where}"{style}><v>{cell:.10g}</v></c>'
    return (
        f'<c r="{where}" t="inlineStr"><is><t xml:space="preserve">{escape(str(cell))}</t></is></c>'
    )


def _letters(index: int) -> str:
    """Return a column's letters; 0 is A."""
    return ("" if index < 26 else _letters(index // 26 - 1)) + chr(ord("A") + index % 26)
