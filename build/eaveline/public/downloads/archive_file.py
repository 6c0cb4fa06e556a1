"""Packs tables into the file of a Darwin Core Archive.

The wrapper is that of the Darwin Core text guide (TDWG, 2023-09-13). A value that is the same in
every row stands once in meta.xml, as the default of a term without a column: as columns, such
values took two thirds of a city's archive.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import zipfile
from collections.abc import Mapping, Sequence
from typing import NamedTuple
from xml.sax.saxutils import quoteattr

DWC = "http://rs.tdwg.org/dwc/terms/"
DCTERMS = "http://purl.org/dc/terms/"
ECO = "http://rs.tdwg.org/eco/terms/"

_DUBLIN_CORE = frozenset({"license", "language", "type"})
_HUMBOLDT = frozenset(
    {
        "isAbsenceReported",
        "isSamplingEffortReported",
        "samplingEffortValue",
        "samplingEffortUnit",
        "targetTaxonomicScope",
        "isTaxonomicScopeFullyReported",
    }
)

Row = dict[str, str | int | float]


class ArchiveFile(NamedTuple):
    """One file of the archive."""

    name: str
    kind: str
    """Its rows' class, as an IRI."""
    columns: Sequence[str]
    rows: Sequence[Row]
    same: Mapping[str, str]
    """What is the same in every row, which is no column."""


def pack(files: Sequence[ArchiveFile], *, metadata: str, made_on: dt.date) -> bytes:
    """Return the archive as a zip; the same tables give the same bytes.

    Parameters
    ----------
    files
        The core first, then its extensions, which join by ``eventID``.
    metadata
        The data set's description in EML.
    made_on
        The date of every member.
    """
    members = {file.name: _csv(file.rows, file.columns) for file in files}
    members["meta.xml"] = _meta(files)
    members["eml.xml"] = metadata
    return _zip(members, made_on=made_on)


def _csv(rows: Sequence[Row], columns: Sequence[str]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([row.get(column, "") for column in columns] for row in rows)
    return out.getvalue()


def _meta(files: Sequence[ArchiveFile]) -> str:
    """Return meta.xml, which says what each column of each file means."""
    parts = ['<?xml version="1.0" encoding="UTF-8"?>']
    parts.append('<archive xmlns="http://rs.tdwg.org/dwc/text/" metadata="eml.xml">')
    for file in files:
        core = file.name == "event.csv"
        tag, key = ("core", "id") if core else ("extension", "coreid")
        columns = file.columns
        parts.append(
            f'  <{tag} encoding="UTF-8" fieldsTerminatedBy="," linesTerminatedBy="\\n" '
            f'fieldsEnclosedBy="&quot;" ignoreHeaderLines="1" rowType="{file.kind}">'
        )
        parts.append(f"    <files><location>{file.name}</location></files>")
        parts.append(f'    <{key} index="{columns.index("eventID")}"/>')
        parts.extend(
            f'    <field index="{index}" term="{_term(column)}"/>'
            for index, column in enumerate(columns)
        )
        parts.extend(
            f'    <field default={quoteattr(value)} term="{_term(column)}"/>'
            for column, value in file.same.items()
        )
        parts.append(f"  </{tag}>")
    return "\n".join([*parts, "</archive>", ""])


def _term(column: str) -> str:
    space = DCTERMS if column in _DUBLIN_CORE else ECO if column in _HUMBOLDT else DWC
    return space + column


def _zip(members: Mapping[str, str], *, made_on: dt.date) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for name in sorted(members):
            info = zipfile.ZipInfo(name, (made_on.year, made_on.month, made_on.day, 0, 0, 0))
            info.create_system = 3  # the same on every machine: Unix, a plain readable file
            info.external_attr = 0o644 << 16
            archive.writestr(info, members[name].encode("utf-8"))
    return out.getvalue()
