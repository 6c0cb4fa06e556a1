"""States a choice of lots as a mixed-integer linear programme."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import sparse

from eaveline.private.offers.limits import NO_PAIRS, Ints, Limits, exempt

Floats = npt.NDArray[np.float64]

VALUE_STEP = 1000
"""Values are compared in whole thousandths of a used nest space; finer would be pretence."""


@dataclass(frozen=True)
class Programme:
    """A linear programme: the lots' variables first, then one for each shared scaffold.

    Attributes
    ----------
    gain
        Whole thousandths that each variable adds.
    rows, low, high
        The limits. One row for each building comes first, then the stock's.
    least
        The variables' lower ends: 1 for what is promised. Their upper ends are 1.
    homes
        How many buildings there are.
    """

    gain: Floats
    rows: sparse.csr_array
    low: Floats
    high: Floats
    least: Floats
    homes: int


def thousandths(value: npt.ArrayLike) -> Ints:
    """Return values as whole thousandths.

    A lot is worth one at least, so that no plan ties with itself and a lot that adds nothing.
    """
    steps = np.rint(np.asarray(value, dtype=np.float64) * VALUE_STEP).astype(np.int64)
    return np.maximum(steps, 1)


def shares_scaffolds(limits: Limits) -> bool:
    """Return whether sharing a scaffold can change the choice."""
    return limits.scaffold_pounds > 0 and limits.budget_pounds is not None


def programme(table: pd.DataFrame, limits: Limits, pairs: Ints, nearby: Ints) -> Programme:
    """Return the programme of some lots.

    Parameters
    ----------
    table
        Lots; see `choice.choose`.
    limits
        What to keep to.
    pairs
        Buildings that can share a scaffold.
    nearby
        Buildings within `limits.near_m` of one another.
    """
    count = len(table)
    lot = table["lot"].to_numpy(dtype=np.float64)
    building = table["building"].to_numpy(dtype=np.int64)
    ids, place = np.unique(building, return_inverse=True)
    edges = _edges(ids, pairs) if shares_scaffolds(limits) else NO_PAIRS
    width = count + len(edges)
    rows: list[sparse.coo_array] = []
    low: list[Floats] = []
    high: list[Floats] = []

    def keep(matrix: sparse.coo_array, least: float, most: float) -> None:
        rows.append(matrix)
        low.append(np.full(matrix.shape[0], least))
        high.append(np.full(matrix.shape[0], most))

    def one(weights: Floats) -> sparse.coo_array:
        line = np.zeros(width)
        line[: len(weights)] = weights
        return sparse.coo_array(line[None, :])

    columns = np.arange(count)
    keep(_grouped(place, columns, np.ones(count), (len(ids), width)), -np.inf, 1.0)
    keep(one(lot), -np.inf, float(limits.boxes))
    if limits.budget_pounds is not None:
        prices = table["cost"].to_numpy(dtype=np.float64) + limits.scaffold_pounds
        weights = np.concatenate([prices, np.full(len(edges), -limits.scaffold_pounds)])
        keep(one(weights), -np.inf, float(limits.budget_pounds))
    if limits.new_area_boxes:
        fresh = table["new_area"].to_numpy(dtype=bool)
        keep(one(lot * fresh), float(limits.new_area_boxes), np.inf)
    for quota in limits.quotas:
        about = table[quota.column].to_numpy(dtype=bool)
        most = np.inf if quota.at_most is None else float(quota.at_most)
        keep(one(lot * about), float(quota.at_least), most)
    if limits.most_per_street is not None:
        streets = pd.factorize(table["street"])[0]
        known = streets >= 0
        shape = (int(streets.max(initial=-1)) + 1, width)
        matrix = _grouped(streets[known], columns[known], np.ones(int(known.sum())), shape)
        keep(matrix, -np.inf, float(limits.most_per_street))
    if limits.most_houses_near is not None:
        matrix = _circles(ids, place, np.where(exempt(table), 0.0, 1.0), nearby, width)
        keep(matrix, -np.inf, float(limits.most_houses_near))
    if len(edges):
        ends = edges.ravel()
        spots = count + np.repeat(np.arange(len(edges)), 2)
        matrix = _grouped(
            np.concatenate([ends, place]),
            np.concatenate([spots, columns]),
            np.concatenate([np.ones(len(ends)), -np.ones(count)]),
            (len(ids), width),
        )
        keep(matrix, -np.inf, 0.0)
    least = np.zeros(width)
    least[:count] = table["promised"].to_numpy(dtype=bool)
    return Programme(
        gain=np.concatenate([thousandths(table["value"]), np.zeros(len(edges))]),
        rows=sparse.csr_array(sparse.vstack(rows)),
        low=np.concatenate(low),
        high=np.concatenate(high),
        least=least,
        homes=len(ids),
    )


def _circles(
    ids: Ints, place: npt.NDArray[np.int_], counts: Floats, nearby: Ints, width: int
) -> sparse.coo_array:
    """Return a row for each house of the town: the houses with boxes that count within reach.

    Circles are drawn round houses without lots of their own too, or setting lots aside would
    widen the limit.
    """
    pairs = nearby[np.isin(nearby, ids).any(axis=1)]
    centre = np.concatenate([pairs[:, 0], pairs[:, 1], ids])
    home = np.concatenate([pairs[:, 1], pairs[:, 0], ids])
    here = np.isin(home, ids)
    centres, row = np.unique(centre[here], return_inverse=True)
    within = sparse.csr_array(
        (np.ones(len(row)), (row, np.searchsorted(ids, home[here]))),
        shape=(len(centres), len(ids)),
    )
    counted = np.flatnonzero(counts)
    lots = sparse.csr_array((counts[counted], (place[counted], counted)), shape=(len(ids), width))
    return sparse.coo_array(within @ lots)


def _grouped(
    groups: npt.NDArray[np.int_],
    columns: npt.NDArray[np.int_],
    weights: Floats,
    shape: tuple[int, int],
) -> sparse.coo_array:
    return sparse.coo_array((weights, (groups, columns)), shape=shape)


def _edges(ids: Ints, pairs: Ints) -> Ints:
    """Return the pairs of buildings that both have lots, as places in `ids`."""
    if not len(pairs):
        return NO_PAIRS
    both = np.isin(pairs, ids).all(axis=1)
    return np.unique(np.sort(np.searchsorted(ids, pairs[both]), axis=1), axis=0)
