"""Caps and bands, against every possible register of tiny regions."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from eaveline.protect.counts.bands import band, cap

BANDS = ((1, 2), (3, 5), (6, 10), (11, None))


def smallest_sure_set(premises: int, published: object, publish: object) -> int | None:
    """Return the size of the smallest set of buildings that must hold a nest.

    Every register (every set of occupied buildings) that would have been published the same
    is possible to a reader who knows the rule. None if one of those is empty.
    """
    assert callable(publish)
    buildings = range(premises)
    possible = [
        set(register)
        for size in range(premises + 1)
        for register in combinations(buildings, size)
        if publish(size) == published
    ]
    if not all(possible):
        return None
    for size in range(1, premises + 1):
        for chosen in combinations(buildings, size):
            if all(register & set(chosen) for register in possible):
                return size
    msg = "all buildings together always hold a nest"
    raise AssertionError(msg)


@pytest.mark.parametrize("minimum", [3, 4, 5])
@pytest.mark.parametrize("beyond", [0, 1, 3])
def test_no_smaller_set_than_the_minimum_must_hold_a_nest(minimum: int, beyond: int) -> None:
    premises = minimum + beyond

    def publish(occupied: int) -> int:
        return int(cap(occupied, premises, minimum_premises=minimum))

    for occupied in range(premises + 1):
        sure = smallest_sure_set(premises, publish(occupied), publish)
        assert sure is None or sure >= minimum


@pytest.mark.parametrize("premises", [5, 8])
def test_a_band_tells_no_more_than_its_count(premises: int) -> None:
    def publish(occupied: int) -> object:
        return band(int(cap(occupied, premises, minimum_premises=4)), BANDS)

    for occupied in range(premises + 1):
        sure = smallest_sure_set(premises, publish(occupied), publish)
        assert sure is None or sure >= 4


def test_uncapped_counts_would_name_the_houses() -> None:
    """The enumeration can fail: a full region published as it is points at each house."""
    assert smallest_sure_set(5, 5, lambda occupied: occupied) == 1


@given(
    occupied=st.integers(0, 10_000), premises=st.integers(0, 10_000), minimum=st.integers(3, 1000)
)
def test_the_cap_is_the_formula(occupied: int, premises: int, minimum: int) -> None:
    expected = max(0, int(min(occupied, premises / 3, premises - minimum + 1)))
    assert cap(occupied, premises, minimum_premises=minimum) == expected


def test_arrays_broadcast_and_are_left_alone() -> None:
    occupied = np.array([0, 2, 30, 4])
    before = occupied.copy()
    capped = cap(occupied, np.array([30, 30, 30, 9]), minimum_premises=10)
    assert capped.tolist() == [0, 2, 10, 0]
    assert occupied.tolist() == before.tolist()


@pytest.mark.parametrize(
    ("count", "expected"),
    [(0, None), (1, (1, 2)), (2, (1, 2)), (3, (3, 5)), (10, (6, 10)), (500, (11, None))],
)
def test_a_count_has_one_band(count: int, expected: tuple[int, int | None] | None) -> None:
    assert band(count, BANDS) == expected


@pytest.mark.parametrize(
    "bands", [(), ((1, 2), (4, 5)), ((1, 3), (3, 5)), ((1, None), (2, 3)), ((3, 1),)]
)
def test_bands_with_gaps_or_overlaps_are_refused(
    bands: tuple[tuple[int, int | None], ...],
) -> None:
    with pytest.raises(ValueError, match="band"):
        band(1, bands)


def test_a_count_above_closed_bands_is_refused() -> None:
    with pytest.raises(ValueError, match="above"):
        band(9, ((1, 2), (3, 5)))
