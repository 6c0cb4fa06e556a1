"""Merging is right as often as it claims, and more often than the plain tools."""

from __future__ import annotations

import numpy as np
import pytest
from sklearn.cluster import AgglomerativeClustering

from eaveline.config import Merging
from eaveline.private.merge.decisions import Decisions
from eaveline.private.merge.linkage import COUNTS_APART
from eaveline.private.merge.sightings import merge_sightings
from merging_quality.curve import (
    METHODS,
    SEEDS,
    Labels,
    comparison_markdown,
    curve_markdown,
    mean_score,
    ours,
    tuned,
)
from merging_quality.evenings import DENSE, MIXES, STANDARD, Mix, draw
from merging_quality.scores import score

CHOSEN = Merging()
OTHER_SEEDS = range(101, 111)


def test_score_by_hand() -> None:
    # Groups {0,1,2} and {3}: of three pairs found one is true ({0,1}); {2,3} is missed.
    found = score([5, 5, 5, 8], [0, 0, 1, 1])
    assert found == (1 / 3, 1 / 2)
    assert found.f1 == pytest.approx(0.4)


def test_the_same_seed_draws_the_same_evenings() -> None:
    one, truth = draw(STANDARD, seed=1)
    other, same_truth = draw(STANDARD, seed=1)
    assert one.equals(other)
    assert (truth == same_truth).all()
    assert not one.equals(draw(STANDARD, seed=2)[0])
    assert one["key"].is_unique


def test_the_standard_mix_on_evenings_never_tuned_on() -> None:
    found = mean_score(
        ours, STANDARD, distance_m=CHOSEN.distance_m, minutes=CHOSEN.minutes, seeds=OTHER_SEEDS
    )
    assert found.f1 >= 0.97
    assert min(found) >= 0.96


@pytest.mark.slow
@pytest.mark.parametrize("mix", ["standard", "dense"])
def test_never_below_a_plain_tool_tuned_on_the_same_evenings(mix: str) -> None:
    here = mean_score(ours, MIXES[mix], distance_m=CHOSEN.distance_m, minutes=CHOSEN.minutes)
    for name, method in METHODS.items():
        if method is not ours:
            assert here.f1 > tuned(method, MIXES[mix])[2].f1 + 0.01, name


@pytest.mark.slow
def test_the_defaults_are_the_best_of_the_curve() -> None:
    distance_m, minutes, best = tuned(ours, STANDARD)
    assert (distance_m, minutes) == (CHOSEN.distance_m, CHOSEN.minutes)
    assert (
        best.f1
        == mean_score(
            ours, STANDARD, distance_m=CHOSEN.distance_m, minutes=CHOSEN.minutes, seeds=SEEDS
        ).f1
    )


def brute_force(mix: Mix, seed: int) -> tuple[Labels, Labels]:
    """Return our labels and those of a full matrix, written out from the definition."""
    table, _ = draw(mix, seed=seed)
    rounding = {
        name
        for name, times in table.groupby("seen_by", observed=True)["time"]
        if len(times) >= 4 and (times % 5 == 0).all()
    }
    blur = np.where(table["seen_by"].isin(rounding), 2.5, 0.0)
    reach = np.minimum(table["uncertainty_m"].to_numpy(), 800.0)
    east, north = table["easting"].to_numpy(), table["northing"].to_numpy()
    day = (table["date"] - table["date"].min()).dt.days.to_numpy()
    minute = day * 1440 + table["time"].to_numpy()
    birds = table["birds"].to_numpy(dtype=np.float64)
    who = table["seen_by"].cat.codes.to_numpy()

    def over(values: np.ndarray, ufunc: np.ufunc) -> np.ndarray:
        return np.asarray(ufunc.outer(values, values))

    apart = np.hypot(over(east, np.subtract), over(north, np.subtract))
    matrix = np.sqrt(
        (apart / (CHOSEN.distance_m + over(reach, np.add))) ** 2
        + (over(minute, np.subtract) / (CHOSEN.minutes + over(blur, np.add))) ** 2
        + (np.log(over(birds, np.divide)) / np.log(COUNTS_APART)) ** 2
    )
    matrix[over(who, np.equal)] = 1e6
    np.fill_diagonal(matrix, 0.0)
    referee = AgglomerativeClustering(
        n_clusters=None, metric="precomputed", linkage="complete", distance_threshold=1.0
    )
    return ours(table, distance_m=CHOSEN.distance_m, minutes=CHOSEN.minutes), referee.fit_predict(
        matrix
    ).astype(np.int64)


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("mix", [Mix(evenings=8), Mix(evenings=3, parties=DENSE.parties)])
def test_it_equals_brute_force_complete_linkage(mix: Mix, seed: int) -> None:
    found, referee = brute_force(mix, seed)
    assert score(found, referee).f1 == 1.0
    assert len(np.unique(found)) == len(np.unique(referee))


def test_every_join_names_its_rows_distances_and_limits() -> None:
    table, _ = draw(STANDARD, seed=1)
    joins = merge_sightings(
        table, decisions=Decisions(), distance_m=CHOSEN.distance_m, minutes=CHOSEN.minutes
    ).joins
    place = table[["easting", "northing"]].to_numpy()
    metres = np.hypot(*(place[joins["row_id"]] - place[joins["into"]]).T)
    assert joins["metres"].to_numpy() == pytest.approx(metres, abs=0.051)
    assert (joins["metres"] <= joins["limit_m"] + 0.1).all()
    assert (joins["minutes"] <= joins["limit_minutes"]).all()
    assert (joins["part"] <= 1).all()
    assert set(joins["limit_minutes"]) == {5.0, 7.5, 10.0}


@pytest.mark.slow
def test_the_tables_print() -> None:
    assert curve_markdown(Mix(evenings=2)).count("\n") == 7
    assert comparison_markdown().count("ours") == 2 * len(MIXES)
