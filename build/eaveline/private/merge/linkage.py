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
    order = np.lexsort((minute, group))
    east, north, reach = easting[order], northing[order], uncertainty_m[order]
    time, kind, who = minute[order], group[order], recorder[order]
    firsts: list[Ints] = []
    seconds: list[Ints] = []
    parts: list[Floats] = []
    left = np.arange(len(order), dtype=np.int64)
    reach_limit = distance_m + 2 * float(reach.max(initial=0.0))
    lag = 0
    while True:
        lag += 1
        left = left[left + lag < len(order)]
        right = left + lag
        # Sorted by time: once a record's lag-th follower is too late, all further ones are.
        still = (kind[left] == kind[right]) & (time[right] - time[left] <= minutes)
        left, right = left[still], right[still]
        if not len(left):
            break
        # The cheap test first: most pairs of one time are far apart.
        close = np.abs(east[left] - east[right]) <= reach_limit
        a, b = left[close], right[close]
        allowed = ((who[a] != who[b]) | (who[a] < 0)) & (np.abs(north[a] - north[b]) <= reach_limit)
        a, b = a[allowed], b[allowed]
        apart = np.maximum(
            np.hypot(east[a] - east[b], north[a] - north[b]) - reach[a] - reach[b], 0.0
        )
        near = apart <= distance_m
        a, b = a[near], b[near]
        part = np.maximum(_part(apart[near], distance_m), _part(time[b] - time[a], minutes))
        firsts.append(order[a])
        seconds.append(order[b])
        parts.append(part)
    if not firsts:
        nothing = np.empty(0, dtype=np.int64)
        return nothing, nothing, np.empty(0, dtype=np.float64)
    first, second = np.concatenate(firsts), np.concatenate(seconds)
    return np.minimum(first, second), np.maximum(first, second), np.concatenate(parts)


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
    source, other, apart = np.concatenate([a, b]), np.concatenate([b, a]), np.concatenate([d, d])
    order = np.lexsort((other, apart, source))
    source, other = source[order], other[order]
    starts = np.flatnonzero(np.r_[True, source[1:] != source[:-1]])
    nearest = np.full(count, -1, dtype=np.int64)
    nearest[source[starts]] = other[starts]
    low = source[starts]
    mutual = (nearest[nearest[low]] == low) & (low < nearest[low])
    return low[mutual], nearest[low[mutual]]


def _contract(
    target: Ints, a: Ints, b: Ints, d: Floats, links: Ints, size: Ints
) -> tuple[Ints, Ints, Floats, Ints]:
    """Return the pairs between the new clusters that are near in all their members."""
    new_a, new_b = np.minimum(target[a], target[b]), np.maximum(target[a], target[b])
    outside = new_a != new_b
    new_a, new_b, d, links = new_a[outside], new_b[outside], d[outside], links[outside]
    order = np.lexsort((new_b, new_a))
    new_a, new_b, d, links = new_a[order], new_b[order], d[order], links[order]
    if not len(new_a):
        return new_a, new_b, d, links
    starts = np.flatnonzero(np.r_[True, (new_a[1:] != new_a[:-1]) | (new_b[1:] != new_b[:-1])])
    farthest = np.maximum.reduceat(d, starts)
    found = np.add.reduceat(links, starts)
    new_a, new_b = new_a[starts], new_b[starts]
    whole = found == size[new_a] * size[new_b]
    return new_a[whole], new_b[whole], farthest[whole], found[whole]
