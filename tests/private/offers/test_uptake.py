"""The chance of uptake starts from published rates and moves by what a group's boxes weigh."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize

from eaveline.private.offers.uptake import (
    PRIOR_MEAN,
    PRIOR_SD,
    Uptake,
    fit_uptake,
    terms_of,
    wall_weights,
)
from offer_town import slope_of


def usual(count: int = 1) -> np.ndarray:
    """Return terms of places as in the published study."""
    return terms_of([0.5] * count, [3] * count, [np.nan] * count, [""] * count)


def test_a_usual_place_has_the_published_rate() -> None:
    """24.3% of 477 boxes (Schaub and others 2016)."""
    certain = Uptake(PRIOR_MEAN, np.zeros((6, 6)), 0, 0)
    assert certain.chance(usual())[0] == pytest.approx(0.243, abs=1e-9)
    assert fit_uptake().chance(usual())[0] == pytest.approx(0.243, abs=0.03)


def test_company_and_swifts_near_by_raise_the_chance_but_a_caller_does_not() -> None:
    model = fit_uptake()
    alone, pair, four, six = model.chance(terms_of([0.5] * 4, [1, 2, 4, 6], [np.nan] * 4, [""] * 4))
    assert alone < pair < four == six
    far, near = model.chance(terms_of([0.0, 0.8], [3, 3], [np.nan] * 2, [""] * 2))
    assert near > 3 * far
    assert PRIOR_MEAN[5] == 0


@given(
    st.floats(0, 0.99), st.floats(0, 0.99), st.integers(1, 8), st.floats(4.5, 12),
)  # fmt: skip
def test_more_pull_never_lowers_a_chance(
    first: float, second: float, lot: int, high: float
) -> None:
    low, more = sorted((first, second))
    chance = fit_uptake().chance(terms_of([low, more], [lot] * 2, [high] * 2, ["N"] * 2))
    assert 0 < chance[0] <= chance[1] < 1


def test_own_boxes_move_the_estimate_by_their_weight() -> None:
    few, many = (
        fit_uptake(usual(n), [3] * n, np.arange(n) % 2 == 0, np.ones(n)) for n in (10, 1000)
    )
    assert fit_uptake().own_share == 0
    assert 0.2 < few.own_share < many.own_share < 1
    assert 0.243 < few.chance(usual())[0] < many.chance(usual())[0]
    # Half of a thousand boxes used by the third season, all first uses seen in the third.
    assert many.own_share > 0.95
    assert (many.boxes, many.used) == (1000, 500)


def test_a_season_of_three_tells_a_third() -> None:
    """Never used in 3 seasons weighs as much as 3 boxes never used in one season each."""
    whole = fit_uptake(usual(40), [3] * 40, [False] * 40, np.ones(40))
    parts = fit_uptake(usual(120), [1] * 120, [False] * 120, np.ones(120))
    np.testing.assert_allclose(whole.mean, parts.mean, atol=1e-8)


def test_the_fit_is_the_posterior_mode_that_a_general_optimiser_finds() -> None:
    rng = np.random.default_rng(4)
    terms = terms_of(
        rng.uniform(0, 0.9, 80),
        rng.integers(1, 5, 80),
        rng.uniform(4, 9, 80),
        rng.choice(["N", "S", ""], 80),
    )
    seasons, used = rng.integers(1, 4, 80), rng.random(80) < 0.3
    weight = wall_weights(rng.integers(0, 30, 80))

    def loss(beta: np.ndarray) -> float:
        season = 1 - np.exp(-np.exp(terms @ beta) / 3)
        told = np.where(used, np.log(season) + (seasons - 1) * np.log1p(-season),
                        seasons * np.log1p(-season))  # fmt: skip
        away = (beta - PRIOR_MEAN) / PRIOR_SD
        return float(-(weight * told).sum() + 0.5 * (away**2).sum())

    referee = minimize(loss, PRIOR_MEAN, method="BFGS", options={"gtol": 1e-8})
    found = fit_uptake(terms, seasons, used, weight)
    np.testing.assert_allclose(found.mean, referee.x, atol=1e-4)


def test_boxes_on_one_wall_count_for_less() -> None:
    """Worked by hand: 1 / (1 + 0.3) for two, 1 / (1 + 3 * 0.3) for four."""
    weights = wall_weights([7, 7, -1, -1, 9, 9, 9, 9, 3])
    np.testing.assert_allclose(weights, [1 / 1.3] * 2 + [1, 1] + [1 / 1.9] * 4 + [1])


def test_the_slope_is_one_for_true_chances_and_half_for_doubled_log_odds() -> None:
    rng = np.random.default_rng(9)
    odds = rng.normal(-1, 1, 40_000)
    taken = rng.random(40_000) < 1 / (1 + np.exp(-odds))
    assert slope_of(1 / (1 + np.exp(-odds)), taken) == pytest.approx(1, abs=0.04)
    bold = 1 / (1 + np.exp(-2 * odds))
    assert slope_of(bold, taken) == pytest.approx(0.5, abs=0.02)
