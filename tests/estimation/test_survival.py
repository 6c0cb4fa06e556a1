"""Life tables, against a published trial and against libraries that share no code with ours."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import CensoredData, ecdf
from statsmodels.duration.survfunc import CumIncidenceRight

from eaveline.estimation.permutation import compare_waits
from eaveline.estimation.survival import CENSORED, COMPETING, EVENT, life_table, median_wait

# Freireich et al. 1963, Blood 21:699: weeks in remission; negative ones are censored.
MERCAPTOPURINE = [6, 6, 6, -6, 7, -9, 10, -10, -11, 13, 16, -17, -19, -20, 22, 23, -25, -32, -32]
MERCAPTOPURINE += [-34, -35]
PLACEBO = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]


def test_the_leukaemia_trial() -> None:
    weeks = np.array(MERCAPTOPURINE)
    table = life_table(np.abs(weeks), weeks > 0)
    published = {6: 0.857, 7: 0.807, 10: 0.753, 13: 0.690, 16: 0.627, 22: 0.538, 23: 0.448}
    for week, share in published.items():
        assert table.waiting[week - 1] == pytest.approx(share, abs=0.0005)
    assert (table.waiting_low <= table.waiting + 1e-12).all()
    assert (table.waiting <= table.waiting_high + 1e-12).all()
    assert median_wait(table) == 23


def test_the_trials_log_rank() -> None:
    weeks = np.array(MERCAPTOPURINE + PLACEBO)
    treated = np.arange(len(weeks)) < len(MERCAPTOPURINE)
    found = compare_waits(np.abs(weeks), weeks > 0, treated, shuffles=1999)
    assert found.observed == 9
    assert found.expected == pytest.approx(19.2505, abs=1e-4)
    assert found.variance == pytest.approx(6.2570, abs=1e-4)
    assert (found.observed - found.expected) ** 2 / found.variance == pytest.approx(
        16.79, abs=0.005
    )
    assert found.p_value < 0.005


waits = st.lists(
    st.tuples(st.integers(1, 9), st.sampled_from([CENSORED, EVENT, COMPETING])),
    min_size=1,
    max_size=60,
)


@given(waits)
@settings(max_examples=60)
def test_kaplan_meier_as_scipy_has_it(rows: list[tuple[int, int]]) -> None:
    time, ending = np.array(rows).T
    ours = life_table(time, ending, resamples=10)
    event = ending == EVENT
    theirs = ecdf(CensoredData.right_censored(time.astype(float), ~event)).sf
    assert ours.waiting == pytest.approx(theirs.evaluate(ours.time), abs=1e-12)


@given(waits.filter(lambda rows: {end for _, end in rows} == {CENSORED, EVENT, COMPETING}))
@settings(max_examples=40, deadline=None)
def test_cumulative_incidence_as_statsmodels_has_it(rows: list[tuple[int, int]]) -> None:
    time, ending = np.array(rows).T
    ours = life_table(time, ending, resamples=10)
    with np.errstate(divide="ignore", invalid="ignore"):  # its standard errors, not used here
        theirs = CumIncidenceRight(time, ending)
    at = np.searchsorted(theirs.times, ours.time, side="right") - 1
    expected = np.where(at >= 0, theirs.cinc[0][np.maximum(at, 0)], 0.0)
    assert ours.incidence == pytest.approx(expected, abs=1e-12)


def test_the_interval_ignores_names_and_order() -> None:
    rng = np.random.default_rng(3)
    time, ending = rng.integers(1, 6, 40), rng.integers(0, 3, 40)
    building = rng.integers(0, 12, 40)
    first = life_table(time, ending, cluster=building)
    order = rng.permutation(40)
    renamed = rng.permutation(100)[building]
    again = life_table(time[order], ending[order], cluster=renamed[order])
    np.testing.assert_array_equal(first.waiting_low, again.waiting_low)
    np.testing.assert_array_equal(first.incidence_high, again.incidence_high)


def test_nobody_waits() -> None:
    table = life_table([], [])
    assert len(table.time) == 0
    assert median_wait(table) is None


def test_a_wait_of_no_step_is_refused() -> None:
    with pytest.raises(ValueError, match="one step"):
        life_table([0], [EVENT])
