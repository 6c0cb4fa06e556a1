"""Complete-linkage clustering of near pairs, exact and without a distance matrix.

Two records may be one when they are near in place and in time. Linking chains of near
pairs (single linkage) would swallow a whole evening in a dense town, so a group is formed
only if every two of its members are near each other: complete linkage, cut at the limit.

Clusters are merged by reciprocal nearest neighbours (Murtagh 1983, Computer Journal
26:354-359), which gives the same tree as merging the closest two each time, because
complete linkage is reducible. Only near pairs are kept: two clusters can be merged within
the limit exactly if every pair between them is near.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


def near_pairs(
    *,
    easting: Floats,
    northing: Floats,
    uncertainty_m: Floats,
    minute: Floats,
    group: Ints,
    recorder: Ints,
    distance_m: float,
    minutes: float,
) -> tuple[Ints, Ints, Floats]:
    """Return all pairs of records near enough in place and time to be one.

    Parameters
    ----------
    easting, northing
        Metres, shape (n,), finite.
    uncertainty_m
        Radius of each place's uncertainty; both are allowed for.
    minute
        Minutes on one time line (day x 1440 + minute of the day), finite.
    group
        Records of different groups are never one.
    recorder
        Records of one recorder are never one; -1 is an unknown recorder.
    distance_m, minutes
        The limits.

    Returns
    -------
    first, second, dissimilarity
        Positions with ``first < second`` in the input's order, and the larger of the
        distance (beyond both uncertainties) and the time apart, each as a part of its limit:
        0 is together, 1 is the limit.
    """
    cells = _Cells.of(easting, northing, uncertainty_m, minute, group, side_m=distance_m)
    order = cells.order
    east, north, reach = easting[order], northing[order], uncertainty_m[order]
    time, who = minute[order], recorder[order]
    found: list[tuple[Ints, Ints, Floats]] = []
    for a, b in cells.candidates(minutes):
        apart = np.hypot(east[a] - east[b], north[a] - north[b]) - reach[a] - reach[b]
        later = np.abs(time[b] - time[a])
        near = (
            (apart <= distance_m) & (later <= minutes) & ((who[a] != who[b]) | (who[a] < 0))
        )
        a, b = a[near], b[near]
        part = np.maximum(
            _part(np.maximum(apart[near], 0.0), distance_m), _part(later[near], minutes)
        )
        found.append((order[a], order[b], part))
    first, second, parts = (
        np.concatenate([block[column] for block in found])
        if found
        else np.empty(0, dtype=np.float64 if column == 2 else np.int64)
        for column in range(3)
    )
    return np.minimum(first, second), np.maximum(first, second), parts


_BLOCK = 500_000
"""Candidate pairs looked at together: bounds the memory, whatever the number of records."""
_HALF_NEIGHBOURS = ((0, 1), (1, -1), (1, 0), (1, 1))
"""Of a cell's eight neighbours those after it, so that each pair of cells is looked at once."""


@dataclass(frozen=True, slots=True)
class _Cells:
    """Records sorted by group, square cell and time, so that near ones are found by bisection.

    A cell's side is the farthest two near records can be apart, so they lie in one cell or
    in neighbouring ones.
    """

    order: Ints
    """The records in the order of `moment`."""
    cell: Ints
    """Of each sorted record."""
    time: Floats
    """Minutes after the first, of each sorted record."""
    span: float
    """More than the time line's length and any window, so that cells don't run together."""
    rows: int
    """Cells from south to north, with an empty row between two columns."""

    @classmethod
    def of(
        cls,
        easting: Floats,
        northing: Floats,
        uncertainty_m: Floats,
        minute: Floats,
        group: Ints,
        *,
        side_m: float,
    ) -> _Cells:
        """Sort records into cells."""
        if not len(minute):
            nothing = np.empty(0, dtype=np.int64)
            return cls(nothing, nothing, np.empty(0), 1.0, 1)
        side = max(side_m + 2 * float(uncertainty_m.max()), 1.0)
        column = ((easting - easting.min()) // side).astype(np.int64)
        row = ((northing - northing.min()) // side).astype(np.int64)
        rows = int(row.max()) + 2
        # Two empty columns keep the groups' cells from neighbouring each other.
        columns = int(column.max()) + 2
        kind = np.unique(group, return_inverse=True)[1].astype(np.int64)
        cell = (kind * columns + column) * rows + row
        time = minute - minute.min()
        order = np.lexsort((time, cell))
        return cls(order, cell[order], time[order], 2 * float(time.max()) + 1e6, rows)

    def candidates(self, minutes: float) -> Iterator[tuple[Ints, Ints]]:
        """Yield blocks of pairs of sorted records of near cells and times, each pair once."""
        count = len(self.order)
        at = np.arange(count, dtype=np.int64)
        # A minute more than the window makes up for rounding; the exact test comes after.
        window = min(minutes, float(self.time.max(initial=0.0))) + 1.0
        moment = self.cell * self.span + self.time
        yield from _ranges(at, at + 1, np.searchsorted(moment, moment + window, side="right"))
        for east, north in _HALF_NEIGHBOURS:
            there = moment + (east * self.rows + north) * self.span
            low = np.searchsorted(moment, there - window, side="left")
            high = np.searchsorted(moment, there + window, side="right")
            yield from _ranges(at, low, high)


def _ranges(source: Ints, low: Ints, high: Ints) -> Iterator[tuple[Ints, Ints]]:
    """Yield pairs of each source with every position from its low up to its high, in blocks."""
    some = np.flatnonzero(high > low)
    source, low = source[some], low[some].astype(np.int64)
    many = high[some].astype(np.int64) - low
    ends = np.cumsum(many)
    start = 0
    while start < len(source):
        before = int(ends[start - 1]) if start else 0
        stop = max(start + 1, int(np.searchsorted(ends, before + _BLOCK, side="right")))
        length = many[start:stop]
        first = np.repeat(source[start:stop], length)
        offset = np.repeat(low[start:stop] - (ends[start:stop] - length - before), length)
        yield first, np.arange(len(first), dtype=np.int64) + offset
        start = stop


def _part(amount: Floats, limit: float) -> Floats:
    """Return `amount` as a part of `limit`; with a limit of 0 only 0 is within it."""
    return amount / limit if limit > 0 else np.zeros_like(amount)


def complete_linkage(count: int, first: Ints, second: Ints, dissimilarity: Floats) -> Ints:
    """Cluster `count` records so that every two members of a cluster are a given pair.

    Parameters
    ----------
    count
        Number of records.
    first, second
        The near pairs, each once.
    dissimilarity
        How far apart each pair is. Ties go to the records that come first, so records
        should be in an order that depends on their content alone.

    Returns
    -------
    numpy.ndarray of int64, shape (count,)
        For each record the position of the first member of its cluster.
    """
    label = np.arange(count, dtype=np.int64)
    size = np.ones(count, dtype=np.int64)
    a = np.minimum(first, second).astype(np.int64)
    b = np.maximum(first, second).astype(np.int64)
    d = dissimilarity.astype(np.float64)
    links = np.ones(len(a), dtype=np.int64)
    while len(a):
        keep, gone = _mutual_nearest(count, a, b, d)
        target = np.arange(count, dtype=np.int64)
        target[gone] = keep
        size[keep] += size[gone]
        label = target[label]
        a, b, d, links = _contract(target, a, b, d, links, size)
    return label


def _mutual_nearest(count: int, a: Ints, b: Ints, d: Floats) -> tuple[Ints, Ints]:
    """Return the pairs of clusters that are each other's nearest (ties: the lowest number)."""
    least = np.full(count, np.inf)
    np.minimum.at(least, a, d)
    np.minimum.at(least, b, d)
    nearest = np.full(count, count, dtype=np.int64)
    for one, other in ((a, b), (b, a)):
        closest = d == least[one]
        np.minimum.at(nearest, one[closest], other[closest])
    low = np.flatnonzero(nearest < count)
    mutual = (nearest[nearest[low]] == low) & (low < nearest[low])
    return low[mutual], nearest[low[mutual]]


def _contract(
    target: Ints, a: Ints, b: Ints, d: Floats, links: Ints, size: Ints
) -> tuple[Ints, Ints, Floats, Ints]:
    """Return the pairs between the new clusters that are near in all their members."""
    new_a, new_b = np.minimum(target[a], target[b]), np.maximum(target[a], target[b])
    outside = new_a != new_b
    new_a, new_b, d, links = new_a[outside], new_b[outside], d[outside], links[outside]
    order = np.argsort(new_a * len(size) + new_b, kind="stable")
    new_a, new_b, d, links = new_a[order], new_b[order], d[order], links[order]
    if not len(new_a):
        return new_a, new_b, d, links
    starts = np.flatnonzero(np.r_[True, (new_a[1:] != new_a[:-1]) | (new_b[1:] != new_b[:-1])])
    farthest = np.maximum.reduceat(d, starts)
    found = np.add.reduceat(links, starts)
    new_a, new_b = new_a[starts], new_b[starts]
    whole = found == size[new_a] * size[new_b]
    return new_a[whole], new_b[whole], farthest[whole], found[whole]
