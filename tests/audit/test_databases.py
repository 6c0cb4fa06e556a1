"""SQLite and GeoPackage, deleted rows included."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import geopandas as gpd
import pytest
import shapely

from eaveline.audit.databases import database_pieces
from eaveline.audit.fragments import Fault, Fragment, Piece, Shape


def _no_inner(data: bytes, where: str) -> Iterator[Piece]:
    yield Fault("unreadable-file", f"{where}, {len(data)} bytes")


def _pieces(data: bytes) -> list[Piece]:
    return list(database_pieces(data, "", _no_inner))


def _text(data: bytes) -> str:
    return "\n".join(piece.text for piece in _pieces(data) if isinstance(piece, Fragment))


def _database(*statements: str) -> bytes:
    connection = sqlite3.connect(":memory:")
    connection.execute("PRAGMA secure_delete = OFF")
    for statement in statements:
        connection.execute(statement)
        connection.commit()
    data: bytes = connection.serialize()
    connection.close()
    return data


@pytest.mark.parametrize("crs", ["EPSG:27700", "EPSG:4326"])
@pytest.mark.parametrize("indexed", ["YES", "NO"])
def test_a_geopackage_s_geometry_keeps_its_system(tmp_path: Path, crs: str, indexed: str) -> None:
    path = tmp_path / "a.gpkg"
    frame = gpd.GeoDataFrame(
        {"n": [3]}, geometry=[shapely.Point(650_112, 330_237)], crs="EPSG:27700"
    )
    frame.to_crs(crs).to_file(path, layer="squares", SPATIAL_INDEX=indexed)
    pieces = _pieces(path.read_bytes())
    (shape,) = (piece for piece in pieces if isinstance(piece, Shape))
    assert shape.crs == crs
    assert shape.vertices.shape == (1, 2)
    assert not any(isinstance(piece, Fault) for piece in pieces)


def test_every_table_is_read_with_its_headings() -> None:
    text = _text(_database("CREATE TABLE a (who)", "INSERT INTO a VALUES ('Threlkeld')"))
    assert "who" in text
    assert "Threlkeld" in text


def test_a_house_column_is_read_with_its_street() -> None:
    text = _text(
        _database("CREATE TABLE a (street, house)", "INSERT INTO a VALUES ('Albert Road', 17)")
    )
    assert "house: 17" in text


def test_deleted_rows_are_read() -> None:
    data = _database(
        "CREATE TABLE a (note)",
        "INSERT INTO a VALUES ('written by Marguerite Threlkeld')",
        "DELETE FROM a",
    )
    assert "Marguerite Threlkeld" in _text(data)


def test_files_in_cells_are_handed_on() -> None:
    data = _database("CREATE TABLE a (f)", "INSERT INTO a VALUES (x'89504e47')")
    assert Fault("unreadable-file", "table 1, 4 bytes") in _pieces(data)


def test_a_table_s_odd_name_is_quoted() -> None:
    data = _database(
        'CREATE TABLE "a ""quoted""; DROP TABLE b" (x)',
        'INSERT INTO "a ""quoted""; DROP TABLE b" VALUES (\'kept\')',
    )
    assert "kept" in _text(data)


def test_a_broken_database_is_refused() -> None:
    data = _database("CREATE TABLE a (note)")
    assert Fault("unreadable-file", "database") in _pieces(data[:100] + b"\x07" * 5000)
