"""Geometry drawn from cell ids."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import MultiPolygon

from eaveline.public.maps.squares import (
    cell_polygon,
    centre,
    geojson_geometries,
    region_polygon,
    region_polygons,
    uncertainty_m,
)
from eaveline.public.records import Cell

small_regions = st.lists(
    st.tuples(st.integers(6490, 6500), st.integers(3290, 3300)).map(lambda pair: Cell(*pair)),
    min_size=1,
    max_size=9,
    unique=True,
)


def test_a_cell_covers_its_hundred_metres() -> None:
    assert cell_polygon(Cell(6502, 3301), cell_size_m=100).bounds == (
        650200,
        330100,
        650300,
        330200,
    )


@pytest.mark.parametrize(
    ("size_m", "published", "rounded_up"),
    # Half diagonals: Chapman & Wieczorek 2020, Georeferencing Best Practices.
    [(100, 70.71, 71), (1000, 707.1, 708)],
)
def test_uncertainty_of_one_cell_is_its_half_diagonal(
    size_m: int, published: float, rounded_up: int
) -> None:
    assert uncertainty_m([Cell(5, 5)], cell_size_m=size_m) == rounded_up
    assert math.isclose(size_m * math.sqrt(2) / 2, published, rel_tol=1e-3)


def test_uncertainty_of_an_l_of_three_cells() -> None:
    # The box is 200 m by 200 m and three of its corners belong to the cells: 141.42 m.
    cells = [Cell(0, 0), Cell(1, 0), Cell(0, 1)]
    assert centre(cells, cell_size_m=100) == shapely.Point(100, 100)
    assert uncertainty_m(cells, cell_size_m=100) == 142


@given(small_regions)
def test_the_circle_holds_the_whole_region(cells: list[Cell]) -> None:
    circle_m = uncertainty_m(cells, cell_size_m=100)
    middle = centre(cells, cell_size_m=100)
    corners = shapely.get_coordinates(region_polygon(cells, cell_size_m=100))
    distances = np.hypot(*(corners - [middle.x, middle.y]).T)
    assert distances.max() <= circle_m
    assert circle_m < distances.max() + 1


@given(small_regions)
def test_a_region_is_its_cells_whatever_their_order(cells: list[Cell]) -> None:
    polygon = region_polygon(cells, cell_size_m=100)
    assert polygon.is_valid
    assert polygon.area == 10_000 * len(cells)
    assert polygon.wkb == region_polygon(reversed(cells), cell_size_m=100).wkb
    corners = shapely.get_coordinates(polygon)
    assert (corners % 100 == 0).all()


def test_cells_that_share_a_side_lose_it_and_those_that_share_a_corner_stay_two() -> None:
    pair = region_polygon([Cell(0, 0), Cell(1, 0)], cell_size_m=100)
    assert len(pair.geoms) == 1
    assert len(pair.geoms[0].exterior.coords) == 5  # four corners and the first again
    assert len(region_polygon([Cell(0, 0), Cell(1, 1)], cell_size_m=100).geoms) == 2


def test_a_region_with_a_hole_keeps_it() -> None:
    ring = [Cell(i, j) for i in range(3) for j in range(3) if (i, j) != (1, 1)]
    polygon = region_polygon(ring, cell_size_m=100)
    assert polygon.area == 80_000
    assert len(polygon.geoms[0].interiors) == 1


def test_no_cells_no_region() -> None:
    with pytest.raises(ValueError, match="at least one cell"):
        region_polygon([], cell_size_m=100)
    with pytest.raises(ValueError, match="at least one cell"):
        centre([], cell_size_m=100)


def test_regions_come_in_order_of_their_ids() -> None:
    polygons = region_polygons({"R010": [Cell(0, 0)], "R002": [Cell(5, 5)]}, cell_size_m=100)
    assert list(polygons) == ["R002", "R010"]


def test_geojson_is_longitude_first_anticlockwise_and_single_where_it_can_be() -> None:
    square = region_polygon([Cell(4387, 1147)], cell_size_m=100)
    (geometry,) = geojson_geometries([square], crs="EPSG:27700")
    assert geometry["type"] == "Polygon"
    ring = geometry["coordinates"][0]
    assert ring[0] == ring[-1]
    # About OSTN15's test point TP05, 1.4505 W 50.9313 N (Ordnance Survey).
    assert all(abs(x + 1.4505) < 0.002 and abs(y - 50.9313) < 0.002 for x, y in ring)
    assert shapely.is_ccw(shapely.linearrings(ring))
    assert all(round(value, 6) == value for point in ring for value in point)


def test_geojson_of_two_parts_stays_multiple() -> None:
    two = region_polygon([Cell(6500, 3300), Cell(6501, 3301)], cell_size_m=100)
    assert isinstance(two, MultiPolygon)
    assert geojson_geometries([two], crs="EPSG:27700")[0]["type"] == "MultiPolygon"
