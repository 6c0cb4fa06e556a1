"""Complete-linkage clustering of near pairs, exact and without a distance matrix.

Two records may be one when they are near in place, time and number. Linking chains of near
pairs (single linkage) would swallow a whole evening in a dense town, so a group is formed
only if every two of its members are near each other: complete linkage, cut at the limit.

Clusters are merged by reciprocal nearest neighbours (Murtagh 1983, Computer Journal
26:354-359), which gives the same tree as merging the closest two each time, because
complete linkage is reducible. Only near pairs are kept: two clusters can be merged within
the limit exactly if every pair between them is near.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import chain

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


COUNTS_APART = 6.0
"""Counts of one party differ by less than this factor; chosen in tests/merging_quality."""
_VAGUE_M = 100.0
"""Records vaguer than this are few, and looked for apart, in larger cells."""


@dataclass(frozen=True, slots=True)
class Reports:
    """What linkage knows of records, arrays of one length.

    Attributes
    ----------
    easting, northing
        Metres, finite.
    uncertainty_m
        Radius of each place's uncertainty.
    minute
        Minutes on one time line (day x 1440 + minute of the day), finite.
    blur_minutes
        How far each time may be out, beyond what `minutes` allows for everybody.
    count
        Number of birds; NaN says nothing.
    group
        Records of different groups are never one.
    recorder
        Records of one recorder are never one; -1 is an unknown recorder.
    """

    easting: Floats
    northing: Floats
    uncertainty_m: Floats
    minute: Floats
    blur_minutes: Floats
    count: Floats
    group: Ints
    recorder: Ints

    def take(self, rows: Ints) -> Reports:
        """Return some records, given in order and each once."""
        if len(rows) == len(self.minute):
            return self
        return Reports(*(getattr(self, name)[rows] for name in self.__slots__))

    def part(self, a: Ints, b: Ints, *, distance_m: float, minutes: float) -> Floats:
        """Return how far apart pairs are, as a part of what is allowed: 0 together, 1 the limit.

        The parts of the distance, of the time and of the counts' ratio are added as squares,
        so that a pair at one limit must agree in everything else.
        """
        apart = np.hypot(self.easting[a] - self.easting[b], self.northing[a] - self.northing[b])
        later = np.abs(self.minute[a] - self.minute[b])
        ratio = np.abs(np.log(self.count[a] / self.count[b])) / np.log(COUNTS_APART)
        part: Floats = np.sqrt(
            _part(apart, distance_m + self.uncertainty_m[a] + self.uncertainty_m[b]) ** 2
            + _part(later, minutes + self.blur_minutes[a] + self.blur_minutes[b]) ** 2
            + np.nan_to_num(ratio) ** 2
        )
        return part


def _part(amount: Floats, limit: Floats) -> Floats:
    """Return `amount` as a part of `limit`; with a limit of 0 only 0 is within it."""
    return np.divide(amount, limit, out=np.where(amount > 0, np.inf, 0.0), where=limit > 0)


def near_pairs(
    reports: Reports, *, distance_m: float, minutes: float, widened: float = 1.0
) -> tuple[Ints, Ints, Floats]:
    """Return all pairs of records near enough in place, time and number to be one.

    Parameters
    ----------
    reports
        The records.
    distance_m, minutes
        The limits, beyond both places' uncertainties and both times' blur.
    widened
        Look this many times as far.

    Returns
    -------
    first, second, dissimilarity
        Positions with ``first < second``, and `Reports.part` of each pair, at most `widened`.
    """
    far_m, late = distance_m * widened, minutes * widened
    vague = reports.uncertainty_m > _VAGUE_M
    sharp = np.flatnonzero(~vague)
    found: Iterable[tuple[Ints, Ints]] = (
        (sharp[a], sharp[b])
        for a, b in _candidates(reports.take(sharp), widened, distance_m=far_m, minutes=late)
    )
    if vague.any():
        others = _candidates(reports, widened, sources=vague, distance_m=far_m, minutes=late)
        found = chain(found, others)
    first, second, parts = [], [], []
    for a, b in found:
        part = reports.part(a, b, distance_m=distance_m, minutes=minutes)
        who = reports.recorder[a]
        near = (part <= widened) & ((who != reports.recorder[b]) | (who < 0))
        first.append(np.minimum(a[near], b[near]))
        second.append(np.maximum(a[near], b[near]))
        parts.append(part[near])
    nothing = np.empty(0, dtype=np.int64)
    return (
        np.concatenate([nothing, *first]),
        np.concatenate([nothing, *second]),
        np.concatenate([np.empty(0), *parts]),
    )


_BLOCK = 500_000
"""Candidate pairs looked at together: bounds the memory, whatever the number of records."""
_HALF_NEIGHBOURS = ((0, 1), (1, -1), (1, 0), (1, 1))
"""Of a cell's eight neighbours those after it, so that each pair of cells is looked at once."""


def _candidates(
    reports: Reports,
    widened: float,
    *,
    distance_m: float,
    minutes: float,
    sources: npt.NDArray[np.bool_] | None = None,
) -> Iterator[tuple[Ints, Ints]]:
    """Yield pairs of one group that may be near, each once, in blocks.

    Records are sorted by group, square cell and time. A cell's side is the farthest two near
    records can be apart, so they lie in one cell or in neighbouring ones, and those of the
    right time are found by bisection.

    Parameters
    ----------
    reports, widened, distance_m, minutes
        See `near_pairs`; the limits are widened already.
    sources
        If given, yield only pairs with at least one of these.
    """
    if not len(reports.minute):
        return
    side = max(distance_m + 2 * widened * float(reports.uncertainty_m.max()), 1.0)
    column = ((reports.easting - reports.easting.min()) // side).astype(np.int64)
    row = ((reports.northing - reports.northing.min()) // side).astype(np.int64)
    # An empty row and column keep the cells of one edge from neighbouring those of another.
    rows, columns = int(row.max()) + 2, int(column.max()) + 2
    kind = np.unique(reports.group, return_inverse=True)[1].astype(np.int64)
    cell = (kind * columns + column) * rows + row
    time = reports.minute - reports.minute.min()
    order = np.lexsort((time, cell))
    cell, time = cell[order], time[order]
    last = float(time.max())
    # A minute more than the window makes up for rounding; the exact test comes after.
    window = min(minutes + 2 * widened * float(reports.blur_minutes.max()), last) + 1.0
    span = 2 * last + 2 * window + 1.0
    moment = cell * span + time
    at = np.arange(len(order), dtype=np.int64)
    chosen = at if sources is None else np.flatnonzero(sources[order])
    if sources is None:
        own = np.searchsorted(moment, moment + window, side="right")
        searches = [(at + 1, own)]
        neighbours: tuple[tuple[int, int], ...] = _HALF_NEIGHBOURS
    else:
        searches = []
        neighbours = tuple((east, north) for east in (-1, 0, 1) for north in (-1, 0, 1))
    for east, north in neighbours:
        there = moment[chosen] + (east * rows + north) * span
        low = np.searchsorted(moment, there - window, side="left")
        searches.append((low, np.searchsorted(moment, there + window, side="right")))
    for low, high in searches:
        for a, b in _ranges(chosen, low, high):
            if sources is None:
                yield order[a], order[b]
                continue
            # Two sources find each other from both sides; one of these counts.
            once = (a != b) & (~sources[order[b]] | (a < b))
            yield order[a[once]], order[b[once]]


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
        a, b, d, links = _contract(target, a, b, d, links=links, size=size)
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
    target: Ints, a: Ints, b: Ints, d: Floats, *, links: Ints, size: Ints
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
