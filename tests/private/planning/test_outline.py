"""Outlines in well-known text."""

from __future__ import annotations

import pytest
import shapely

from eaveline.private.planning.outline import is_outline, read_outline

SQUARE = "POLYGON ((650000 330000, 650100 330000, 650100 330100, 650000 330100, 650000 330000))"


def test_metres_are_taken_as_they_are() -> None:
    shape = read_outline(SQUARE, crs="EPSG:27700")
    assert shape is not None
    assert shape.area == 10_000
    assert shape.bounds == (650000, 330000, 650100, 330100)


def test_degrees_become_metres() -> None:
    # Ordnance Survey, OSTN15 test data (2016), point TP11.
    shape = read_outline("SRID=4326;POINT (0.89724327012 51.89436637350)", crs="EPSG:27700")
    assert shape is not None
    (point,) = shapely.get_coordinates(shape)
    assert point == pytest.approx([599_445.590, 225_722.826], abs=0.01)


def test_the_irish_grid() -> None:
    # Belfast City Hall is at J 337 740 on the Irish Grid (a tenth of a kilometre).
    shape = read_outline("SRID=4326;POINT (-5.9301 54.5965)", crs="EPSG:29903")
    assert shape is not None
    (point,) = shapely.get_coordinates(shape)
    assert point == pytest.approx([333_750, 374_030], abs=100)


def test_a_crossed_outline_is_mended() -> None:
    shape = read_outline("POLYGON ((0 0, 10 10, 10 0, 0 10, 0 0))", crs="EPSG:27700")
    assert shape is not None
    assert shape.is_valid
    # Two triangles of base 10 and height 5.
    assert shape.area == pytest.approx(50)


@pytest.mark.parametrize(
    "text", ["POLYGON ((1 2, 3", "POLYGON EMPTY", "nonsense", "SRID=3857;POINT (1 2)", ""]
)
def test_what_is_no_outline(text: str) -> None:
    assert not is_outline(text)
    assert read_outline(text, crs="EPSG:27700") is None
