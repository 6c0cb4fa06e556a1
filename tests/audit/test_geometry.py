"""Vertices off the grid, in every system."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from eaveline.audit.fragments import Shape
from eaveline.audit.geometry import hex_geometry_hits, shape_hits
from eaveline.audit.places import Places
from leaks import EAST, LATITUDE, LONGITUDE, NORTH

SQUARE = [(650_000, 330_000), (650_100, 330_000), (650_100, 330_100), (650_000, 330_100)]


@pytest.mark.parametrize(
    ("x", "y", "crs"),
    [
        (EAST, NORTH, "EPSG:27700"),
        (LONGITUDE, LATITUDE, "EPSG:4326"),
        (LATITUDE, LONGITUDE, "EPSG:4326"),
        (EAST, NORTH, None),
        (LONGITUDE, LATITUDE, None),
    ],
)
def test_the_nest_as_a_vertex_is_found(places: Places, x: float, y: float, crs: str | None) -> None:
    hits = shape_hits(Shape(np.array([[x, y]]), crs, "layer"), places)
    assert hits
    assert not any(hit.allowable for hit in hits)


def test_a_cell_or_a_public_street_passes(places: Places) -> None:
    vertices = np.array([*SQUARE, SQUARE[0], (650_333.3, 330_444.4)], dtype=np.float64)
    assert shape_hits(Shape(vertices, "EPSG:27700", "layer"), places) == []


def test_a_vertex_counts_however_few_decimals_it_has(places: Places) -> None:
    shape = Shape(np.array([[1.71, 52.81]]), "EPSG:4326", "layer")
    assert len(shape_hits(shape, places)) == 1


def test_one_bad_vertex_in_a_long_line_is_one_hit(places: Places) -> None:
    vertices = np.array([*SQUARE, (650_020.0, 330_030.0), *SQUARE], dtype=np.float64)
    (hit,) = shape_hits(Shape(vertices, "EPSG:27700", "layer"), places)
    assert hit.value == "place 650020 330030"


def test_hexadecimal_geometry_is_judged_too(places: Places) -> None:
    nest, cell = (shapely.to_wkb(shapely.Point(p), hex=True) for p in ((EAST, NORTH), SQUARE[0]))
    assert hex_geometry_hits(f"geom={nest}", places)
    assert hex_geometry_hits(f"geom={cell}", places) == []


def test_its_text_shows_sizes_only() -> None:
    shape = Shape(np.array([[EAST, NORTH]]), None, "layer")
    assert repr(shape) == "Shape('layer', 1 vertices)"
