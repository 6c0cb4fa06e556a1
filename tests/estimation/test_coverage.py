"""Known truths are put into five hundred small towns, and intervals hold them as often as stated.

A 95% interval that is right holds the truth in 93% to 97% of 500 towns nearly always (two
standard errors are 1.9 points); a test at 5% then raises a false alarm in 3% to 7%.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from eaveline.estimation.proportion import clustered_share, wilson
from eaveline.estimation.regression import yearly_change
from eaveline.private.derive.box_use import occupancy_by_season
from eaveline.private.derive.calls import compare_calls
from towns_drawn import drawn_boxes, drawn_history

TOWNS = 500
RIGHT = (0.93, 0.97)
ALARM = (0.03, 0.07)


@pytest.mark.slow
@pytest.mark.parametrize("likeness", [0.001, 0.15, 0.3])
def test_occupancy(likeness: float) -> None:
    """40 buildings with 1 to 5 boxes; boxes of a building are alike to the degree given."""
    truth = 0.3
    held = 0
    for seed in range(TOWNS):
        rng = np.random.default_rng(seed)
        building = np.repeat(np.arange(40), rng.integers(1, 6, 40))
        spread = 1 / likeness - 1
        own = rng.beta(truth * spread, (1 - truth) * spread, 40)
        used = rng.random(len(building)) < own[building]
        table = occupancy_by_season(drawn_history(building, used))
        held += table["low"].iloc[0] <= truth <= table["high"].iloc[0]
    assert RIGHT[0] <= held / TOWNS <= RIGHT[1]


def test_a_plain_interval_would_not_do() -> None:
    """Wilson's interval without the allowance for buildings is too narrow: the above can fail."""
    held = 0
    for seed in range(TOWNS):
        rng = np.random.default_rng(seed)
        building = np.repeat(np.arange(40), rng.integers(1, 6, 40))
        own = rng.beta(0.3 * 7 / 3, 0.7 * 7 / 3, 40)
        used = rng.random(len(building)) < own[building]
        found = wilson(int(used.sum()), len(used))
        assert clustered_share(used, building).low <= found.low + 1e-9
        held += found.low <= 0.3 <= found.high
    assert held / TOWNS < RIGHT[0]


def drawn_visits(seed: int, *, yearly: float) -> pd.DataFrame:
    """Draw counts twice as scattered as Poisson's at 20 sites, 30% of the years missing."""
    rng = np.random.default_rng(seed)
    level = np.exp(rng.normal(1.8, 0.7, 20))
    rows = []
    for site in range(20):
        for year in range(8):
            if rng.random() < 0.3:
                continue
            visits = int(rng.integers(1, 4))
            mean = level[site] * yearly**year * visits
            rows.append((site, 2018 + year, rng.poisson(rng.gamma(mean)), visits, 90))
    return pd.DataFrame(rows, columns=["site", "year", "birds", "visits", "minutes"])


@pytest.mark.slow
@pytest.mark.parametrize("yearly", [0.9, 1.0, 1.06])
def test_trend(yearly: float) -> None:
    held = alarms = 0
    for seed in range(TOWNS):
        found = yearly_change(drawn_visits(seed, yearly=yearly))
        assert found is not None
        held += found.low <= yearly <= found.high
        alarms += not found.low <= 1 <= found.high
    assert RIGHT[0] <= held / TOWNS <= RIGHT[1]
    if yearly == 1:
        assert ALARM[0] <= alarms / TOWNS <= ALARM[1]
    else:
        assert alarms / TOWNS > 0.9


@pytest.mark.slow
@pytest.mark.parametrize("ratio", [1.0, 2.0])
def test_calls(ratio: float) -> None:
    """Calls are played where swifts are near, so distance has to be allowed for."""
    held = alarms = 0
    for seed in range(TOWNS):
        town = drawn_boxes(seed, ratio=ratio)
        found = compare_calls(town.history, distance_m=town.distance_m)
        assert found.comparison is not None
        assert found.ratio is not None
        held += found.ratio.low <= ratio <= found.ratio.high
        alarms += found.comparison.p_value < 0.05
    assert RIGHT[0] <= held / TOWNS <= RIGHT[1]
    if ratio == 1:
        assert ALARM[0] <= alarms / TOWNS <= ALARM[1]
    else:
        assert alarms / TOWNS > 0.6


@pytest.mark.slow
def test_calls_without_regard_to_distance_would_mislead() -> None:
    alarms = 0
    for seed in range(200):
        town = drawn_boxes(seed, ratio=1.0)
        found = compare_calls(town.history, distance_m=np.zeros(len(town.distance_m)))
        assert found.comparison is not None
        alarms += found.comparison.p_value < 0.05
    assert alarms / 200 > 2 * ALARM[1]
