"""A folder of records taken in with a locator that takes metres as they are."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

import pandas as pd

from eaveline.private.intake.take_in import Intake

TODAY = dt.date(2026, 11, 25)

Take = Callable[..., Intake]


def locate_metres(places: pd.DataFrame) -> pd.DataFrame:
    """Take easting and northing as they are, good to 5 m."""
    return pd.DataFrame(
        {
            "easting": pd.to_numeric(places["easting"].astype(object)),
            "northing": pd.to_numeric(places["northing"].astype(object)),
            "uncertainty_m": 5.0,
            "method": "easting and northing",
            "street_slug": None,
            "house_name": None,
            "problem": None,
            "problem_column": None,
            "suggestion": None,
            "repair": None,
        },
        index=places.index,
    )
