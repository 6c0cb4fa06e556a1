"""On towns whose uptake is known, the plan brings more used boxes than simpler rules."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from eaveline.private.offers.plans import BEST, NEAREST, SPREAD
from offer_town import play, slope_of

SEEDS = 200


@pytest.mark.slow
def test_the_plan_brings_more_and_its_estimates_hold() -> None:
    outcomes = [play(seed) for seed in range(SEEDS)]
    used: Counter[str] = Counter()
    for outcome in outcomes:
        used.update(outcome.used)
    assert used[BEST] >= 1.15 * used[SPREAD]
    assert used[BEST] >= used[NEAREST]
    expected = np.concatenate([outcome.expected for outcome in outcomes])
    taken = np.concatenate([outcome.taken for outcome in outcomes])
    assert 0.9 <= slope_of(expected, taken) <= 1.1
    assert expected.sum() == pytest.approx(taken.sum(), rel=0.1)
