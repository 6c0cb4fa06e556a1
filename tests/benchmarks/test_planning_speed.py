"""A council's list of 2,000 applications against 100,000 records: well under 30 seconds."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import shapely
from pytest_benchmark.fixture import BenchmarkFixture

from eaveline.private.planning.screen import BAND_WORDS, Known, screen

APPLICATIONS, RECORDS = 2_000, 100_000
LIMIT_S = 20.0
"""Two thirds of what the whole command may take."""


def drawn_town() -> tuple[pd.DataFrame, Known]:
    """Return applications, every fourth with an outline, and records all over 4 km by 4 km."""
    rng = np.random.default_rng(7)
    centres = rng.uniform(650_000, 654_000, (APPLICATIONS, 2))
    shapes = [
        shapely.box(x, y, x + 60, y + 40) if number % 4 == 0 else shapely.Point(x, y)
        for number, (x, y) in enumerate(centres)
    ]
    places = np.round(rng.uniform(650_000, 654_000, (RECORDS, 2)), -1)
    table = pd.DataFrame(
        {
            "kind": rng.choice(["nest site", "box", "screaming party"], RECORDS),
            "species": rng.choice(["swift", "house martin"], RECORDS),
            "season": rng.integers(2018, 2027, RECORDS),
            "evidence": rng.choice(["possible", "probable", "confirmed"], RECORDS),
            "easting": places[:, 0],
            "northing": places[:, 1],
            "uncertainty_m": 10.0,
            "last": np.datetime64("2026-06-01", "s"),
            "name": None,
        }
    )
    applications = pd.DataFrame({"shape": shapes})
    return applications, Known(table)


@pytest.mark.slow
def test_a_whole_council_list(benchmark: BenchmarkFixture) -> None:
    applications, known = drawn_town()
    found = benchmark(screen, applications, known)
    assert found["application"].nunique() == APPLICATIONS
    assert set(found["band"]) <= set(range(len(BAND_WORDS)))
    if benchmark.stats is not None:
        assert benchmark.stats.stats.max < LIMIT_S
