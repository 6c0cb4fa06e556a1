"""Intervals for a proportion, against Newcombe's table."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from eaveline.estimation.proportion import clustered_share, design_effect, wilson


@pytest.mark.parametrize(
    ("hits", "trials", "low", "high"),
    [
        # Newcombe 1998, Stat. Med. 17:857, Table I, method 3 (score, no continuity correction).
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_newcombes_table(hits: int, trials: int, low: float, high: float) -> None:
    share = wilson(hits, trials)
    assert (round(share.low, 4), round(share.high, 4)) == (low, high)


@given(st.integers(1, 400), st.data())
def test_the_interval_holds_the_share_and_mirrors(trials: int, data: st.DataObject) -> None:
    hits = data.draw(st.integers(0, trials))
    share, mirror = wilson(hits, trials), wilson(trials - hits, trials)
    assert 0 <= share.low <= hits / trials <= share.high <= 1
    assert share.low == pytest.approx(1 - mirror.high, abs=1e-12)


def test_nothing_tried_says_nothing() -> None:
    share = wilson(0, 0)
    assert (share.low, share.high, share.value, share.enough) == (0.0, 1.0, None, False)
    assert clustered_share([], []) == share


def test_more_hits_than_trials_are_refused() -> None:
    with pytest.raises(ValueError, match="between 0"):
        wilson(3, 2)


def test_boxes_that_go_together_count_as_one() -> None:
    """Four buildings of five boxes, all or none used: as good as three boxes, by Kish's deff."""
    hit = np.repeat([True, False, True, False], 5)
    building = np.repeat([1, 2, 3, 4], 5)
    # deff = [sum of (5 * 0.5)^2 * 4/3 / 20^2] / [0.5 * 0.5 / 20] = 20/3, so 3 boxes; Student's t
    # with 3 degrees of freedom is 3.182 where the normal deviate is 1.960
    assert design_effect(hit, building) == pytest.approx(20 / 3)
    expected = wilson(10, 20, effective=3 * (1.960 / 3.182) ** 2)
    assert clustered_share(hit, building).low == pytest.approx(expected.low, abs=1e-3)


def test_single_boxes_are_nearly_independent() -> None:
    hit = np.array([True, False, False, False])
    # 4/3 from the sample variance's own correction, and no more
    assert design_effect(hit, np.arange(4)) == pytest.approx(4 / 3)


def test_twenty_empty_boxes_on_four_buildings_are_four_trials() -> None:
    found = clustered_share(np.zeros(20, dtype=bool), np.repeat([1, 2, 3, 4], 5))
    assert (found.hits, found.trials) == (0, 20)
    assert found.high == wilson(0, 4).high


def test_one_building_is_one_trial() -> None:
    assert design_effect([True, False, True], [8, 8, 8]) == 3
    assert clustered_share([True, False, True], [8, 8, 8]).low == wilson(2, 3, effective=1).low
