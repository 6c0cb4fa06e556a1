"""Scores merging against its limits and against tuned plain tools; run it to print the tables.

PYTHONPATH=build:tests python3 -m merging_quality.curve
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import product
from typing import Final

import numpy as np
import numpy.typing as npt
import pandas as pd
from sklearn.cluster import DBSCAN, AgglomerativeClustering

from eaveline.config import Merging
from eaveline.private.merge.decisions import Decisions
from eaveline.private.merge.sightings import merge_sightings
from merging_quality.evenings import MIXES, Mix, draw
from merging_quality.scores import Score, score

DISTANCES_M: Final = (50.0, 75.0, 100.0, 125.0, 150.0, 200.0)
MINUTES: Final = (2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
SEEDS: Final = (1, 2, 3)
"""Limits are chosen on these; tests score on others."""

Labels = npt.NDArray[np.int64]


def ours(table: pd.DataFrame, *, distance_m: float, minutes: float) -> Labels:
    """Return the row each row went into, or its own."""
    merged = merge_sightings(table, decisions=Decisions(), distance_m=distance_m, minutes=minutes)
    return np.array([merged.members.get(row, row) for row in table.index.tolist()], dtype=np.int64)


def _scaled(table: pd.DataFrame, *, distance_m: float, minutes: float) -> npt.NDArray[np.float64]:
    day = table["date"].to_numpy().astype("datetime64[D]").astype(np.int64)
    moment = (day * 1440 + table["time"].to_numpy()) / minutes
    return np.column_stack(
        [
            table["easting"].to_numpy() / distance_m,
            table["northing"].to_numpy() / distance_m,
            moment,
        ]
    )


def dbscan(table: pd.DataFrame, *, distance_m: float, minutes: float) -> Labels:
    """Cluster as scikit-learn's DBSCAN does with both limits as one radius."""
    points = _scaled(table, distance_m=distance_m, minutes=minutes)
    found: Labels = DBSCAN(eps=1.0, min_samples=1).fit_predict(points).astype(np.int64)
    return found


def agglomerative(table: pd.DataFrame, *, distance_m: float, minutes: float) -> Labels:
    """Cluster each evening as scikit-learn's agglomerative clustering does, complete linkage."""
    points = _scaled(table, distance_m=distance_m, minutes=minutes)
    labels = np.zeros(len(table), dtype=np.int64)
    for number, rows in enumerate(table.groupby("date").indices.values()):
        if len(rows) > 1:
            model = AgglomerativeClustering(
                n_clusters=None, linkage="complete", distance_threshold=1.0
            )
            labels[rows] = model.fit_predict(points[rows]) + 1
        labels[rows] += number * len(table)
    return labels


METHODS: Final[dict[str, Callable[..., Labels]]] = {
    "ours": ours,
    "DBSCAN": dbscan,
    "agglomerative, complete": agglomerative,
}


def mean_score(
    method: Callable[..., Labels],
    mix: Mix,
    *,
    distance_m: float,
    minutes: float,
    seeds: Iterable[int] = SEEDS,
) -> Score:
    """Return precision and recall averaged over several draws."""
    scores = []
    for seed in seeds:
        table, truth = draw(mix, seed=seed)
        scores.append(score(method(table, distance_m=distance_m, minutes=minutes), truth))
    return Score(*(float(part) for part in np.mean(scores, axis=0)))


def tuned(method: Callable[..., Labels], mix: Mix) -> tuple[float, float, Score]:
    """Return the limits with the best F1 on the seeds, and the score there."""
    found = [
        (distance, minutes, mean_score(method, mix, distance_m=distance, minutes=minutes))
        for distance, minutes in product(DISTANCES_M, MINUTES)
    ]
    return max(found, key=lambda each: each[2].f1)


def curve_markdown(mix: Mix) -> str:
    """Return F1 against both limits, as a Markdown table."""
    lines = [
        "| metres \\ minutes | " + " | ".join(f"{minutes:g}" for minutes in MINUTES) + " |",
        "|--:" * (len(MINUTES) + 1) + "|",
    ]
    for distance in DISTANCES_M:
        scores = [
            mean_score(ours, mix, distance_m=distance, minutes=minutes).f1 for minutes in MINUTES
        ]
        lines.append(f"| {distance:g} | " + " | ".join(f"{value:.3f}" for value in scores) + " |")
    return "\n".join(lines)


def comparison_markdown() -> str:
    """Return every method on every mix, as a Markdown table."""
    lines = ["| mix | method | limits | precision | recall | F1 |", "|---|---|---|--:|--:|--:|"]
    chosen = Merging()
    for name, mix in MIXES.items():
        here = mean_score(ours, mix, distance_m=chosen.distance_m, minutes=chosen.minutes)
        rows = [("ours, as it comes", chosen.distance_m, chosen.minutes, here)]
        rows += [(f"{label}, tuned", *tuned(method, mix)) for label, method in METHODS.items()]
        lines += [
            f"| {name} | {label} | {distance:g} m, {minutes:g} min"
            f" | {found.precision:.3f} | {found.recall:.3f} | {found.f1:.3f} |"
            for label, distance, minutes, found in rows
        ]
    return "\n".join(lines)


if __name__ == "__main__":
    print(f"{curve_markdown(MIXES['standard'])}\n\n{comparison_markdown()}")  # noqa: T201 - a command
