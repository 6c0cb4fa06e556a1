"""Which minutes of a watch count as looking."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from eaveline.private.derive.effort import is_void, valid_minutes

SUNRISE, SUNSET = 280.0, 1290.0  # 04:40 and 21:30


def watch(**changes: object) -> pd.DataFrame:
    cells: dict[str, object] = {
        "date": pd.Timestamp("2026-07-01"),
        "start": 1200.0,
        "end": 1300.0,
        "weather": "dry",
        "wind_bft": 2.0,
        "temp_c": 18.0,
        "most_birds": 0.0,
    }
    return pd.DataFrame([cells | changes])


def minutes(**changes: object) -> float:
    return float(
        valid_minutes(
            watch(**changes), sunrise=np.array([SUNRISE]), sunset=np.array([SUNSET])
        ).iloc[0]
    )


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, 100),
        ({"start": 1080.0, "end": 1380.0}, 180),  # 19:00 to 22:00 of 18:00 to 23:00
        ({"start": 300.0, "end": 360.0}, 60),  # the first hours of the morning
        ({"start": 720.0, "end": 780.0}, 0),  # noon
        ({"start": 1200.0, "end": 1210.0}, 0),  # a look, not a watch
        ({"date": pd.Timestamp("2026-04-20")}, 0),  # before the birds
        ({"date": pd.Timestamp("2026-09-01")}, 0),  # after them
        ({"weather": "wet"}, 0),
        ({"weather": "wet", "most_birds": 3.0}, 100),  # birds seen in rain were seen
        ({"wind_bft": 5.0}, 0),
        ({"temp_c": 8.0}, 0),
        ({"weather": None, "wind_bft": np.nan, "temp_c": np.nan, "most_birds": np.nan}, 100),
    ],
)
def test_valid_minutes(changes: dict[str, object], expected: float) -> None:
    assert minutes(**changes) == expected


def test_an_unknown_count_in_bad_weather_is_void() -> None:
    assert is_void(watch(weather="wet", most_birds=np.nan)).tolist() == [True]
