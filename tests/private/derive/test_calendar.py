"""When swifts were seen."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from eaveline.private.derive.calendar import (
    SUNSET_BANDS,
    arrivals,
    by_sunset,
    by_week,
    daily_peaks,
    median_peaks,
    near_caller,
    swift_parties,
)


def sightings(*rows: tuple[object, ...]) -> pd.DataFrame:
    table = pd.DataFrame(rows, columns=["date", "birds", "easting", "northing", "calls_playing"])
    dates = pd.to_datetime(table["date"])
    return table.assign(
        date=dates,
        season=dates.dt.year,
        birds=table["birds"].astype(float),
        atlas_code=5,
        species="swift",
    )


PARTIES = sightings(
    ("2024-02-29", 3, 0.0, 0.0, False),  # a leap day, long before the birds; held elsewhere
    ("2026-06-01", 4, 0.0, 0.0, False),
    ("2026-06-01", 9, 500.0, 0.0, False),
    ("2026-06-07", 6, 0.0, 99.0, False),
    ("2026-06-08", 7, 0.0, 101.0, False),
    ("2026-06-09", np.nan, 0.0, 0.0, True),
)
BOXES = pd.DataFrame(
    {
        "easting": [0.0, 0.0],
        "northing": [0.0, 0.0],
        "calls_from": [pd.Timestamp("2026-06-02"), pd.NaT],
        "calls_to": pd.to_datetime(["NaT", "NaT"]),
    }
)


def test_the_largest_of_a_day_never_the_sum() -> None:
    peaks = daily_peaks(PARTIES)
    assert peaks["birds"].tolist() == [3, 9, 6, 7]


def test_the_median_is_a_count_somebody_made() -> None:
    """Of 9, 6 and 7 it is 7; of an even number the lower of the middle two."""
    assert median_peaks(PARTIES).loc[2026].to_numpy().tolist() == [3, 7]
    assert median_peaks(PARTIES.iloc[1:4]).loc[2026].to_numpy().tolist() == [2, 6]


def test_weeks_begin_on_monday() -> None:
    weeks = by_week(PARTIES)
    assert [str(day.date()) for day in weeks["monday"]] == [
        "2024-02-26",
        "2026-06-01",
        "2026-06-08",
    ]
    assert weeks["parties"].tolist() == [1, 3, 2]


def test_within_a_hundred_metres_of_a_caller_that_runs() -> None:
    near = near_caller(PARTIES, BOXES)
    # before the calls began; too far; near and later; 101 m away; said so in the row
    assert near.tolist() == [False, False, False, True, False, True]


def test_a_caller_without_an_end_stops_with_july() -> None:
    august = sightings(("2026-07-31", 3, 0.0, 0.0, False), ("2026-08-01", 3, 0.0, 0.0, False))
    assert near_caller(august, BOXES).tolist() == [True, False]


@pytest.mark.parametrize(
    ("before", "band"),
    [(121, 0), (120, 1), (90, 2), (61, 2), (60, 3), (30, 4), (1, 4), (0, 5), (-9, 5)],
)
def test_bands_of_minutes_before_sunset(before: float, band: int) -> None:
    counts = by_sunset(pd.DataFrame({"before_sunset_min": [before, np.nan]}))
    assert counts.tolist() == [int(place == band) for place in range(len(SUNSET_BANDS))]


def test_first_dates_come_with_the_effort() -> None:
    table = pd.concat([PARTIES, PARTIES.iloc[[1]].assign(species="house martin", atlas_code=1)])
    watches = pd.DataFrame({"season": [2026, 2026], "valid_minutes": [90.0, 45.0]})
    found = arrivals(table, watches)
    swifts = found[found["species"] == "swift"].set_index("season")
    assert [str(day.date()) for day in swifts["first"]] == ["2024-02-29", "2026-06-01"]
    assert [str(day.date()) for day in swifts["last"]] == ["2024-02-29", "2026-06-09"]
    assert swifts["days_with_records"].to_dict() == {2024: 1, 2026: 4}
    assert swifts["days_before"].to_dict() == {2024: 0, 2026: 0}
    assert swifts["hours_watched"].to_dict() == {2024: 0, 2026: 2}
    assert found["species"].tolist() == ["house martin", "swift", "swift"]


def test_a_first_date_with_nobody_out_before_is_shown_as_such() -> None:
    """Somebody recorded martins on one day of the fortnight before the first swift."""
    early = sightings(("2026-05-25", 1, 0.0, 0.0, False), ("2026-05-10", 1, 0.0, 0.0, False))
    table = pd.concat([PARTIES, early.assign(species="house martin", atlas_code=1)])
    found = arrivals(table, pd.DataFrame({"season": [], "valid_minutes": []}))
    swift = found[(found["species"] == "swift") & (found["season"] == 2026)]
    assert swift["days_before"].tolist() == [1]


def test_nothing_seen() -> None:
    none = PARTIES.iloc[:0]
    assert swift_parties(none).empty
    assert median_peaks(none).empty
    assert by_week(none).empty
    assert arrivals(none, pd.DataFrame({"season": [], "valid_minutes": []})).empty
    assert near_caller(none, BOXES).empty
