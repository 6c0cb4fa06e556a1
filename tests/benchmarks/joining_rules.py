"""The joining rules that were tried and not chosen, kept so that the comparison can be run again.

Each takes the premises-bearing cells and gives every one a region number, as the chosen
rule in `eaveline.protect.division.partition` does.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt

Integers = npt.NDArray[np.int64]


def _gap(a: Integers, b: Integers) -> tuple[int, int]:
    """Return the Chebyshev and the squared straight distance of two sets of cells."""
    apart = np.abs(a[:, None, :] - b[None, :, :])
    return int(apart.max(axis=2).min()), int((apart**2).sum(axis=2).min())


def nearest_neighbour(cells: Integers, premises: Integers, *, minimum_premises: int) -> Integers:
    """Join the smallest region to its nearest, whatever that is, until none is too small."""
    members = {n: [n] for n in range(len(cells))}
    count = {n: int(premises[n]) for n in members}
    while len(members) > 1:
        small = min((n for n in members), key=lambda n: (count[n], tuple(cells[n])))
        if count[small] >= minimum_premises:
            break
        own = cells[members[small]]
        near = min(
            (n for n in members if n != small),
            key=lambda n: (*_gap(own, cells[members[n]]), count[n], tuple(cells[n])),
        )
        members[near] += members.pop(small)
        count[near] += count.pop(small)
    return _numbered(members, len(cells))


def space_filling_curve(cells: Integers, premises: Integers, *, minimum_premises: int) -> Integers:
    """Cut the small cells into runs along a Z-order curve; big cells stay alone.

    A common device of disclosure control: one pass, but it knows no town.
    """
    members = {n: [n] for n in range(len(cells)) if premises[n] >= minimum_premises}
    low = cells.min(axis=0)
    small = sorted(
        (n for n in range(len(cells)) if premises[n] < minimum_premises),
        key=lambda n: _z_order(*(cells[n] - low)),
    )
    cuts = [0]
    total = 0
    for place, n in enumerate(small, start=1):
        total += int(premises[n])
        if total >= minimum_premises:
            cuts.append(place)
            total = 0
    if len(cuts) > 1:
        cuts[-1] = len(small)
    runs = [small[a:b] for a, b in pairwise(cuts)]
    members |= {run[0]: list(run) for run in runs}
    if small and not runs:  # too few for a run: all go to the nearest big cell
        own = cells[small]
        near = min(members, key=lambda n: (*_gap(own, cells[[n]]), tuple(cells[n])))
        members[near] += small
    return _numbered(members, len(cells))


def _z_order(i: int, j: int) -> int:
    return sum(
        ((int(i) >> bit & 1) << (2 * bit + 1)) | ((int(j) >> bit & 1) << (2 * bit))
        for bit in range(16)
    )


def _numbered(members: dict[int, list[int]], many: int) -> Integers:
    region = np.full(many, -1, dtype=np.int64)
    for number, key in enumerate(sorted(members)):
        region[members[key]] = number
    return region
