"""The regions as a value."""

from __future__ import annotations

import numpy as np
import pytest

from eaveline.protect.division.regions import (
    Regions,
    id_number,
    no_regions,
    region_id,
    regions_from_cells,
)
from eaveline.public.records import Cell
from small_towns import RULE


@pytest.fixture
def two() -> Regions:
    return regions_from_cells(
        ("R001", "R004"),
        np.array([12, 30]),
        np.array([[6500, 3300], [6500, 3301], [6502, 3300]]),
        np.array([1, 0, 1]),
        rule=RULE,
    )


def test_points_find_their_region(two: Regions) -> None:
    east = [650_000.0, 650_099.9, 650_050.0, 650_250.0, 650_150.0, np.nan, 0.0]
    north = [330_000.0, 330_099.9, 330_100.0, 330_050.0, 330_050.0, 330_050.0, 0.0]
    assert two.region_of(east, north).tolist() == [1, 1, 0, 1, -1, -1, -1]


def test_cells_are_held_region_by_region(two: Regions) -> None:
    assert two.cells == ((Cell(6500, 3301),), (Cell(6500, 3300), Cell(6502, 3300)))
    cells, region = two.every_cell
    assert cells.tolist() == [[6500, 3300], [6500, 3301], [6502, 3300]]
    assert region.tolist() == [1, 0, 1]


def test_a_town_without_a_map_has_no_region_anywhere() -> None:
    nothing = no_regions(RULE)
    assert nothing.region_of([650_000.0], [330_000.0]).tolist() == [-1]
    assert not nothing.ids


def test_equal_regions_are_equal_and_changed_ones_are_not(two: Regions) -> None:
    same = Regions(two.ids, two.cells, two.premises.copy(), two.rule)
    assert same == two
    assert hash(same) == hash(two)
    assert Regions(two.ids, two.cells, two.premises + 1, two.rule) != two
    assert Regions(("R001", "R005"), two.cells, two.premises, two.rule) != two


def test_a_log_shows_how_many_and_no_cell(two: Regions) -> None:
    assert repr(two) == "<Regions: 2>"


@pytest.mark.parametrize(("number", "name"), [(1, "R001"), (999, "R999"), (12345, "R12345")])
def test_ids_and_numbers(number: int, name: str) -> None:
    assert region_id(number) == name
    assert id_number(name) == number
