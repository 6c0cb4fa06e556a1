"""What a careful group might publish without the promise: 100 m squares and counts by street."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from red_team.deduction import Sum, exactly, smallest_in_one_group
from red_team.stranger import House

Group = tuple[tuple[int, int], str]
"""A square and a street."""


def groups(houses: Iterable[House]) -> dict[Group, int]:
    """Count the houses of each street in each square."""
    return dict(Counter((house.square, house.street) for house in houses))


def published(houses: list[House], nests: Iterable[House]) -> list[Sum]:
    """Return the counts by square and by street."""
    names = groups(houses)
    by_square = Counter(nest.square for nest in nests)
    by_street = Counter(nest.street for nest in nests)
    sums = [
        exactly([name for name in names if name[0] == square], by_square[square])
        for square in {name[0] for name in names}
    ]
    sums += [
        exactly([name for name in names if name[1] == street], by_street[street])
        for street in {name[1] for name in names}
    ]
    return sums


def found_on(houses: list[House], nests: Iterable[House]) -> tuple[int, list[House]]:
    """Return how few houses must hold a nest on the plain map, and the houses of that group."""
    sizes = groups(houses)
    fewest, where = smallest_in_one_group(sizes, published(houses, list(nests)))
    return fewest, [house for house in houses if (house.square, house.street) == where]
