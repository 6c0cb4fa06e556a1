"""What follows from published counts, worked out with an integer programme (HiGHS).

Nothing here comes from the program under attack: a stranger has the published rule, the published
figures and a list of addresses.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from itertools import product
from typing import TypeVar

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

G = TypeVar("G", bound=Hashable)


@dataclass(frozen=True)
class Sum:
    """Between `low` and `high` of the houses in these groups have a nest."""

    groups: frozenset[Hashable]
    low: float
    high: float


def exactly(groups: Iterable[Hashable], number: int) -> Sum:
    """Return the statement that these groups have so many."""
    return Sum(frozenset(groups), number, number)


def sure_counts(sizes: Mapping[G, int], sums: Iterable[Sum]) -> dict[G, int]:
    """Return the least number of nests each group has in any town that fits all statements."""
    names = list(sizes)
    column = {name: number for number, name in enumerate(names)}
    rows, low, high = [], [], []
    for each in sums:
        row = np.zeros(len(names))
        row[[column[name] for name in each.groups if name in column]] = 1
        rows.append(row)
        low.append(each.low)
        high.append(each.high)
    constraints = LinearConstraint(np.array(rows), low, high)
    bounds = Bounds(np.zeros(len(names)), np.array([sizes[name] for name in names], dtype=float))
    found = {}
    for name in names:
        wanted = np.zeros(len(names))
        wanted[column[name]] = 1
        answer = milp(
            wanted,
            constraints=constraints,
            bounds=bounds,
            integrality=np.ones(len(names), dtype=np.int64),
        )
        assert answer.success, "no town at all fits what was published"
        found[name] = round(answer.fun)
    return found


def smallest_in_one_group(sizes: Mapping[G, int], sums: Iterable[Sum]) -> tuple[int, object]:
    """Return how few houses of one group must hold a nest between them, and which group.

    With at least c nests among n houses, any n - c + 1 of them hold one.
    """
    least = sure_counts(sizes, list(sums))
    sure = {name: sizes[name] - count + 1 for name, count in least.items() if count > 0}
    if not sure:
        return sum(sizes.values()), None
    where = min(sure, key=lambda name: sure[name])
    return sure[where], where


def smallest_set(
    sizes: Mapping[G, int],
    lows: Mapping[G, int],
    highs: Mapping[G, int],
    total: int,
) -> int:
    """Return the size of the smallest set of houses that holds a nest whatever the town is.

    The houses may lie in many groups. A set with s houses in a group of n leaves room for
    n - s nests there. It is sure to hold one if in some group the room is less than the least
    count, or if all rooms together, each up to its group's highest count, are less than the
    total. One integer programme chooses the cheaper way.

    Returns
    -------
    int
        The number of all houses plus one if no set is sure.
    """
    names = list(sizes)
    many = len(names)
    if total == 0:
        return sum(sizes.values()) + 1
    size = np.array([sizes[name] for name in names], dtype=float)
    low = np.array([lows[name] for name in names], dtype=float)
    high = np.array([highs[name] for name in names], dtype=float)
    # Columns: s (houses chosen), u (room), b (room is the highest count), z (group broken), t.
    width = 4 * many + 1
    big = float(size.sum() + high.sum() + total + 1)
    rows, least, most = [], [], []

    def add(terms: dict[int, float], at_least: float, at_most: float) -> None:
        row = np.zeros(width)
        for place, factor in terms.items():
            row[place] = factor
        rows.append(row)
        least.append(at_least)
        most.append(at_most)

    for g in range(many):
        s, u, b, z = g, many + g, 2 * many + g, 3 * many + g
        add({s: 1, z: -(size[g] - low[g] + 1)}, 0, np.inf)
        add({u: 1, b: -big}, high[g] - big, np.inf)
        add({u: 1, s: 1, b: big}, size[g], np.inf)
    add({**{many + g: 1 for g in range(many)}, 4 * many: big}, -np.inf, total - 1 + big)
    add({**{3 * many + g: 1 for g in range(many)}, 4 * many: 1}, 1, np.inf)
    breakable = (low > 0).astype(float)
    bounds = Bounds(
        np.zeros(width),
        np.concatenate([size, size + high, np.ones(many), breakable, [1.0]]),
    )
    answer = milp(
        np.concatenate([np.ones(many), np.zeros(width - many)]),
        constraints=LinearConstraint(np.array(rows), least, most),
        bounds=bounds,
        integrality=np.ones(width, dtype=np.int64),
    )
    return round(answer.fun) if answer.success else int(size.sum()) + 1


def fewest_sure(sizes: Mapping[G, int], sums: Iterable[Sum], *, below: int) -> int:
    """Return how few houses, of any groups, must hold a nest in any town that fits all statements.

    Houses of one group are alike in every statement, so a set is as good as its number in each.

    Returns
    -------
    int
        `below` if no set of fewer is sure.
    """
    names = list(sizes)
    statements = list(sums)
    rows = np.array(
        [[float(name in each.groups) for name in names] for each in statements]
    ).reshape(len(statements), len(names))
    constraints = LinearConstraint(
        rows, [each.low for each in statements], [each.high for each in statements]
    )

    def may_be_empty(chosen: tuple[int, ...]) -> bool:
        room = np.array([sizes[name] for name in names], dtype=float) - chosen
        answer = milp(
            np.zeros(len(names)),
            constraints=constraints,
            bounds=Bounds(np.zeros(len(names)), room),
            integrality=np.ones(len(names), dtype=np.int64),
        )
        return bool(answer.success)

    assert may_be_empty((0,) * len(names)), "no town at all fits what was published"
    reach = [range(min(sizes[name], below - 1) + 1) for name in names]
    for size in range(1, below):
        for chosen in product(*reach):
            if sum(chosen) == size and not may_be_empty(chosen):
                return size
    return below
