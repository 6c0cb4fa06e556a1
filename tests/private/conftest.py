"""Helpers for the private side's tests: a folder of records and a locator that takes metres."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from eaveline.private.intake import Intake, take_in

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


@pytest.fixture
def take(tmp_path: Path) -> Take:
    """Write files into a folder of records and take them in."""

    def take_files(**files: str) -> Intake:
        for name, text in files.items():
            folder, _, stem = name.partition("__")
            path = tmp_path / folder / f"{stem or 'a'}.csv"
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, encoding="utf-8")
        return take_in(tmp_path, locator=locate_metres, today=TODAY)

    return take_files
