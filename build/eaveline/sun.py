"""Sunset and sunrise on the clocks of a town, for every stage."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd
from astral import Observer
from astral.sun import sunrise, sunset

CLOCK: Final = "Europe/London"
"""The time zone of every record: Greenwich mean time, summer time in season."""


def sunset_on(day: dt.date, *, latitude: float, longitude: float) -> dt.datetime:
    """Return the moment of sunset on one day, by the clock in use; see `sunset_minutes`."""
    observer = Observer(latitude=latitude, longitude=longitude)
    return sunset(observer, date=day, tzinfo=ZoneInfo(CLOCK))


def sunset_minutes(
    dates: pd.Series[pd.Timestamp] | pd.DatetimeIndex, *, latitude: float, longitude: float
) -> npt.NDArray[np.float64]:
    """Minutes from local midnight to sunset, by the clock in use that day.

    Parameters
    ----------
    dates
        Days; missing ones give NaN.
    latitude, longitude
        Degrees, east positive, of the town's centre; in the British Isles, where the sun
        sets every day.

    Returns
    -------
    numpy.ndarray
        float64, a value for each date: the sun's upper edge at a flat horizon, refraction
        of 34 minutes of arc (NOAA's equations, through astral; right to a minute or two).
    """
    return _minutes(dates, sunset, latitude=latitude, longitude=longitude)


def sunrise_minutes(
    dates: pd.Series[pd.Timestamp] | pd.DatetimeIndex, *, latitude: float, longitude: float
) -> npt.NDArray[np.float64]:
    """Minutes from local midnight to sunrise; see `sunset_minutes`."""
    return _minutes(dates, sunrise, latitude=latitude, longitude=longitude)


def _minutes(
    dates: pd.Series[pd.Timestamp] | pd.DatetimeIndex,
    event: Callable[..., dt.datetime],
    *,
    latitude: float,
    longitude: float,
) -> npt.NDArray[np.float64]:
    """Ask for each distinct day once."""
    zone = ZoneInfo(CLOCK)
    observer = Observer(latitude=latitude, longitude=longitude)
    codes, days = pd.factorize(pd.DatetimeIndex(dates).normalize())
    times = [event(observer, date=day.date(), tzinfo=zone) for day in days]
    minutes = np.array(
        [time.hour * 60 + time.minute + time.second / 60 for time in times] + [np.nan]
    )
    return minutes[codes]
