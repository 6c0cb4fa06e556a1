"""Reads SQLite databases, GeoPackages among them."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing

from eaveline.audit.fragments import Fault, Fragment, Kind, Piece, Shape
from eaveline.audit.images import printable_runs
from eaveline.audit.markup import has_house_column, keyed_row, text_fragments
from eaveline.audit.shapes import geopackage_vertices, wkb_vertices
from eaveline.audit.text import CELL, ROW

MAGIC = b"SQLite format 3\x00"
_SPATIAL_INDEX = re.compile(r"\busing\s+rtree\b", re.IGNORECASE)
_WKB_STARTS = (b"\x00\x00", b"\x01\x01", b"\x01\x02", b"\x01\x03", b"\x01\x04", b"\x01\x05",
               b"\x01\x06", b"\x01\x07", b"\x01\xe9", b"\x01\xea", b"\x01\xeb")  # fmt: skip


def database_pieces(
    data: bytes, where: str, read_inner: Callable[[bytes, str], Iterator[Piece]]
) -> Iterator[Piece]:
    """Return every table's rows, geometry, and what deleted rows left behind.

    Parameters
    ----------
    data
        The database file.
    where
        Its place, if it is part of another file.
    read_inner
        Reads a file kept in a cell.
    """
    try:
        with closing(sqlite3.connect(":memory:")) as connection:
            connection.deserialize(data)
            connection.text_factory = lambda raw: raw.decode("utf-8", "replace")
            tables = _tables(connection)
            for number, table in enumerate(tables, start=1):
                place = f"{where}, table {number}" if where else f"table {number}"
                yield from _table(connection, table, place, read_inner)
    except sqlite3.Error:
        yield Fault("unreadable-file", where or "database")
    # Pages that a deletion freed keep their text until the file is vacuumed.
    yield Fragment(printable_runs(data), Kind.DATA, f"{where}, raw pages" if where else "raw pages")


def _tables(connection: sqlite3.Connection) -> list[str]:
    """Return the tables to read; a spatial index is read as itself, not as its inner tables."""
    schema = dict(
        connection.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'table' ORDER BY name")
    )
    indexes = [name for name, sql in schema.items() if _SPATIAL_INDEX.search(sql or "")]
    inner = {f"{name}_{part}" for name in indexes for part in ("node", "parent", "rowid")}
    return [name for name in schema if name not in inner]


def _table(
    connection: sqlite3.Connection,
    table: str,
    place: str,
    read_inner: Callable[[bytes, str], Iterator[Piece]],
) -> Iterator[Piece]:
    quoted = table.replace('"', '""')
    try:
        # A name cannot be bound as a parameter; it is quoted and read from the file's own schema.
        rows = connection.execute(f'SELECT * FROM "{quoted}"')  # noqa: S608
    except sqlite3.OperationalError:
        # A virtual table whose module is not at hand.
        yield Fault("unreadable-file", place)
        return
    headers = [column[0] for column in rows.description]
    yield Fragment(f" {CELL} ".join([table, *headers]), Kind.DATA, place)
    spread = has_house_column(headers)
    lines: list[str] = []
    for row in rows:
        cells = ["" if isinstance(cell, bytes) else str(cell) for cell in row]
        lines.append(keyed_row(headers, cells) if spread else f" {CELL} ".join(cells))
        for cell in row:
            if isinstance(cell, bytes) and cell:
                yield from _blob(cell, place, read_inner)
    yield from text_fragments(ROW.join(lines), place)


def _blob(
    cell: bytes, place: str, read_inner: Callable[[bytes, str], Iterator[Piece]]
) -> Iterator[Piece]:
    geometry = geopackage_vertices(cell)
    if geometry is not None:
        vertices, srs = geometry
        if len(vertices):
            yield Shape(vertices, f"EPSG:{srs}" if srs > 0 else None, place)
        return
    if cell.startswith(_WKB_STARTS):
        vertices_only = wkb_vertices(cell)
        if vertices_only is not None:
            if len(vertices_only):
                yield Shape(vertices_only, None, place)
            return
    yield from read_inner(cell, place)
