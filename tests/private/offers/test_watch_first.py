"""Unwatched streets come out with the watches that would settle them, and a rota."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from eaveline.private.offers.watch_first import (
    Line,
    rota,
    routes,
    streets_to_watch,
    watched_by_street,
    watches_needed,
)

NO_SIGNS = pd.DataFrame({"easting": [], "northing": [], "weight": [], "kind": [], "building": []})


def street(name: str, north: float, length: float = 140) -> Line:
    slug = name.lower().replace(" ", "-")
    return Line(slug, name, shapely.LineString([(0, north), (length, north)]))


def homes(*norths: float) -> pd.DataFrame:
    return pd.DataFrame({"easting": 50.0, "northing": list(norths)})


@given(st.floats(0.01, 0.95), st.floats(0, 10))
def test_after_the_watches_the_doubt_is_one_in_twenty_and_no_sooner(
    prior: float, done: float
) -> None:
    def left(watches: float) -> float:
        missed: float = prior * 0.5**watches
        return missed / (missed + 1 - prior)

    needed = watches_needed(prior, done=done)
    assert left(done + needed) <= 0.05 + 1e-6
    assert needed == 0 or left(done + needed - 1) > 0.05 - 1e-6


def test_watched_streets_and_streets_with_birds_are_settled() -> None:
    streets = [street("Able Row", 0), street("Baker Row", 500), street("Cook Row", 1000)]
    signs = pd.DataFrame(
        {"easting": [50.0], "northing": [510.0], "weight": [1.0], "kind": ["x"], "building": [-1]}
    )
    found = streets_to_watch(
        streets, minutes={"able-row": 900.0}, known=signs, premises=homes(5, 505, 1005)
    )
    assert found["street"].tolist() == ["Cook Row"]
    # One street of one was watched and had none: prior (0 + 1) / (1 + 2), so 4 watches.
    assert found["watches"].tolist() == [4]


def test_a_long_street_takes_more_watches_and_a_street_without_homes_none() -> None:
    streets = [street("Able Row", 0), street("Long Row", 500, 440), street("Empty Row", 1000)]
    found = streets_to_watch(streets, minutes={}, known=NO_SIGNS, premises=homes(5, 505))
    needed = dict(zip(found["street"], found["watches"], strict=True))
    assert needed == {"Able Row": 5, "Long Row": 15}


def test_minutes_are_shared_among_the_streets_of_a_watch() -> None:
    watches = pd.DataFrame(
        {
            "key": [1, 2, 3],
            "season": [2026, 2026, 2020],
            "streets": ["Able Row; Baker Row", None, "Able Row"],
            "street_slug": [None, "able-row", None],
            "valid_minutes": [90.0, 60.0, 90.0],
        }
    )
    names = {"Able Row": "able-row", "Baker Row": "baker-row"}
    minutes = watched_by_street(watches, find_street=lambda t: names.get(t.strip()), since=2024)
    assert minutes == {"able-row": 105.0, "baker-row": 45.0}


def sun(dates: pd.Series) -> tuple[np.ndarray, np.ndarray]:
    return np.full(len(dates), 280.0), np.full(len(dates), 1279.0)


def test_the_rota_keeps_a_week_between_visits_and_starts_before_sunset() -> None:
    streets = [street("Able Row", 0), street("Baker Row", 100), street("Cook Row", 5000)]
    found = streets_to_watch(streets, minutes={}, known=NO_SIGNS, premises=homes(5, 105, 5005))
    evenings = rota(found, year=2027, sun_times=sun, evenings_a_week=3)
    first = [evening for evening in evenings if "Able Row" in evening.streets]
    assert {evening.streets for evening in evenings} == {("Able Row", "Baker Row"), ("Cook Row",)}
    assert [evening.turn for evening in first] == [1, 2, 3, 4, 5]
    gaps = np.diff([evening.date.toordinal() for evening in first])
    assert (gaps >= 7).all()
    assert all(evening.start_minute == 1185 for evening in evenings)  # 21:19 less 90, to 5 min
    assert all(dt.date(2027, 5, 25) <= e.date <= dt.date(2027, 7, 12) for e in evenings)
    dates = [evening.date for evening in evenings]
    assert len(set(dates)) == len(dates)


@pytest.mark.parametrize("evenings", [0, 1])
def test_a_group_with_few_evenings_gets_a_short_rota(evenings: int) -> None:
    found = streets_to_watch([street("Able Row", 0)], minutes={}, known=NO_SIGNS, premises=homes(5))
    assert len(rota(found, year=2027, sun_times=sun, evenings_a_week=evenings)) == 5 * evenings


def test_every_street_is_on_one_route() -> None:
    streets = [street(f"Street {n}", 90.0 * n) for n in range(20)]
    found = streets_to_watch(
        streets, minutes={}, known=NO_SIGNS, premises=homes(*(90.0 * n for n in range(20)))
    )
    walks = routes(found)
    assert sorted(row for walk in walks for row in walk) == list(range(20))
    assert max(len(walk) for walk in walks) == 3
