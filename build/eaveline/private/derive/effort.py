"""How much of each watch counts as looking: the light, the weather and the length decide.

Rules (common practice, no source, unless another is named): swifts are watched from up to
two and a half hours before sunset until half an hour after it, or in the first two and a
half hours after sunrise, between May and mid August; house martins at nests in full
daylight from May to September, so any daylight hour counts for them. A watch in the rain,
in wind over Beaufort 4 or below 10 degrees in which nothing was seen is void: it is no
evidence of absence.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

FIRST_DAY_OF_YEAR, LAST_DAY_OF_YEAR = 121, 228
"""1 May to 16 August, a day earlier in a leap year."""
BEFORE_SUNSET_MINUTES = 150
AFTER_SUNSET_MINUTES = 30
AFTER_SUNRISE_MINUTES = 150
MOST_WIND_BFT = 4
LEAST_TEMPERATURE_C = 10
SHORTEST_MINUTES = 15
"""A shorter look is a sighting at best."""


def valid_minutes(
    watches: pd.DataFrame, *, sunrise: npt.NDArray[np.float64], sunset: npt.NDArray[np.float64]
) -> pd.Series:
    """Return for each watch the minutes that count as looking for swifts.

    Parameters
    ----------
    watches
        date, start and end (minutes of the local day), weather, wind_bft, temp_c, most_birds.
    sunrise, sunset
        Minutes after local midnight on each watch's date, shape (n,).

    Returns
    -------
    pandas.Series of float64
        Whole minutes from 0 up, on the same index; void watches have 0.
    """
    start = watches["start"].to_numpy(dtype=np.float64)
    end = watches["end"].to_numpy(dtype=np.float64)

    def overlap(
        low: npt.NDArray[np.float64], high: npt.NDArray[np.float64]
    ) -> npt.NDArray[np.float64]:
        shared: npt.NDArray[np.float64] = np.minimum(end, high) - np.maximum(start, low)
        return np.maximum(shared, 0.0)

    evening = overlap(sunset - BEFORE_SUNSET_MINUTES, sunset + AFTER_SUNSET_MINUTES)
    morning = overlap(sunrise, sunrise + AFTER_SUNRISE_MINUTES)
    minutes = evening + morning
    day_of_year = watches["date"].dt.day_of_year.to_numpy()
    in_season = (day_of_year >= FIRST_DAY_OF_YEAR) & (day_of_year <= LAST_DAY_OF_YEAR)
    void = is_void(watches).to_numpy()
    counted = np.where(
        in_season & ~void & (end - start >= SHORTEST_MINUTES), np.floor(minutes), 0.0
    )
    return pd.Series(counted, index=watches.index)


def is_void(watches: pd.DataFrame) -> pd.Series:
    """Return which watches say nothing: bad weather, and no bird seen."""
    bad = (
        (watches["weather"] == "wet")
        | (watches["wind_bft"] > MOST_WIND_BFT)
        | (watches["temp_c"] < LEAST_TEMPERATURE_C)
    )
    return bad & ~(watches["most_birds"] > 0)
