"""Right estimates are called right, although looking ends with a box's first use."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import t as student

from eaveline.private.offers.calibration import calibration_slope, season_outcomes
from offer_town import slope_of


def test_every_season_looked_at_is_one_outcome() -> None:
    """Two boxes: one used in its second season, one unused for three."""
    chance, outcome = season_outcomes(
        np.array([0.2, 0.1]), np.array([2, 3]), np.array([True, False])
    )
    assert chance.tolist() == [0.2, 0.2, 0.1, 0.1, 0.1]
    assert outcome.tolist() == [False, True, False, False, False]


def test_true_chances_have_a_slope_of_one_and_sum_to_what_happens() -> None:
    """Boxes watched to their first use or a third season, their true chances known."""
    rng = np.random.default_rng(4)
    chance = rng.uniform(0.02, 0.5, 20_000)
    first = rng.geometric(chance)
    seasons = np.minimum(first, 3)
    used = first <= 3
    expected, outcome = season_outcomes(chance, seasons, used)
    assert slope_of(expected, outcome) == pytest.approx(1.0, abs=0.05)
    assert expected.sum() == pytest.approx(used.sum(), rel=0.03)
    # Over all its seasons at once the same truth would look much too bold.
    whole = -np.expm1(seasons * np.log1p(-chance))
    assert slope_of(whole, used) < 0.8


def test_the_interval_of_the_slope_against_a_table_of_two_by_two() -> None:
    """Two expectations only: slope and variance have closed forms.

    The slope is the log odds ratio over the distance of the expectations' log odds, and its
    variance the sum of the reciprocal counts over that distance squared (Woolf 1955, Annals of
    Human Genetics 19: 251-253), by G / (G - 1) * (N - 1) / (N - 2) for as many clusters as rows.
    """
    low, high = 0.1, 0.4
    counts = {(low, False): 45, (low, True): 15, (high, False): 20, (high, True): 30}
    expected = np.repeat([chance for chance, _ in counts], list(counts.values()))
    used = np.repeat([taken for _, taken in counts], list(counts.values()))
    apart = np.log(0.4 / 0.6) - np.log(0.1 / 0.9)
    slope = np.log(30 * 45 / (20 * 15)) / apart
    rows = 110
    variance = (1 / 45 + 1 / 15 + 1 / 20 + 1 / 30) / apart**2 * rows / (rows - 2)
    half = student.ppf(0.975, rows - 1) * np.sqrt(variance)
    told = calibration_slope(expected, used)
    assert told is not None
    assert told.value == pytest.approx(slope, abs=1e-6)
    assert (told.low, told.high) == pytest.approx((slope - half, slope + half), abs=1e-6)


def test_boxes_that_share_a_wall_widen_the_interval_as_they_should() -> None:
    """Every box four times over tells nothing new, so the interval stays as it was."""
    rng = np.random.default_rng(2)
    chance = rng.uniform(0.05, 0.6, 120)
    used = rng.random(120) < chance
    once = calibration_slope(chance, used)
    four = calibration_slope(np.repeat(chance, 4), np.repeat(used, 4), np.repeat(np.arange(120), 4))
    assert once is not None
    assert four is not None
    assert four.value == pytest.approx(once.value)
    assert four.high - four.low == pytest.approx(once.high - once.low, rel=0.02)


def test_the_interval_holds_the_truth_as_often_as_it_says() -> None:
    """Walls of one to five boxes: 95% of 400 drawn groups; 3 standard errors are 3.3%."""
    held = 0
    for seed in range(400):
        rng = np.random.default_rng(seed)
        company = rng.integers(1, 6, 50)
        chance = np.repeat(rng.uniform(0.05, 0.6, 50), company)
        told = calibration_slope(
            chance, rng.random(len(chance)) < chance, np.repeat(np.arange(50), company)
        )
        assert told is not None
        held += told.low <= 1 <= told.high
    assert 0.917 <= held / 400 <= 0.983


@pytest.mark.parametrize("used", [[False] * 4, [True] * 4, [False, False, True, True]])
def test_no_slope_where_the_outcomes_have_none(used: list[bool]) -> None:
    assert calibration_slope(np.array([0.1, 0.2, 0.3, 0.4]), used) is None
    assert calibration_slope(np.full(4, 0.2), [False, True, False, True]) is None
