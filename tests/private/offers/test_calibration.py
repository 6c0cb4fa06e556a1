"""Right estimates are called right, although looking ends with a box's first use."""

from __future__ import annotations

import numpy as np
import pytest

from eaveline.private.offers.calibration import calibration_slope, season_outcomes


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
    assert calibration_slope(expected, outcome) == pytest.approx(1.0, abs=0.05)
    assert expected.sum() == pytest.approx(used.sum(), rel=0.03)
    # Over all its seasons at once the same truth would look much too bold.
    whole = -np.expm1(seasons * np.log1p(-chance))
    assert calibration_slope(whole, used) < 0.8
