"""Every register that a tiny town may have, and what would be published of each.

The rule is written down once more here, from the method page, so that a fault in the gate and
a fault in the referee would have to agree to go unnoticed; `test_referee` compares the two.
"""

from __future__ import annotations

from itertools import combinations, product

import numpy as np
import numpy.typing as npt

NOTHING, IN_USE, LOST = 0, 1, 2
BANDS = ((1, 2), (3, 5), (6, 10), (11, 20), (21, 50), (51, 10**9))

Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]


def capped(found: Ints, premises: Ints, *, k: int, top_coded: bool = True) -> Ints:
    """Return the whole part of min(L, n / 3, n - k + 1)."""
    limit = np.minimum(premises // 3, premises - k + 1) if top_coded else premises
    counts: Ints = np.minimum(found, limit)
    return counts


def band_number(counts: Ints) -> Ints:
    """Return 0 for none, else the number of the band."""
    numbers: Ints = np.searchsorted([low for low, _ in BANDS], counts, side="right").astype(
        np.int64
    )
    return numbers


def every_register(houses: int, *, kinds: int) -> Ints:
    """Return every way to give each house one of the first `kinds` states; one a row."""
    return np.array(list(product(range(kinds), repeat=houses)), dtype=np.int64)


def published(registers: Ints, sizes: list[int], *, k: int, top_coded: bool = True) -> Ints:
    """Return what is published of each register: bands by region, the town's total, sites lost."""
    edges = np.cumsum([0, *sizes])
    premises = np.array(sizes, dtype=np.int64)

    def by_region(wanted: Bools) -> Ints:
        counts: Ints = np.add.reduceat(wanted.astype(np.int64), edges[:-1], axis=1)
        return counts

    in_use = capped(by_region(registers == IN_USE), premises, k=k, top_coded=top_coded)
    either = capped(by_region(registers != NOTHING), premises, k=k, top_coded=top_coded)
    lost = np.minimum(by_region(registers == LOST), either - in_use)
    return np.column_stack([band_number(in_use), in_use.sum(axis=1), lost.sum(axis=1)])


def fewest_sure(registers: Ints, figures: Ints, wanted: Bools) -> dict[tuple[int, ...], int]:
    """Return for each thing that may be published the size of its smallest sure set.

    That is the fewest houses one of which is `wanted` in every register of which just this is
    published; one more than all houses if there is no such set.
    """
    _, which = np.unique(figures, axis=0, return_inverse=True)
    which = which.ravel()
    groups = int(which.max()) + 1
    houses = registers.shape[1]
    fewest = np.full(groups, houses + 1, dtype=np.int64)
    for size in range(1, houses + 1):
        for chosen in combinations(range(houses), size):
            missed = np.bincount(which[~wanted[:, chosen].any(axis=1)], minlength=groups) > 0
            fewest[~missed & (fewest > size)] = size
    keys = {number: tuple(figures[which == number][0].tolist()) for number in range(groups)}
    return {keys[number]: int(fewest[number]) for number in range(groups)}
