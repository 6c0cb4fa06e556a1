"""Distinct buildings from every kind of list."""

from __future__ import annotations

import time
from typing import TypeVar

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, box

import towns
from eaveline.protect.buildings.premises import Premises, assign_building, distinct_premises

EAST, NORTH = 650_000.0, 330_000.0
GRID = "EPSG:27700"
Place = tuple[float, float]
Row = TypeVar("Row")


def addresses(*rows: tuple[str, str, float, float]) -> pd.DataFrame:
    """Return addresses at places given from a corner of the open sea."""
    table = pd.DataFrame(rows, columns=["street", "house", "easting", "northing"])
    return table.assign(easting=table["easting"] + EAST, northing=table["northing"] + NORTH)


def points(*places: Place) -> gpd.GeoDataFrame:
    x, y = np.array(places, dtype=float).reshape(-1, 2).T
    return gpd.GeoDataFrame(geometry=gpd.points_from_xy(x + EAST, y + NORTH), crs=GRID)


def outlines(
    *boxes: tuple[float, float, float, float], use: list[str | None] | None = None
) -> gpd.GeoDataFrame:
    shapes = [
        box(west + EAST, south + NORTH, east + EAST, north + NORTH)
        for west, south, east, north in boxes
    ]
    return gpd.GeoDataFrame({"use": use or [None] * len(shapes)}, geometry=shapes, crs=GRID)


def places(premises: Premises) -> list[Place]:
    table = premises.buildings[["easting", "northing"]] - [EAST, NORTH]
    return [(float(x), float(y)) for x, y in table.to_numpy()]


# Addresses


def test_twelve_flats_at_one_point_are_one_building_of_twelve_households() -> None:
    flats = addresses(*[("Mill Lane", f"Flat {n}, Albion House", 5, 5) for n in range(1, 13)])
    found = distinct_premises(addresses=flats)
    assert found.buildings["households"].tolist() == [12]
    assert found.buildings["source"].tolist() == ["addresses"]


def test_flats_of_one_house_are_one_wherever_their_points_are() -> None:
    found = distinct_premises(
        addresses=addresses(
            ("Mill Lane", "12", 0, 0),
            ("Mill Ln", "12a", 6, 0),
            ("MILL LANE", "Flat 3, 12", 0, 14),
            ("Mill Lane", "14", 20, 0),
            ("Mill Lane", "Flat 1, Albion House", 60, 0),
            ("Mill Lane", "Flat 2, Albion House", 75, 0),
        )
    )
    assert found.buildings["households"].sum() == 6
    assert len(found.buildings) == 3


def test_one_number_far_apart_is_two_buildings() -> None:
    found = distinct_premises(
        addresses=addresses(("Mill Lane", "12", 0, 0), ("Mill Lane", "12", 300, 0))
    )
    assert len(found.buildings) == 2


def test_points_of_two_metres_are_one_and_of_four_are_two() -> None:
    found = distinct_premises(
        addresses=addresses(("A Road", "1", 0, 0), ("B Road", "2", 2, 0), ("A Road", "3", 6, 0))
    )
    assert places(found) == [(0, 0), (6, 0)]


def test_terraced_houses_at_five_metres_stay_apart() -> None:
    row = addresses(*[("Albert Road", str(2 * n), 5 * n, 0) for n in range(1, 21)])
    assert len(distinct_premises(addresses=row).buildings) == 20


# Points


def test_a_point_near_an_address_adds_nothing_and_others_count() -> None:
    found = distinct_premises(
        addresses=addresses(("Mill Lane", "12", 0, 0)), points=points((4, 3), (0, 0), (40, 0))
    )
    assert found.buildings[["households", "source"]].to_numpy().tolist() == [
        [1, "addresses"],
        [1, "points"],
    ]


def test_two_points_on_one_roof_are_one() -> None:
    found = distinct_premises(points=points((1, 1), (9, 9), (30, 5)), outlines=outlines(
        (0, 0, 10, 10), (25, 0, 35, 10)))  # fmt: skip
    assert len(found.buildings) == 2


def test_points_in_no_outline_a_garage_or_a_barn_do_not_count() -> None:
    found = distinct_premises(
        points=points((5, 5), (52, 2), (105, 5), (200, 200)),
        outlines=outlines(
            (0, 0, 10, 10), (50, 0, 54, 4), (100, 0, 120, 20), use=["house", None, "Barn"]
        ),
    )
    assert places(found) == [(5, 5)]


def test_an_address_counts_wherever_it_lies() -> None:
    found = distinct_premises(
        addresses=addresses(("A Road", "1", 52, 2), ("A Road", "2", 300, 300)),
        outlines=outlines((50, 0, 54, 4), use=["barn"]),
    )
    assert len(found.buildings) == 2


# Roofs


def test_a_terrace_drawn_as_one_outline_keeps_its_numbered_houses() -> None:
    row = addresses(*[("Albert Road", str(n), 5 * n - 2.5, 4) for n in range(1, 13)])
    found = distinct_premises(addresses=row, outlines=outlines((0, 0, 60, 8)))
    assert len(found.buildings) == 12


def test_a_flat_in_such_a_terrace_belongs_to_the_nearest_house() -> None:
    row = addresses(
        *[("Albert Road", str(n), 5 * n - 2.5, 4) for n in range(1, 7)],
        ("Albert Road", "Garden Flat", 13.5, 6.5),
    )
    found = distinct_premises(addresses=row, outlines=outlines((0, 0, 30, 8)))
    assert found.buildings["households"].tolist() == [1, 1, 2, 1, 1, 1]


def test_flats_numbered_like_houses_are_one_block() -> None:
    """Twenty numbers in a block of 20 m: no house has a front of one metre."""
    block = addresses(
        *[("Rose Court", str(n + 1), 2 + 4 * (n % 5), 2 + 4 * (n // 5)) for n in range(20)]
    )
    found = distinct_premises(addresses=block, outlines=outlines((0, 0, 20, 20)))
    assert found.buildings["households"].tolist() == [20]


def test_a_row_of_points_without_numbers_under_one_roof_counts_once() -> None:
    row = points(*[(5 * n - 2.5, 4) for n in range(1, 13)])
    assert len(distinct_premises(points=row, outlines=outlines((0, 0, 60, 8))).buildings) == 1


def test_an_outline_without_address_never_counts_where_there_are_addresses() -> None:
    found = distinct_premises(
        addresses=addresses(("A Road", "1", 5, 5)),
        outlines=outlines((0, 0, 10, 10), (60, 0, 80, 20)),
    )
    assert places(found) == [(5, 5)]


# Outlines alone


def test_a_farm_is_one_and_sheds_are_none() -> None:
    found = distinct_premises(
        outlines=outlines(
            (0, 0, 10, 10),  # the farmhouse
            (25, 0, 55, 20),  # its barn, not said to be one
            (200, 0, 204, 5),  # a shed
            (300, 0, 312, 10),
            (400, 0, 420, 20),
            use=[None, None, None, "residential", "agricultural store"],
        )
    )
    assert places(found) == [(40, 10), (306, 5)]
    assert found.buildings["source"].tolist() == ["outlines"] * 2


def test_outlines_alone_are_never_within_25_metres() -> None:
    corners = towns.estate(1)[:400]
    shapes = [box(x - 5, y - 4, x + 5, y + 4) for x, y in corners]
    found = distinct_premises(outlines=gpd.GeoDataFrame(geometry=shapes, crs=GRID))
    chosen = found.buildings[["easting", "northing"]].to_numpy()
    apart = np.hypot(*(chosen[:, None] - chosen[None]).transpose(2, 0, 1))
    assert 20 < len(chosen) < 400
    # Boxes of 10 by 8 m that are 25 m apart have centres at least 33 m apart along northings.
    assert apart[~np.eye(len(chosen), dtype=bool)].min() > 25


def test_a_shape_that_crosses_itself_does_no_harm() -> None:
    bow = Polygon([(EAST, NORTH), (EAST + 20, NORTH + 20), (EAST + 20, NORTH), (EAST, NORTH + 20)])
    found = distinct_premises(
        points=points((16, 10)), outlines=gpd.GeoDataFrame(geometry=[bow], crs=GRID)
    )
    assert len(found.buildings) == 1


# As a whole


@given(st.data())
def test_the_order_of_rows_does_not_matter(data: st.DataObject) -> None:
    coordinate = st.integers(0, 60).map(float)
    house = st.sampled_from(["1", "2", "2a", "3", "Flat 1, 3", "Rose Cottage", "Flat 2", "12-14"])
    row = st.tuples(st.sampled_from(["A Road", "B Road"]), house, coordinate, coordinate)
    rows = data.draw(st.lists(row, max_size=12))
    spots = data.draw(st.lists(st.tuples(coordinate, coordinate), max_size=12))
    corners = data.draw(st.lists(st.tuples(coordinate, coordinate), max_size=5))
    roofs = [(x, y, x + 12, y + 7) for x, y in corners]

    def lists(order: int) -> Premises:
        rng = np.random.default_rng(order)

        def mixed(items: list[Row]) -> list[Row]:
            return items if not order else [items[n] for n in rng.permutation(len(items))]

        return distinct_premises(
            addresses=addresses(*mixed(rows)),
            points=points(*mixed(spots)),
            outlines=outlines(*mixed(roofs)),
        )

    straight = lists(0)
    for order in (1, 2):
        pd.testing.assert_frame_equal(lists(order).buildings, straight.buildings)
        pd.testing.assert_frame_equal(lists(order).members, straight.members)
    assert straight.buildings[["easting", "northing"]].apply(tuple, axis=1).is_monotonic_increasing


@given(
    st.lists(st.tuples(st.integers(0, 40), st.integers(0, 40)), min_size=1, max_size=15),
    st.tuples(st.integers(0, 40), st.integers(0, 40)),
)
def test_a_list_more_never_makes_a_point_list_count_a_roof_twice(
    spots: list[tuple[int, int]], corner: tuple[int, int]
) -> None:
    """Outlines only ever lower the count of a list of points."""
    found = points(*[(float(x), float(y)) for x, y in spots])
    roof = outlines((corner[0], corner[1], corner[0] + 15, corner[1] + 8))
    alone = len(distinct_premises(points=found).buildings)
    assert len(distinct_premises(points=found, outlines=roof).buildings) <= alone


def test_nothing_gives_no_premises() -> None:
    assert distinct_premises().buildings.empty
    assert distinct_premises(addresses=addresses(), points=points()).buildings.empty


def test_inputs_are_left_alone() -> None:
    given_lists = {
        "addresses": addresses(("A Road", "1", 0, 0), ("A Road", "2", 8, 0)),
        "points": points((0, 0), (30, 0)),
        "outlines": outlines((0, 0, 10, 10)),
    }
    copies = {name: table.copy() for name, table in given_lists.items()}
    distinct_premises(**given_lists)  # type: ignore[arg-type]  # one table for each name
    for name, table in given_lists.items():
        pd.testing.assert_frame_equal(pd.DataFrame(table), pd.DataFrame(copies[name]))


@pytest.mark.parametrize("crs", [None, "EPSG:4326", "EPSG:29903"])
def test_lists_in_degrees_or_of_two_grids_are_refused(crs: str | None) -> None:
    wrong = gpd.GeoDataFrame(geometry=[box(0, 0, 10, 10)], crs=crs)
    with pytest.raises(ValueError, match="projected coordinate system"):
        distinct_premises(points=points((0, 0)), outlines=wrong)


def test_a_log_shows_how_many_and_no_place() -> None:
    found = distinct_premises(addresses=addresses(("A Road", "1", 0, 0)))
    assert repr(found) == "<Premises: 1 buildings>"


def test_a_city_takes_seconds() -> None:
    spread = towns.large_town(1, premises=100_000)
    start = time.process_time()
    found = distinct_premises(
        points=gpd.GeoDataFrame(geometry=gpd.points_from_xy(*spread.T), crs=GRID)
    )
    assert time.process_time() - start < 10
    assert len(found.buildings) > 90_000


# Records and buildings


@pytest.fixture
def street() -> Premises:
    return distinct_premises(
        addresses=addresses(
            ("A Road", "1", 0, 0), ("A Road", "3", 5, 0), ("A Road", "5", 100, 0),
            ("A Road", "Flat 2, 5", 108, 0),
        )
    )  # fmt: skip


@pytest.mark.parametrize(
    ("place", "uncertainty_m", "building"),
    [
        ((0, 0), 0.0, 0),  # at the list's own point
        ((1, 9), 1.0, 0),  # at the wall, read off a good map
        ((0, 30), 10.0, -1),
        ((0, 30), 70.7, 0),  # a six-figure grid reference
        ((2.5, 0), 5.0, 0),  # as near to both: the lower id
        ((108, 3), 1.0, 2),  # at the flat's own point: the house it belongs to
        ((float("nan"), 0), 10.0, -1),
        ((0, 3), float("nan"), 0),
    ],
)
def test_a_record_is_joined_to_the_nearest_building_within_its_uncertainty(
    street: Premises, place: Place, uncertainty_m: float, building: int
) -> None:
    found = assign_building([place[0] + EAST], [place[1] + NORTH], [uncertainty_m], street)
    assert found.tolist() == [building]


def test_without_premises_no_record_has_a_building() -> None:
    assert assign_building([EAST], [NORTH], [50.0], distinct_premises()).tolist() == [-1]
