"""Reading the public layers of a map folder."""

from __future__ import annotations

import json
import random
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, MultiLineString, Point, box

from eaveline.errors import InputError
from eaveline.public.maps.basemap import BaseMap, Street, load_basemap, street_regions, street_slugs
from eaveline.public.records import Cell, PublicRelease

GRID = "EPSG:27700"
A = LineString([(650000, 330000), (650100, 330000)])
B = LineString([(650100, 330000), (650200, 330050)])
C = LineString([(650000, 330200), (650300, 330200)])


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    path = tmp_path / "map"
    path.mkdir()
    return path


def write(
    path: Path, columns: dict[str, list[Any]], shapes: list[Any], crs: str | None = GRID
) -> None:
    gpd.GeoDataFrame(columns, geometry=shapes, crs=crs).to_file(path)


def codes(error: InputError) -> list[str]:
    return [problem.code for problem in error.problems]


def refused(folder: Path) -> InputError:
    with pytest.raises(InputError) as caught:
        load_basemap(folder, crs=GRID)
    return caught.value


def test_every_layer_is_read(map_folder: Path) -> None:
    basemap = load_basemap(map_folder, crs=GRID)
    assert [street.slug for street in basemap.streets] == [
        "albert-road",
        "b-oneill-sohne-b",
        "far-common-lane",
        "market-place",
        "mill-lane",
        "sea-bank",
        "swan-street",
    ]
    assert basemap.crs == GRID
    assert basemap.boundary is not None
    assert basemap.boundary.area == 800 * 500
    assert [shape.geom_type for shape in basemap.water] == ["LineString"]
    assert len(basemap.greens) == 1
    assert basemap.buildings[0].area == 80


@pytest.mark.parametrize("name", ["streets.gpkg", "streets.shp", "streets.fgb", "Streets.GPKG"])
def test_lines_of_one_name_become_one_street_in_any_format(folder: Path, name: str) -> None:
    write(folder / name, {"name": [" Mill  Lane", "High Street", "Mill Lane "]}, [A, C, B])
    streets = load_basemap(folder, crs=GRID).streets
    assert [(street.slug, street.name) for street in streets] == [
        ("high-street", "High Street"),
        ("mill-lane", "Mill Lane"),
    ]
    assert streets[1].lines.equals(MultiLineString([A, B]))


def test_lines_without_a_name_are_dropped(folder: Path) -> None:
    write(folder / "streets.gpkg", {"name": [None, "  ", "Mill Lane"]}, [A, B, C])
    assert [street.name for street in load_basemap(folder, crs=GRID).streets] == ["Mill Lane"]


def test_the_order_of_the_file_cannot_show(folder: Path, tmp_path: Path) -> None:
    rows = [
        ("Mill Lane", A),
        ("Mill Lane", B),
        ("High Street", C),
        ("St. John's", A),
        ("St Johns", B),
    ]
    other = tmp_path / "other" / "map"
    other.mkdir(parents=True)
    ponds = [box(0, 0, 9, 9), box(50, 50, 70, 70), box(20, 0, 30, 10)]
    for place, seed in ((folder, 1), (other, 2)):
        random.Random(seed).shuffle(rows)
        random.Random(seed).shuffle(ponds)
        write(place / "streets.gpkg", {"name": [n for n, _ in rows]}, [s for _, s in rows])
        write(place / "water.gpkg", {}, ponds)
    assert _bytes(load_basemap(folder, crs=GRID)) == _bytes(load_basemap(other, crs=GRID))


def _bytes(basemap: BaseMap) -> list[tuple[str, bytes]]:
    streets = [(f"{street.slug} {street.name}", street.lines.wkb) for street in basemap.streets]
    return streets + [("water", shape.wkb) for shape in basemap.water]


def test_heights_are_dropped(folder: Path) -> None:
    write(folder / "streets.gpkg", {"name": ["Mill Lane"]}, [shapely.force_3d(A, 12.0)])
    assert not load_basemap(folder, crs=GRID).streets[0].lines.has_z


def test_longitude_and_latitude_go_through_ostn15(folder: Path) -> None:
    # Ordnance Survey, OSTN15 developer pack: TP05 and TP07.
    west, east = (-1.45051433700, 50.93127937910), (1.44454730409, 51.37447025550)
    feature = {
        "type": "Feature",
        "properties": {"name": "Long Lane"},
        "geometry": {"type": "LineString", "coordinates": [west, east]},
    }
    data = {"type": "FeatureCollection", "features": [feature]}
    (folder / "streets.geojson").write_text(json.dumps(data), encoding="utf-8")
    lines = load_basemap(folder, crs=GRID).streets[0].lines
    ends = np.array([[438710.920, 114792.250], [639821.835, 169565.858]])
    assert np.abs(shapely.get_coordinates(lines) - ends).max() < 0.01


@pytest.mark.parametrize("crs", ["EPSG:3857", "EPSG:32631"])
def test_another_projection_is_brought_to_the_grid_within_five_metres(
    folder: Path, crs: str
) -> None:
    moved = gpd.GeoSeries([A], crs=GRID).to_crs(crs)
    write(folder / "streets.gpkg", {"name": ["Mill Lane"]}, list(moved), crs)
    lines = load_basemap(folder, crs=GRID).streets[0].lines
    # PROJ without the OSTN15 file errs by 4.94 m at worst (measured on Ordnance Survey's points).
    assert shapely.hausdorff_distance(lines, A) < 5


def test_the_irish_grid(folder: Path) -> None:
    irish = LineString([(333000, 374000), (333100, 374000)])
    write(folder / "streets.gpkg", {"name": ["Mill Lane"]}, [irish], "EPSG:29903")
    assert load_basemap(folder, crs="EPSG:29903").streets[0].lines.equals(irish)


def test_a_boundary_in_pieces_is_one(folder: Path) -> None:
    write(folder / "streets.gpkg", {"name": ["Mill Lane"]}, [A])
    assert load_basemap(folder, crs=GRID).boundary is None
    write(folder / "boundary.gpkg", {}, [box(0, 0, 100, 100), box(50, 0, 150, 100)])
    boundary = load_basemap(folder, crs=GRID).boundary
    assert boundary is not None
    assert boundary.area == 15_000


def test_no_streets(folder: Path) -> None:
    assert codes(refused(folder)) == ["map-streets-missing"]


def test_two_files_of_streets(folder: Path) -> None:
    for name in ("streets.gpkg", "streets.geojson"):
        write(folder / name, {"name": ["Mill Lane"]}, [A])
    error = refused(folder)
    assert codes(error) == ["map-layer-twice"]
    assert "streets.geojson, streets.gpkg" in error.problems[0].what
    assert error.problems[0].file == "map/streets.*"


def test_companions_of_a_shapefile_are_no_second_layer(folder: Path) -> None:
    write(folder / "streets.shp", {"name": ["Mill Lane"]}, [A])
    (folder / "streets.txt").write_text("where these came from", encoding="utf-8")
    assert len(load_basemap(folder, crs=GRID).streets) == 1


@pytest.mark.parametrize(
    ("heading", "hint"),
    [
        ("name_1", "Rename the column name_1 to name."),
        ("STREET", "Rename the column STREET to name."),
        ("nam", "Rename the column nam to name."),
        ("zz", "Add a column called name."),
    ],
)
def test_no_column_of_names(folder: Path, heading: str, hint: str) -> None:
    write(folder / "streets.gpkg", {heading: ["Mill Lane"]}, [A])
    error = refused(folder)
    assert codes(error) == ["map-streets-no-name-column"]
    assert error.problems[0].next_step == hint


def test_a_heading_in_capitals_will_do(folder: Path) -> None:
    write(folder / "streets.gpkg", {"NAME": ["Mill Lane"]}, [A])
    assert load_basemap(folder, crs=GRID).streets[0].name == "Mill Lane"


def test_no_street_has_a_name(folder: Path) -> None:
    write(folder / "streets.gpkg", {"name": [None, ""]}, [A, B])
    assert codes(refused(folder)) == ["map-streets-unnamed"]


def test_points_are_no_streets(folder: Path) -> None:
    write(folder / "streets.gpkg", {"name": ["Mill Lane", "Elsewhere"]}, [A, Point(1, 1)])
    error = refused(folder)
    assert codes(error) == ["map-wrong-shapes"]
    assert "lines" in error.problems[0].what


def test_an_empty_file(folder: Path) -> None:
    data = {"type": "FeatureCollection", "features": []}
    (folder / "streets.geojson").write_text(json.dumps(data), encoding="utf-8")
    assert codes(refused(folder)) == ["map-layer-empty"]


def test_no_coordinate_system(folder: Path) -> None:
    with pytest.warns(UserWarning, match="crs"):
        write(folder / "streets.shp", {"name": ["Mill Lane"]}, [A], None)
    assert codes(refused(folder)) == ["map-crs-missing"]


def test_metres_in_a_file_that_claims_degrees(folder: Path) -> None:
    feature = {"type": "Feature", "properties": {"name": "x"}, "geometry": A.__geo_interface__}
    data = {"type": "FeatureCollection", "features": [feature]}
    (folder / "streets.geojson").write_text(json.dumps(data), encoding="utf-8")
    assert codes(refused(folder)) == ["map-crs-wrong"]


def test_a_town_that_is_not_on_the_grid(folder: Path) -> None:
    paris = LineString([(2.35, 48.85), (2.36, 48.86)])
    write(folder / "streets.gpkg", {"name": ["Rue"]}, [paris], "EPSG:4326")
    assert codes(refused(folder)) == ["map-crs-wrong"]


def test_a_file_that_is_no_map_keeps_its_contents_to_itself(folder: Path) -> None:
    (folder / "streets.geojson").write_text("Mrs Invented, 12 Mill Lane", encoding="utf-8")
    error = refused(folder)
    assert codes(error) == ["map-file-unreadable"]
    assert "Invented" not in str(error)


def test_a_table_without_shapes(folder: Path) -> None:
    (folder / "streets.csv").write_text("name,house\nMill Lane,12\n", encoding="utf-8")
    assert codes(refused(folder)) == ["map-no-geometry"]


def test_a_geopackage_of_several_layers_needs_the_right_name(folder: Path) -> None:
    table = gpd.GeoDataFrame({"name": ["Mill Lane"]}, geometry=[A], crs=GRID)
    for layer in ("paths", "roads"):
        table.to_file(folder / "streets.gpkg", layer=layer)
    assert codes(refused(folder)) == ["map-many-layers"]
    table.to_file(folder / "streets.gpkg", layer="streets")
    assert len(load_basemap(folder, crs=GRID).streets) == 1


def test_all_faults_are_told_at_once(folder: Path) -> None:
    write(folder / "streets.gpkg", {"nmae": ["Mill Lane"]}, [A])
    write(folder / "boundary.gpkg", {}, [A])
    (folder / "water.geojson").write_text("no", encoding="utf-8")
    assert codes(refused(folder)) == [
        "map-streets-no-name-column",
        "map-wrong-shapes",
        "map-file-unreadable",
    ]


@given(st.lists(st.text(min_size=1, max_size=120), unique=True, max_size=30), st.randoms())
def test_slugs_are_distinct_short_and_blind_to_order(names: list[str], rnd: random.Random) -> None:
    slugs = street_slugs(names)
    assert len(set(slugs.values())) == len(names)
    for slug in slugs.values():
        assert 0 < len(slug) <= 80
        assert set(slug) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
        assert not slug.startswith("-")
        assert not slug.endswith("-")
        assert "--" not in slug
    shuffled = list(names)
    rnd.shuffle(shuffled)
    assert street_slugs(shuffled) == slugs


def test_slugs_by_example() -> None:
    assert street_slugs(["King's Road", "Kings Road", "Ffordd Tŷ'r Ysgol", "...", "Con"]) == {
        "King's Road": "kings-road",
        "Kings Road": "kings-road-b",
        "Ffordd Tŷ'r Ysgol": "ffordd-tyr-ysgol",
        "...": "street",
        "Con": "con-street",  # Windows makes no folder called con
    }


def test_streets_and_regions_of_the_small_town(map_folder: Path, release: PublicRelease) -> None:
    basemap = load_basemap(map_folder, crs=GRID)
    cells = {region.id: region.cells for region in release.regions}
    found = street_regions(basemap, cells, cell_size_m=100)
    assert found == {region.id: tuple(sorted(region.streets)) for region in release.regions}


@pytest.mark.parametrize(("inside_m", "streets"), [(0.9, ()), (1.1, ("x",))])
def test_a_street_must_run_more_than_a_metre_inside(
    inside_m: float, streets: tuple[str, ...]
) -> None:
    line = MultiLineString([[(100 - inside_m, 50), (180, 50)]])
    basemap = BaseMap(GRID, (Street("x", "X", line),), None, (), (), ())
    found = street_regions(basemap, {"R001": [Cell(0, 0)], "R002": [Cell(1, 0)]}, cell_size_m=100)
    assert found == {"R001": streets, "R002": ("x",)}


def test_a_streets_short_ends_in_one_region_add_up() -> None:
    line = MultiLineString([[(99.4, 20), (180, 20)], [(99.4, 80), (180, 80)]])
    basemap = BaseMap(GRID, (Street("x", "X", line),), None, (), (), ())
    assert street_regions(basemap, {"R001": [Cell(0, 0)]}, cell_size_m=100) == {"R001": ("x",)}
