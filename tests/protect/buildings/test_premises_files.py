"""The lists of premises in a map folder."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely import Point, box

from eaveline.errors import InputError
from eaveline.geodesy import to_degrees
from eaveline.private.places.addresses import AddressBook, load_addresses
from eaveline.protect.buildings.premises import Premises, distinct_premises
from eaveline.protect.buildings.premises_files import load_premises, looks_partial

EAST, NORTH = 650_000.0, 330_000.0
GRID: Final = "EPSG:27700"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "map").mkdir()
    return tmp_path / "map"


def houses(many: int = 5) -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame(geometry=[Point(EAST + 20 * n, NORTH) for n in range(many)], crs=GRID)


def roofs(many: int = 5) -> gpd.GeoDataFrame:
    shapes = [box(EAST + 20 * n - 5, NORTH - 5, EAST + 20 * n + 5, NORTH + 5) for n in range(many)]
    return gpd.GeoDataFrame(geometry=shapes, crs=GRID)


def load(folder: Path, book: AddressBook | None = None) -> tuple[int | None, list[str]]:
    premises, notes = load_premises(folder, crs=GRID, addresses=book)
    return None if premises is None else len(premises.buildings), [note.code for note in notes]


def code(folder: Path) -> str:
    with pytest.raises(InputError) as caught:
        load(folder)
    (problem,) = caught.value.problems
    assert problem.file
    assert problem.file.startswith("map/")
    return problem.code


@pytest.mark.parametrize("name", ["premises.gpkg", "premises.geojson", "Premises.shp"])
def test_points_of_any_format(folder: Path, name: str) -> None:
    table = houses().to_crs(4326) if name.endswith("geojson") else houses()
    table.to_file(folder / name)
    assert load(folder) == (5, ["premises-counted"])


@pytest.mark.parametrize(
    "text",
    [
        "UPRN,X_COORDINATE,Y_COORDINATE,LATITUDE,LONGITUDE\n1,650000.0,330000.0,,\n2,650020,330000,,\n",
        "easting;northing\n650000;330000\n650020;330000\n",
        "Some title\n\nEastings,Northings\n650000,330000\n\n650020,330000\n",
    ],
)
def test_points_in_a_csv(folder: Path, text: str) -> None:
    (folder / "premises.csv").write_text(text, encoding="utf-8")
    assert load(folder) == (2, ["premises-counted"])


def test_building_polygons_under_either_name(folder: Path) -> None:
    far = gpd.GeoDataFrame(geometry=roofs().translate(0, 200), crs=GRID)
    roofs().to_file(folder / "buildings.gpkg")
    far.to_file(folder / "premises.gpkg")
    assert load(folder) == (6, ["premises-counted"])  # every other one of each row of five


def test_lists_together_and_what_is_said_of_them(folder: Path) -> None:
    (folder / "addresses.csv").write_text(
        'street,house,easting,northing\nA Road,1,650000,330000\nA Road,"Flat 2, 1",650000,330000\n',
        encoding="utf-8",
    )
    houses().to_file(folder / "premises.gpkg")
    roofs(4).to_file(folder / "buildings.gpkg")
    premises, notes = load_premises(folder, crs=GRID, addresses=load_addresses(folder.parent))
    assert premises is not None
    assert premises.buildings["households"].tolist() == [2, 1, 1, 1]
    assert notes[0].what == ("2 addresses, 5 points, 4 outlines come to 4 distinct premises.")


def test_degrees_go_through_the_national_transformation(folder: Path) -> None:
    longitude, latitude, _ = to_degrees([EAST], [NORTH], crs=GRID)
    gpd.GeoDataFrame(geometry=gpd.points_from_xy(longitude, latitude), crs=4326).to_file(
        folder / "premises.geojson", COORDINATE_PRECISION=9
    )
    premises, _ = load_premises(folder, crs=GRID, addresses=None)
    assert premises is not None
    place = premises.buildings[["easting", "northing"]].to_numpy()[0]
    assert np.hypot(*(place - [EAST, NORTH])) < 0.01


def test_no_list_no_premises_and_the_missing_file_is_named(folder: Path) -> None:
    (folder / "premises.prj").write_text("", encoding="utf-8")
    premises, notes = load_premises(folder, crs=GRID, addresses=None)
    assert premises is None
    assert [note.code for note in notes] == ["premises-missing"]
    assert "addresses.csv" in notes[0].next_step


def two_files(folder: Path) -> None:
    houses().to_file(folder / "premises.gpkg")
    houses().to_file(folder / "premises.fgb")


def without_crs(folder: Path) -> None:
    gpd.GeoDataFrame(geometry=list(houses().geometry)).to_file(folder / "premises.gpkg")


def off_grid(folder: Path) -> None:
    gpd.GeoDataFrame(geometry=[Point(-5_000, 10)], crs=GRID).to_file(folder / "premises.gpkg")


def text(name: str, content: str) -> Callable[[Path], None]:
    def write(folder: Path) -> None:
        (folder / name).write_text(content, encoding="utf-8")

    return write


@pytest.mark.parametrize(
    ("spoil", "expected"),
    [
        (two_files, "map-layer-twice"),
        (without_crs, "map-crs-missing"),
        (off_grid, "map-crs-wrong"),
        (text("buildings.geojson", "not json"), "map-file-unreadable"),
        (text("premises.csv", "uprn,postcode\n1,2\n"), "premises-column-missing"),
        (text("premises.csv", "easting,northing\n650000,330000\n650000,\n"), "premises-row-wrong"),
    ],
)
@pytest.mark.filterwarnings("ignore:'crs' was not provided")
def test_a_file_that_cannot_be_used_says_why(
    folder: Path, spoil: Callable[[Path], None], expected: str
) -> None:
    spoil(folder)
    assert code(folder) == expected


def test_points_outside_most_outlines_are_told(folder: Path) -> None:
    houses(9).to_file(folder / "premises.gpkg")
    roofs(2).to_file(folder / "buildings.gpkg")
    assert load(folder) == (2, ["premises-counted", "premises-outside-outlines"])


def test_rows_drawn_as_one_are_told(folder: Path) -> None:
    houses(8).to_file(folder / "premises.gpkg")
    one = gpd.GeoDataFrame(geometry=[box(EAST - 5, NORTH - 5, EAST + 200, NORTH + 5)], crs=GRID)
    one.to_file(folder / "buildings.gpkg")
    assert load(folder) == (1, ["premises-counted", "premises-rows-as-one"])


@pytest.fixture
def listed() -> Premises:
    return distinct_premises(
        addresses=pd.DataFrame(
            {"street": "A Road", "house": ["1", "3"], "easting": [EAST, EAST + 10],
             "northing": NORTH}
        )
    )  # fmt: skip


def partial(far: int, near: int, uncertainty_m: float, premises: Premises) -> bool:
    east = np.concatenate([EAST + 500 + 30 * np.arange(far), EAST + np.arange(near)])
    count = len(east)
    return (
        looks_partial(east, np.full(count, NORTH), np.full(count, uncertainty_m), premises)
        is not None
    )


@pytest.mark.parametrize(
    ("far", "near", "uncertainty_m", "expected"),
    [
        (5, 20, 10.0, True),
        (4, 0, 10.0, False),  # too few to say
        (5, 60, 10.0, False),  # one in thirteen
        (5, 20, 5_000.0, False),  # so vague that they may lie among the premises
        (0, 0, 10.0, False),
    ],
)
def test_records_far_from_any_premises_show_a_partial_list(
    listed: Premises, far: int, near: int, uncertainty_m: float, *, expected: bool
) -> None:
    assert partial(far, near, uncertainty_m, listed) is expected


def test_the_warning_names_no_place(listed: Premises) -> None:
    far = EAST + 777 + np.arange(6)
    problem = looks_partial(far, np.full(6, NORTH), np.full(6, 10.0), listed)
    assert problem is not None
    assert problem.code == "premises-look-partial"
    assert "6 of 6" in problem.what
    assert "650" not in str(problem)
