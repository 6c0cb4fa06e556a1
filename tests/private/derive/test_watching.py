"""Where watching was done, and how little of a street one elevation is."""

from __future__ import annotations

import numpy as np
import pandas as pd
from shapely import LineString

from eaveline.private.derive.watching import street_effort, visit_counts, watch_sites, why_void

STREETS = {
    "albert-road": LineString([(0, 0), (300, 0)]),
    "mill-lane": LineString([(0, 0), (0, 30)]),
}
SLUGS = {"Albert Road": "albert-road", "Mill Lane": "mill-lane"}


def watches(*rows: dict[str, object]) -> pd.DataFrame:
    plain: dict[str, object] = {
        "date": "2026-06-20",
        "start": 1200.0,
        "end": 1290.0,
        "streets": "Albert Road",
        "street_slug": None,
        "easting": np.nan,
        "northing": np.nan,
        "elevation": None,
        "weather": "dry",
        "wind_bft": 2.0,
        "temp_c": 18.0,
        "most_birds": 4.0,
        "valid_minutes": 90.0,
    }
    table = pd.DataFrame([plain | row for row in rows], columns=list(plain))
    dates = pd.to_datetime(table["date"])
    return table.assign(date=dates, season=dates.dt.year)


def find(text: str) -> str | None:
    return SLUGS.get(text.strip())


def test_one_elevation_does_not_clear_a_street() -> None:
    table = watches({"elevation": "north"}, {"elevation": "north"}, {"elevation": "east"})
    (row,) = street_effort(table, watch_sites(table, find), STREETS).itertuples()
    assert (row.watches, row.minutes, row.elevations) == (3, 270, "east; north")
    # two elevations of 60 m, of two sides of 300 m
    assert row.share == 0.2


def test_a_short_street_cannot_be_watched_more_than_whole() -> None:
    table = watches({"streets": "Mill Lane"})
    assert street_effort(table, watch_sites(table, find), STREETS)["share"].tolist() == [1.0]


def test_minutes_are_shared_among_streets() -> None:
    table = watches({"streets": "Albert Road; Mill Lane"})
    effort = street_effort(table, watch_sites(table, find), STREETS)
    assert effort.set_index("street")["minutes"].to_dict() == {"albert-road": 45, "mill-lane": 45}


def test_a_watch_at_a_place_has_its_square() -> None:
    table = watches({"streets": None, "easting": 650123.0, "northing": 330987.0})
    assert watch_sites(table, find).tolist() == [("6501 3309",)]
    effort = street_effort(table, watch_sites(table, find), STREETS)
    assert effort["street"].tolist() == ["6501 3309"]
    assert np.isnan(effort["share"].iloc[0])


def test_void_watches_say_why() -> None:
    table = watches(
        {},
        {"valid_minutes": 0.0, "end": 1210.0},
        {"valid_minutes": 0.0, "date": "2024-02-29"},
        {"valid_minutes": 0.0, "weather": "wet", "most_birds": 0.0},
        {"valid_minutes": 0.0},
    )
    assert why_void(table).tolist() == [
        "",
        "shorter than 15 minutes",
        "outside May to mid August",
        "bad weather and no bird seen",
        "too far from dusk and from dawn",
    ]
    assert len(street_effort(table, watch_sites(table, find), STREETS)) == 1


def test_what_enters_the_trend() -> None:
    table = watches(
        {"most_birds": 0.0},
        {"most_birds": 6.0, "valid_minutes": 60.0},
        {"most_birds": np.nan},
        {"valid_minutes": 0.0},
        {"most_birds": 50.0},
    )
    near = pd.Series([False, False, False, False, True])
    site = pd.Series(["a", "a", "a", "a", "a"])
    counts = visit_counts(table, site, near_calls=near)
    assert counts.to_dict("records") == [
        {"site": "a", "year": 2026, "birds": 6.0, "visits": 2, "minutes": 75.0}
    ]


def test_no_watches() -> None:
    table = watches()
    sites = watch_sites(table, find)
    assert street_effort(table, sites, STREETS).empty
    assert why_void(table).empty
    assert visit_counts(table, sites, near_calls=pd.Series(dtype=bool)).empty
