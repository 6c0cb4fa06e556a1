"""Screening: distances, bands, ages, order of urgency."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry.base import BaseGeometry

from eaveline.private.planning.screen import (
    Age,
    Known,
    age_class,
    bands_of,
    distances_m,
    known_places,
    screen,
    urgency,
)
from planned_town import Planned

RING = shapely.Polygon(
    [(0, 0), (100, 0), (100, 100), (0, 100)], [[(40, 40), (60, 40), (60, 60), (40, 60)]]
)
"""A hundred metres square, with a court of twenty metres square in its middle."""
TWO_PARTS = shapely.MultiPolygon([shapely.box(0, 0, 10, 10), shapely.box(200, 0, 210, 10)])


def known(*places: tuple[float, float]) -> Known:
    count = len(places)
    return Known(
        pd.DataFrame(
            {
                "kind": ["nest site"] * count,
                "species": ["swift"] * count,
                "season": [2026] * count,
                "evidence": ["confirmed"] * count,
                "easting": [place[0] for place in places],
                "northing": [place[1] for place in places],
                "uncertainty_m": [0.0] * count,
                "last": np.array(["2026-06-01"] * count, dtype="datetime64[s]"),
                "name": [None] * count,
            }
        )
    )


def bands_found(shape: shapely.Geometry, *places: tuple[float, float]) -> dict[int, int]:
    found = screen(pd.DataFrame({"shape": [shape]}), known(*places))
    return dict(zip(found["band"], found["records"], strict=True))


def test_distances_by_hand() -> None:
    # 3-4-5 triangles from the corner (100, 100), and straight from the edge x = 100.
    places = np.array([[130.0, 140.0], [125.0, 50.0], [50.0, 50.0], [20.0, 20.0]])
    assert distances_m(RING, places).tolist() == [50.0, 25.0, 10.0, 0.0]
    assert distances_m(shapely.Point(100, 100), places[:1]).tolist() == [50.0]


@given(
    x=st.floats(-2000, 2000), y=st.floats(-2000, 2000),
    shape=st.sampled_from([RING, TWO_PARTS, shapely.Point(5, 5)]),
)  # fmt: skip
def test_distances_agree_with_shapely(x: float, y: float, shape: BaseGeometry) -> None:
    (found,) = distances_m(shape, np.array([[x, y]]))
    assert found == pytest.approx(shape.distance(shapely.Point(x, y)), abs=1e-6)


def test_bands_end_where_they_say() -> None:
    metres = np.array([0, 0.1, 25, 25.1, 100, 100.1, 500, 500.1, 1000, 1000.1])
    assert bands_of(metres, on_site_m=0.0).tolist() == [0, 1, 1, 2, 2, 3, 3, 4, 4, 5]
    assert bands_of(np.array([10.0, 10.1]), on_site_m=10.0).tolist() == [0, 1]


def test_a_nest_in_the_court_of_a_site_is_beside_it() -> None:
    assert bands_found(RING, (50, 50), (20, 20)) == {0: 1, 1: 1}


def test_a_site_of_several_parts() -> None:
    # Between the parts, 95 m from either; and on the second.
    assert bands_found(TWO_PARTS, (105, 5), (205, 5)) == {0: 1, 2: 1}


def test_a_nest_on_the_outline_is_on_the_site() -> None:
    assert bands_found(RING, (100, 50)) == {0: 1}


def test_a_site_far_away_finds_nothing() -> None:
    assert bands_found(shapely.box(9_000, 0, 9_100, 100), (50, 50)) == {}


def test_nothing_known_finds_nothing() -> None:
    assert bands_found(RING) == {}


def test_the_newest_date_of_a_group_is_kept() -> None:
    two = known((5, 5), (6, 6))
    dates = np.array(["2020-06-01", "2026-07-03"], dtype="datetime64[s]")
    found = screen(pd.DataFrame({"shape": [RING]}), Known(two.table.assign(last=dates)))
    assert found["last"].tolist() == [pd.Timestamp(2026, 7, 3)]


@pytest.mark.parametrize(
    ("last", "age"),
    [
        # CIEEM's limits: 12 months, 18 months, three years before 1 September 2026.
        (dt.date(2026, 9, 10), Age.UNDER_A_YEAR),
        (dt.date(2025, 9, 3), Age.UNDER_A_YEAR),
        (dt.date(2025, 8, 1), Age.TO_18_MONTHS),
        (dt.date(2025, 3, 5), Age.TO_18_MONTHS),
        (dt.date(2025, 2, 1), Age.TO_3_YEARS),
        (dt.date(2023, 9, 5), Age.TO_3_YEARS),
        (dt.date(2023, 8, 1), Age.OLDER),
    ],
)
def test_ages(last: dt.date, age: Age) -> None:
    assert age_class(last, at=dt.date(2026, 9, 1)) is age


def test_the_register_of_a_town(plan: Planned) -> None:
    table = known_places(plan.register).table
    # By hand from small_town.py: A21, M7, C1 and the martins; twelve boxes; three parties of
    # which two were one.
    sites = table[table["kind"] == "nest site"].drop_duplicates(["species", "easting", "northing"])
    assert len(sites) == 4
    assert (table["kind"] == "box").sum() == 12
    assert (table["kind"] == "screaming party").sum() == 2
    used = table[(table["kind"] == "box") & (table["evidence"] == "used by swifts")]
    assert sorted(used["name"]) == ["B12", "B4", "B8"]
    lost = table[table["evidence"] == "lost"]
    assert lost["name"].tolist() == ["M7"]


def test_what_is_urgent_comes_first(plan: Planned) -> None:
    hits = screen(plan.applications, known_places(plan.register))
    ordered = urgency(plan.applications, hits, today=dt.date(2026, 11, 25))
    assert list(ordered["reference"]) == ["26/00101/FUL", "26/00102/FUL", "26/00103/FUL"]
    assert ordered["nearest_band"].tolist() == [0, 3, 0]
    assert ordered["days_left"].tolist()[:2] == [20, 25]
    assert ordered["decided"].tolist() == [False, False, True]
