"""What people decided about pairs of rows: same, or different."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.private.intake.cells import key_from_text

Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, repr=False)
class Decisions:
    """Pairs of row keys, the smaller first."""

    same: frozenset[tuple[int, int]] = frozenset()
    different: frozenset[tuple[int, int]] = frozenset()

    def __repr__(self) -> str:
        """Show counts only."""
        return f"<Decisions: {len(self.same)} same, {len(self.different)} different>"


def decisions_from(table: pd.DataFrame) -> Decisions:
    """Return the decisions in the usable rows of decisions/."""
    pairs: dict[str, set[tuple[int, int]]] = {"same": set(), "different": set()}
    for first_text, second_text, verdict in zip(
        table["first"], table["second"], table["decision"], strict=True
    ):
        first, second = key_from_text(str(first_text)), key_from_text(str(second_text))
        if first is not None and second is not None and first != second:
            pairs[str(verdict)].add((min(first, second), max(first, second)))
    return Decisions(frozenset(pairs["same"]), frozenset(pairs["different"]))


def positions_of(
    pairs: frozenset[tuple[int, int]], keys: npt.NDArray[np.uint64]
) -> tuple[Ints, Ints]:
    """Return the positions of both rows of each pair whose keys are both among `keys`."""
    if not pairs:
        return np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64)
    wanted = np.array(sorted({key for pair in pairs for key in pair}), dtype=np.uint64)
    where = {int(keys[at]): at for at in np.flatnonzero(np.isin(keys, wanted)).tolist()}
    found = [(where[a], where[b]) for a, b in sorted(pairs) if a in where and b in where]
    both = np.array(found, dtype=np.int64).reshape(-1, 2)
    return both.min(axis=1), both.max(axis=1)


def without_pairs(
    first: Ints, second: Ints, barred: tuple[Ints, Ints], *, count: int
) -> npt.NDArray[np.bool_]:
    """Return which of the pairs (first < second) are not barred."""
    return ~np.isin(first * count + second, barred[0] * count + barred[1])


def joined_labels(label: Ints, pairs: tuple[Ints, Ints]) -> Ints:
    """Return the labels after joining the clusters of each pair, the lowest label winning."""
    if not len(pairs[0]):
        return label
    parent = {int(name): int(name) for name in label[np.concatenate(pairs)]}

    def root(name: int) -> int:
        while parent[name] != name:
            parent[name] = parent[parent[name]]
            name = parent[name]
        return name

    for a, b in zip(label[pairs[0]], label[pairs[1]], strict=True):
        low, high = sorted((root(int(a)), root(int(b))))
        parent[high] = low
    joined = label.copy()
    touched = np.flatnonzero(np.isin(label, np.array(list(parent), dtype=np.int64)))
    joined[touched] = [root(int(name)) for name in label[touched]]
    return joined
