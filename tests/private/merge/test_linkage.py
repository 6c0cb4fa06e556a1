"""Complete linkage against an outside referee and its own definition."""

from __future__ import annotations

import itertools

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sklearn.cluster import AgglomerativeClustering

from eaveline.private.merge.linkage import complete_linkage, near_pairs

Floats = npt.NDArray[np.float64]


def evening(seed: int, count: int) -> dict[str, Floats]:
    rng = np.random.default_rng(seed)
    return {
        "easting": rng.uniform(650_000, 650_700, count),
        "northing": rng.uniform(330_000, 330_700, count),
        "uncertainty_m": rng.uniform(0, 40, count),
        "minute": rng.uniform(1200, 1270, count),
    }


def dissimilarity(rows: dict[str, Floats], *, distance_m: float, minutes: float) -> Floats:
    """Return the whole matrix, straight from the definition."""
    east, north = rows["easting"], rows["northing"]
    apart = np.hypot(east[:, None] - east, north[:, None] - north)
    apart = (
        np.maximum(apart - rows["uncertainty_m"][:, None] - rows["uncertainty_m"], 0) / distance_m
    )
    later = np.abs(rows["minute"][:, None] - rows["minute"]) / minutes
    whole: Floats = np.maximum(apart, later)
    np.fill_diagonal(whole, 0)
    return whole


def labels(
    rows: dict[str, Floats], *, distance_m: float = 150, minutes: float = 10
) -> npt.NDArray[np.int64]:
    count = len(rows["easting"])
    first, second, part = near_pairs(
        **rows,
        group=np.zeros(count, dtype=np.int64),
        recorder=np.arange(count),
        distance_m=distance_m,
        minutes=minutes,
    )
    return complete_linkage(count, first, second, part)


def same_grouping(one: npt.ArrayLike, other: npt.ArrayLike) -> bool:
    pairs = set(zip(np.asarray(one).tolist(), np.asarray(other).tolist(), strict=True))
    return len(pairs) == len(set(np.asarray(one).tolist())) == len(set(np.asarray(other).tolist()))


@pytest.mark.parametrize("count", [2, 5, 20, 80])
@pytest.mark.parametrize("seed", range(8))
def test_small_evenings_equal_scikit_learn(seed: int, count: int) -> None:
    rows = evening(seed, count)
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
    rows = {
        "easting": 650_000 + 100.0 * np.arange(10),
        "northing": np.full(10, 330_000.0),
        "uncertainty_m": np.zeros(10),
        "minute": np.full(10, 1200.0),
    }
    assert len(set(labels(rows).tolist())) == 5


def test_recorders_and_groups_are_kept_apart() -> None:
    rows = {
        "easting": np.full(4, 650_000.0),
        "northing": np.full(4, 330_000.0),
        "uncertainty_m": np.zeros(4),
        "minute": np.full(4, 1200.0),
    }
    first, second, _ = near_pairs(
        **rows,
        group=np.array([0, 0, 0, 1]),
        recorder=np.array([7, 7, 8, 9]),
        distance_m=150,
        minutes=10,
    )
    assert sorted(zip(first.tolist(), second.tolist(), strict=True)) == [(0, 2), (1, 2)]


def test_two_unknown_recorders_may_be_two_people() -> None:
    rows = {name: np.zeros(2) for name in ("easting", "northing", "uncertainty_m", "minute")}
    first, _, _ = near_pairs(
        **rows,
        group=np.zeros(2, dtype=np.int64),
        recorder=np.array([-1, -1]),
        distance_m=1,
        minutes=1,
    )
    assert len(first) == 1


def test_a_limit_of_nothing_joins_only_what_is_together() -> None:
    rows = evening(1, 10)
    assert len(set(labels(rows, distance_m=0, minutes=0).tolist())) == 10
