"""Complete linkage against an outside referee and its own definition."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sklearn.cluster import AgglomerativeClustering

from eaveline.private.merge.linkage import Reports, complete_linkage, near_pairs

Floats = npt.NDArray[np.float64]


def evening(seed: int, count: int, *, vague: float = 0.0) -> Reports:
    """Draw reports; a share of them is vague to 700 m."""
    rng = np.random.default_rng(seed)
    reach = np.where(rng.random(count) < vague, 707.0, rng.uniform(0, 40, count))
    return Reports(
        easting=rng.uniform(650_000, 650_700, count),
        northing=rng.uniform(330_000, 330_700, count),
        uncertainty_m=reach,
        minute=rng.uniform(1200, 1270, count),
        blur_minutes=rng.choice([0.0, 2.5], count),
        count=rng.choice([np.nan, 1.0, 2.0, 5.0, 30.0], count),
        group=np.zeros(count, dtype=np.int64),
        recorder=np.arange(count, dtype=np.int64),
    )


def together(many: int, /, **columns: npt.ArrayLike) -> Reports:
    """Return reports of one place and time, but for `columns`."""
    same = Reports(
        easting=np.full(many, 650_000.0),
        northing=np.full(many, 330_000.0),
        uncertainty_m=np.zeros(many),
        minute=np.full(many, 1200.0),
        blur_minutes=np.zeros(many),
        count=np.full(many, np.nan),
        group=np.zeros(many, dtype=np.int64),
        recorder=np.arange(many, dtype=np.int64),
    )
    return replace(same, **{name: np.asarray(values) for name, values in columns.items()})


def dissimilarity(rows: Reports, *, distance_m: float, minutes: float) -> Floats:
    """Return the whole matrix, straight from the definition, a pair at a time."""
    count = len(rows.minute)
    whole = np.zeros((count, count))
    for a, b in itertools.combinations(range(count), 2):
        apart = math.dist(
            (rows.easting[a], rows.northing[a]), (rows.easting[b], rows.northing[b])
        ) / (distance_m + rows.uncertainty_m[a] + rows.uncertainty_m[b])
        later = abs(rows.minute[a] - rows.minute[b]) / (
            minutes + rows.blur_minutes[a] + rows.blur_minutes[b]
        )
        counted = not math.isnan(rows.count[a] + rows.count[b])
        ratio = abs(math.log(rows.count[a] / rows.count[b], 6)) if counted else 0.0
        whole[a, b] = whole[b, a] = math.sqrt(apart**2 + later**2 + ratio**2)
    return whole


def labels(rows: Reports, *, distance_m: float = 150, minutes: float = 10) -> npt.NDArray[np.int64]:
    first, second, part = near_pairs(rows, distance_m=distance_m, minutes=minutes)
    return complete_linkage(len(rows.minute), first, second, part)


def same_grouping(one: npt.ArrayLike, other: npt.ArrayLike) -> bool:
    pairs = set(zip(np.asarray(one).tolist(), np.asarray(other).tolist(), strict=True))
    return len(pairs) == len(set(np.asarray(one).tolist())) == len(set(np.asarray(other).tolist()))


@pytest.mark.parametrize("count", [2, 5, 20, 80])
@pytest.mark.parametrize("seed", range(8))
def test_small_evenings_equal_scikit_learn(seed: int, count: int) -> None:
    rows = evening(seed, count, vague=0.1)
    matrix = dissimilarity(rows, distance_m=150, minutes=10)
    referee = AgglomerativeClustering(
        n_clusters=None, metric="precomputed", linkage="complete", distance_threshold=1.0
    ).fit(matrix)
    assert same_grouping(labels(rows), referee.labels_)


@given(st.integers(0, 10_000), st.integers(2, 40))
@settings(max_examples=60, deadline=None)
def test_every_two_members_are_within_both_limits(seed: int, count: int) -> None:
    rows = evening(seed, count)
    matrix = dissimilarity(rows, distance_m=150, minutes=10)
    label = labels(rows)
    for a, b in itertools.combinations(range(count), 2):
        if label[a] == label[b]:
            assert matrix[a, b] <= 1.0


def test_a_chain_does_not_swallow_an_evening() -> None:
    # Ten parties in a row, each 100 m from the next: single linkage would make one of them.
    rows = together(10, easting=650_000 + 100.0 * np.arange(10))
    assert len(set(labels(rows).tolist())) == 5


def test_recorders_and_groups_are_kept_apart() -> None:
    rows = together(4, group=[0, 0, 0, 1], recorder=[7, 7, 8, 9])
    first, second, _ = near_pairs(rows, distance_m=150, minutes=10)
    assert sorted(zip(first.tolist(), second.tolist(), strict=True)) == [(0, 2), (1, 2)]


def test_two_unknown_recorders_may_be_two_people() -> None:
    first, _, _ = near_pairs(together(2, recorder=[-1, -1]), distance_m=1, minutes=1)
    assert len(first) == 1


@pytest.mark.parametrize(
    ("columns", "near"),
    [
        ({"easting": [650_000, 650_150]}, True),
        ({"easting": [650_000, 650_151]}, False),
        ({"easting": [650_000, 650_190], "uncertainty_m": [10, 30]}, True),
        ({"easting": [650_000, 650_191], "uncertainty_m": [10, 30]}, False),
        ({"minute": [1200, 1210]}, True),
        ({"minute": [1200, 1211]}, False),
        ({"minute": [1200, 1212.5], "blur_minutes": [0, 2.5]}, True),
        ({"count": [3, 18]}, True),
        ({"count": [3, 19]}, False),
        # Each at 0.6 of its limit: 0.85 of the way. At 0.8 each: 1.13.
        ({"easting": [650_000, 650_090], "minute": [1200, 1206]}, True),
        ({"easting": [650_000, 650_120], "minute": [1200, 1208]}, False),
    ],
)
def test_the_limits(columns: dict[str, list[float]], *, near: bool) -> None:
    floats = {name: np.array(values, dtype=np.float64) for name, values in columns.items()}
    first, _, part = near_pairs(together(2, **floats), distance_m=150, minutes=10)
    assert (len(first) == 1) == near
    assert (part <= 1).all()


@given(st.integers(0, 10_000), st.integers(2, 60), st.floats(0, 0.5), st.sampled_from([1.0, 1.6]))
@settings(max_examples=60, deadline=None)
def test_every_near_pair_is_found_once(seed: int, count: int, vague: float, widened: float) -> None:
    rows = evening(seed, count, vague=vague)
    whole = dissimilarity(rows, distance_m=150, minutes=10)
    first, second, part = near_pairs(rows, distance_m=150, minutes=10, widened=widened)
    upper = np.triu(whole <= widened, k=1)
    pairs = sorted(zip(first.tolist(), second.tolist(), strict=True))
    assert pairs == sorted(map(tuple, np.argwhere(upper).tolist()))
    assert part == pytest.approx(whole[first, second])


def test_a_limit_of_nothing_joins_only_what_is_together() -> None:
    rows = evening(1, 10)
    assert len(set(labels(rows, distance_m=0, minutes=0).tolist())) == 10
