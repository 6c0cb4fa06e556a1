"""Buildings are counted in lots that are full, in an order that anyone may know."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from eaveline.protect.counts.lots import NO_LOT, count_lots, lot_size, lots_of


@pytest.mark.parametrize(("k", "size"), [(5, 5), (10, 13), (20, 28)])
def test_a_lot_is_the_fewest_of_which_a_third_may_be_told(k: int, size: int) -> None:
    """By hand: 13 - 10 + 1 = 4 = 13 // 3, while 12 - 10 + 1 = 3 is less than 12 // 3."""
    assert lot_size(k) == size


def test_lots_are_filled_in_order_and_what_is_of_one_day_stays_together() -> None:
    days = pd.Series([3, 1, 1, 1, 2, 2, 5, 4])
    assert lots_of(days, minimum_premises=5).tolist() == [-1, 0, 0, 0, 0, 0, -1, -1]
    assert lots_of(pd.Series([1] * 12), minimum_premises=5).tolist() == [0] * 12


@given(
    days=st.lists(st.integers(0, 30), min_size=1, max_size=80),
    used=st.integers(0, 2**80),
    more=st.integers(1, 40),
)
def test_a_later_release_differs_by_whole_lots(days: list[int], used: int, more: int) -> None:
    """Buildings counted later change nothing, or add at least a lot with its own cap."""
    k = 5
    found = np.array([bool(used >> n & 1) for n in range(len(days) + more)])
    order = pd.Series([*days, *([31] * more)])
    early = lots_of(order[: len(days)], minimum_premises=k)
    late = lots_of(order, minimum_premises=k)
    before = count_lots(early, found[: len(days)], minimum_premises=k)
    after = count_lots(late, found, minimum_premises=k)
    full = early != NO_LOT
    assert (late[: len(days)][full] == early[full]).all()
    old = (before.buildings, before.used_at_least) if before else (0, 0)
    new = (after.buildings, after.used_at_least) if after else (0, 0)
    assert new == old or new[0] - old[0] - (new[1] - old[1]) + 1 >= k


@given(
    days=st.lists(st.integers(0, 30), min_size=1, max_size=60),
    late=st.lists(st.integers(0, 30), max_size=40),
)
def test_what_comes_late_moves_nothing_and_waits_for_a_lot_of_its_own(
    days: list[int], late: list[int]
) -> None:
    k = 5
    early = lots_of(pd.Series(days), minimum_premises=k)
    before = np.append(early, np.full(len(late), NO_LOT))
    lots = lots_of(pd.Series([*days, *late]), minimum_premises=k, before=before)
    assert (lots[before != NO_LOT] == before[before != NO_LOT]).all()
    sizes = np.bincount(lots[lots != NO_LOT])
    assert (sizes >= lot_size(k)).all()
    assert (lots == NO_LOT).sum() < lot_size(k)
