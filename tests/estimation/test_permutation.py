"""Shuffling whole buildings within strata."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from eaveline.estimation.permutation import compare_waits
from eaveline.estimation.survival import CENSORED, EVENT


def test_against_every_shuffle_counted_by_hand() -> None:
    """Six buildings of one box each; all 20 ways of choosing three are tried here in full."""
    time = np.array([1, 1, 2, 3, 3, 4])
    ending = np.array([EVENT, EVENT, EVENT, CENSORED, EVENT, CENSORED])
    group = np.array([True, True, True, False, False, False])

    def gap(members: np.ndarray) -> float:
        expected = 0.0
        for step in (1, 2, 3):
            waiting = time >= step
            ended = ((time == step) & (ending == EVENT)).sum()
            expected += ended * (waiting & members).sum() / waiting.sum()
        return float((ending[members] == EVENT).sum() - expected)

    gaps = [gap(np.isin(np.arange(6), chosen)) for chosen in itertools.combinations(range(6), 3)]
    exact = np.mean([abs(each) >= abs(gap(group)) - 1e-9 for each in gaps])
    assert compare_waits(time, ending, group).p_value == pytest.approx(exact, abs=0.02)


def test_a_stratum_of_one_label_says_nothing() -> None:
    """Near boxes all have calls and are all used; far ones have none and are not."""
    time = np.array([1, 1, 1, 5, 5, 5])
    ending = np.array([EVENT] * 3 + [CENSORED] * 3)
    calls = np.array([True] * 3 + [False] * 3)
    assert compare_waits(time, ending, calls, stratum=calls).p_value == 1.0


def test_names_and_order_do_not_matter() -> None:
    rng = np.random.default_rng(4)
    building = rng.integers(0, 25, 70)
    calls = (rng.random(25) < 0.4)[building]
    near = (rng.random(25) < 0.5)[building]
    time, ending = rng.integers(1, 5, 70), rng.integers(0, 2, 70)
    order, names = rng.permutation(70), rng.permutation(900)
    first = compare_waits(time, ending, calls, cluster=building, stratum=near)
    again = compare_waits(
        time[order],
        ending[order],
        calls[order],
        cluster=names[building][order],
        stratum=near[order],
    )
    assert again.p_value == first.p_value


def test_nothing_to_compare() -> None:
    assert compare_waits([], [], []).p_value == 1.0
