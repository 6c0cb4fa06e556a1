"""What a plan of lots must keep to, and what it costs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, milp

Ints = npt.NDArray[np.int64]
NO_PAIRS: Ints = np.empty((0, 2), dtype=np.int64)


@dataclass(frozen=True)
class Quota:
    """A share for some of the buildings, in boxes.

    `column` names a column of the lots that is true for lots the quota is about.
    """

    column: str
    at_least: int = 0
    at_most: int | None = None


@dataclass(frozen=True)
class Limits:
    """What a plan must keep to.

    Attributes
    ----------
    boxes
        The stock.
    budget_pounds
        What may be spent, or None for no limit.
    most_per_street
        Buildings in one street, or None. Lots without a street are not limited.
    new_area_boxes
        Boxes kept for new areas.
    scaffold_pounds
        Cost of a scaffold, on top of each lot's `cost`; two neighbours can share one.
    most_houses_near
        Houses offered boxes within reach of any one house, or None: boxes side by side wait
        for the same few young swifts. Lots that an owner asked for, or that are promised, are
        free of it and count for nothing in it. Houses and not boxes are counted, because then
        the linear relaxation along a street is nearly whole, and a large town soon solved.
    quotas
        Shares for some of the buildings.
    """

    boxes: int
    budget_pounds: float | None = None
    most_per_street: int | None = None
    new_area_boxes: int = 0
    scaffold_pounds: float = 0.0
    most_houses_near: int | None = None
    quotas: tuple[Quota, ...] = ()


@dataclass(frozen=True)
class Choice:
    """A plan: which lots, and what had to give way.

    Attributes
    ----------
    lots
        Row numbers of the chosen lots, ascending.
    scaffolds
        Scaffolds needed when neighbours share; 0 where scaffolds cost nothing.
    cost
        Pounds, scaffolds included.
    relaxed
        Limits that could not be kept together and were left aside, in plain words.
    missing
        The part of the best value that the plan may be short of: 0 where it is proved best.
    """

    lots: tuple[int, ...]
    scaffolds: int
    cost: float
    relaxed: tuple[str, ...] = ()
    missing: float = 0.0


def exempt(table: pd.DataFrame) -> npt.NDArray[np.bool_]:
    """Return which lots the most boxes near together does not apply to."""
    free: npt.NDArray[np.bool_] = (table["asked"] | table["promised"]).to_numpy(dtype=bool)
    return free


def priced(chosen: Ints, table: pd.DataFrame, limits: Limits, pairs: Ints) -> Choice:
    """Return chosen lots with their scaffolds and their cost."""
    lots = table.iloc[chosen]
    scaffolds = 0
    if limits.scaffold_pounds:
        scaffolds = len(lots) - shared_scaffolds(lots["building"].to_numpy(), pairs)
    cost = float(lots["cost"].sum()) + limits.scaffold_pounds * scaffolds
    return Choice(tuple(sorted(int(n) for n in chosen)), scaffolds, cost)


def shared_scaffolds(buildings: Ints, pairs: Ints) -> int:
    """Return how many scaffolds are saved where neighbours share: a largest matching."""
    there = np.isin(pairs, buildings).all(axis=1)
    edges = pairs[there]
    if not len(edges):
        return 0
    used, ends = np.unique(edges, return_inverse=True)
    ends = ends.reshape(edges.shape)
    rows = sparse.csr_array(
        (np.ones(ends.size), (ends.ravel(), np.repeat(np.arange(len(edges)), 2))),
        shape=(len(used), len(edges)),
    )
    result = milp(
        -np.ones(len(edges)),
        integrality=np.ones(len(edges), dtype=np.int64),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(rows, -np.inf, 1),
    )
    return round(-float(result.fun or 0.0))
