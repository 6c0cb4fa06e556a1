"""Sunset against an almanac's values and against another theory of the sun."""

from __future__ import annotations

import datetime as dt
import math
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from eaveline.sun import sunrise_minutes, sunset_minutes

LONDON = {"latitude": 51.5074, "longitude": -0.1278}


@pytest.mark.parametrize(
    ("date", "clock"),
    # Sunset in London as almanacs print it (HM Nautical Almanac Office's values, from memory).
    [("2024-06-21", "21:21"), ("2024-12-21", "15:53"), ("2024-03-20", "18:14")],
)
def test_london_sunsets_agree_with_an_almanac(date: str, clock: str) -> None:
    minutes = sunset_minutes(pd.DatetimeIndex([date]), **LONDON)
    hours, rest = clock.split(":")
    assert minutes[0] == pytest.approx(int(hours) * 60 + int(rest), abs=2)


def test_london_sunrise_agrees_with_an_almanac() -> None:
    # 21 June 2024: 04:43 BST (from memory, as above).
    assert sunrise_minutes(pd.DatetimeIndex(["2024-06-21"]), **LONDON)[0] == pytest.approx(
        4 * 60 + 43, abs=2
    )


def _sun_altitude(when: dt.datetime, latitude: float, longitude: float) -> float:
    """Altitude in degrees by the Astronomical Almanac's low-precision formulas (page C24)."""
    days = (when - dt.datetime(2000, 1, 1, 12, tzinfo=dt.UTC)).total_seconds() / 86_400
    anomaly = math.radians(357.528 + 0.985_600_3 * days)
    mean = 280.460 + 0.985_647_4 * days
    ecliptic = math.radians(mean + 1.915 * math.sin(anomaly) + 0.020 * math.sin(2 * anomaly))
    tilt = math.radians(23.439 - 0.000_000_4 * days)
    right_ascension = math.atan2(math.cos(tilt) * math.sin(ecliptic), math.cos(ecliptic))
    declination = math.asin(math.sin(tilt) * math.sin(ecliptic))
    sidereal = math.radians((18.697_374_558 + 24.065_709_824_419 * days) * 15 + longitude)
    hour_angle = sidereal - right_ascension
    phi = math.radians(latitude)
    return math.degrees(
        math.asin(
            math.sin(phi) * math.sin(declination)
            + math.cos(phi) * math.cos(declination) * math.cos(hour_angle)
        )
    )


def _sunset_by_bisection(day: dt.date, latitude: float, longitude: float) -> float:
    """Minutes of the local day at which the sun's centre sinks below 50 minutes of arc."""
    zone = ZoneInfo("Europe/London")
    noon = dt.datetime.combine(day, dt.time(12), tzinfo=zone)
    low, high = noon.astimezone(dt.UTC), noon.astimezone(dt.UTC) + dt.timedelta(hours=11.9)
    while high - low > dt.timedelta(seconds=1):
        middle = low + (high - low) / 2
        if _sun_altitude(middle, latitude, longitude) > -50 / 60:
            low = middle
        else:
            high = middle
    local = low.astimezone(zone)
    return local.hour * 60 + local.minute + local.second / 60


@settings(max_examples=60)
@given(
    st.dates(dt.date(2015, 4, 1), dt.date(2035, 9, 30)).filter(lambda day: 4 <= day.month <= 9),
    st.floats(50, 58.5),
    st.floats(-8, 1.8),
)
def test_season_sunsets_agree_with_another_theory(
    day: dt.date, latitude: float, longitude: float
) -> None:
    ours = sunset_minutes(pd.DatetimeIndex([day]), latitude=latitude, longitude=longitude)[0]
    assert ours == pytest.approx(_sunset_by_bisection(day, latitude, longitude), abs=2)


def test_summer_time_moves_the_clock_by_an_hour() -> None:
    # The clocks went forward on 31 March 2024; sunset itself moves two minutes a day.
    minutes = sunset_minutes(pd.DatetimeIndex(["2024-03-30", "2024-03-31"]), **LONDON)
    assert minutes[1] - minutes[0] == pytest.approx(61.7, abs=1)


def test_missing_dates_are_nan_and_the_order_is_kept() -> None:
    dates = pd.Series(pd.to_datetime(["2024-06-21", "NaT", "2024-12-21", "2024-06-21"]))
    minutes = sunset_minutes(dates, **LONDON)
    assert np.isnan(minutes[1])
    assert minutes[0] == minutes[3] > minutes[2]
