"""The GeoPackage for a council's map program."""

from __future__ import annotations

import sqlite3
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pyogrio
import pytest

from eaveline.public.downloads.colony_gpkg import (
    ASK_FOUND,
    ASK_LOOKED,
    ASK_UNKNOWN,
    colony_geopackage,
)
from eaveline.public.records import PublicRelease
from eaveline.public.town import PublicTown


@pytest.fixture(scope="module")
def path(
    release: PublicRelease, public_town: PublicTown, tmp_path_factory: pytest.TempPathFactory
) -> Path:
    file = tmp_path_factory.mktemp("gpkg") / "colony.gpkg"
    file.write_bytes(colony_geopackage(release, public_town))
    return file


@pytest.fixture
def database(path: Path) -> Iterator[sqlite3.Connection]:
    with closing(sqlite3.connect(path)) as connection:
        yield connection


def test_gdal_opens_it(path: Path) -> None:
    assert [str(name) for name, _ in pyogrio.list_layers(path)] == [
        "squares",
        "consult_us",
        "layer_styles",
    ]
    squares = pyogrio.read_dataframe(path, layer="squares")
    assert squares.crs.to_epsg() == 27700
    assert len(squares) == 8
    first = squares.iloc[0]
    assert tuple(first.geometry.bounds) == (650000.0, 330000.0, 650100.0, 330100.0)
    assert first["swift_nest_sites_all"] == 3
    assert first["swift_nest_sites_all_words"] == "At least 3 swift nest sites"
    assert "100 m squares" in first["dataGeneralizations"]


def test_not_looked_is_no_zero(path: Path) -> None:
    squares = pyogrio.read_dataframe(path, layer="squares").set_index("region")
    assert squares.loc["R003", "swift_nest_sites_2026"] == 0
    assert squares["swift_nest_sites_2026"].isna()["R005"]


def test_where_to_consult(path: Path) -> None:
    answer = pyogrio.read_dataframe(path, layer="consult_us").set_index("region")["consult"]
    assert answer["R001"] == ASK_FOUND
    assert answer["R003"] == ASK_LOOKED
    assert answer["R008"] == ASK_UNKNOWN


def test_the_file_is_a_whole_geopackage(database: sqlite3.Connection) -> None:
    # OGC 12-128r19: requirement 2 (the application id), 6 (integrity), 7 (foreign keys).
    assert database.execute("PRAGMA application_id").fetchone() == (0x47504B47,)
    assert database.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert database.execute("PRAGMA foreign_key_check").fetchall() == []
    times = database.execute("SELECT DISTINCT last_change FROM gpkg_contents").fetchall()
    assert times == [("2026-08-14T00:00:00.000Z",)]


@pytest.mark.parametrize("crs", ["EPSG:27700", "EPSG:29903"])
def test_its_tables_are_those_the_standard_asks_for(
    release: PublicRelease, public_town: PublicTown, tmp_path: Path, crs: str
) -> None:
    """Requirements of OGC 12-128r19, numbered from memory where no number is given."""
    file = tmp_path / "colony.gpkg"
    file.write_bytes(colony_geopackage(release.model_copy(update={"crs": crs}), public_town))
    code = int(crs.partition(":")[2])
    with closing(sqlite3.connect(file)) as database:
        ask = database.execute
        assert ask("PRAGMA user_version").fetchone()[0] >= 10_200
        # Undefined Cartesian, undefined geographic, WGS 84, and the town's own grid.
        systems = dict(ask("SELECT srs_id, organization FROM gpkg_spatial_ref_sys"))
        assert {-1, 0, 4326, code} <= set(systems)
        assert systems[code].upper() == "EPSG"
        query = "SELECT organization_coordsys_id, definition FROM gpkg_spatial_ref_sys "
        number, definition = ask(query + "WHERE srs_id = ?", (code,)).fetchone()
        assert number == code
        assert definition.startswith("PROJCS[")
        contents = {
            name: rest
            for name, *rest in ask(
                "SELECT table_name, data_type, srs_id, min_x, min_y, max_x, max_y "
                "FROM gpkg_contents"
            )
        }
        assert {name: kind for name, (kind, *_) in contents.items()} == {
            "squares": "features",
            "consult_us": "features",
            "layer_styles": "attributes",
        }
        columns = ask(
            "SELECT table_name, column_name, geometry_type_name, srs_id, z, m "
            "FROM gpkg_geometry_columns ORDER BY table_name"
        ).fetchall()
        assert columns == [
            (name, "geom", "MULTIPOLYGON", code, 0, 0) for name in ("consult_us", "squares")
        ]
        for name in ("consult_us", "squares"):
            assert contents[name][1] == code
            assert None not in contents[name]
            # A primary key of whole numbers, and blobs that begin as the standard says.
            keys = [row for row in ask(f"PRAGMA table_info({name})") if row[5]]
            assert [(row[1], row[2]) for row in keys] == [("fid", "INTEGER")]
            blobs = [blob for (blob,) in ask(f"SELECT geom FROM {name}")]  # noqa: S608 - names above
            assert len(blobs) == len(release.regions)
            assert {blob[:3] for blob in blobs} == {b"GP\0"}
        extensions = set(ask("SELECT table_name, extension_name FROM gpkg_extensions"))
        assert {("squares", "gpkg_rtree_index"), ("consult_us", "gpkg_rtree_index")} <= extensions


def test_styles_come_along(database: sqlite3.Connection) -> None:
    found = database.execute(
        "SELECT f_table_name, styleQML, styleSLD, useAsDefault FROM layer_styles"
    ).fetchall()
    assert [row[0] for row in found] == ["squares", "consult_us"]
    for _, qml, sld, default in found:
        assert default == 1
        assert ET.fromstring(qml).find("renderer-v2/categories/category") is not None  # noqa: S314
        assert ET.fromstring(sld).tag == "{http://www.opengis.net/sld}StyledLayerDescriptor"  # noqa: S314


def test_the_irish_grid(release: PublicRelease, public_town: PublicTown, tmp_path: Path) -> None:
    irish = release.model_copy(update={"crs": "EPSG:29903"})
    file = tmp_path / "colony.gpkg"
    file.write_bytes(colony_geopackage(irish, public_town))
    assert pyogrio.read_info(file, layer="squares")["crs"] == "EPSG:29903"


def test_the_same_release_gives_the_same_bytes(
    path: Path, release: PublicRelease, public_town: PublicTown
) -> None:
    again = colony_geopackage(release, public_town)
    assert again == path.read_bytes()
    # The write counter and the library's version are the same on every machine.
    assert again[24:28] == again[92:96] == (1).to_bytes(4, "big")
    assert again[96:100] == (3_000_000).to_bytes(4, "big")


def test_a_town_without_a_map_has_none(release: PublicRelease, public_town: PublicTown) -> None:
    with pytest.raises(ValueError, match="at least one region"):
        colony_geopackage(release.model_copy(update={"regions": ()}), public_town)
