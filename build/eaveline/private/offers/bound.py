"""Bounds what any plan that has a given lot can be worth.

A Lagrangian relaxation: limits are priced instead of kept, at the dual prices of the linear
relaxation (Geoffrion 1974, Mathematical Programming Study 2: 82-114). A lot whose bound is
below a plan already found is in no best plan and can be set aside.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import sparse
from scipy.optimize import linprog

from eaveline.private.offers.limits import NO_PAIRS, Ints, Limits
from eaveline.private.offers.programme import (
    Floats,
    Programme,
    programme,
    shares_scaffolds,
    thousandths,
)

_MOST_STATES = 20_000
"""The stock is kept whole in the bound while the table of its states is no larger than this."""
_LEADING_TIMES = 4
"""Of each kind, the relaxation looks at so many times the lots that a plan has room for."""
_MOST_PAIRS = 5000
_SOME = 1e-6
_CELL_M = 60.0
"""Of one kind in a cell of this size, the relaxation looks at the best lot only."""


@dataclass(frozen=True)
class Bound:
    """How much a plan can be worth at most, in thousandths.

    Attributes
    ----------
    with_lot
        For each lot, what no plan that has it can exceed.
    most
        What no plan can exceed.
    taken
        The lots, or parts of them, of which the relaxed plan is made.
    """

    with_lot: Floats
    most: float
    taken: Ints


def bound(
    table: pd.DataFrame, limits: Limits, pairs: Ints, nearby: Ints, *, quick: bool = False
) -> Bound | None:
    """Return the bound on plans, or None if no plan is allowed.

    Where very many buildings can share a scaffold, each of them pays for half of one in the
    easier problem, which no plan can undercut: a scaffold serves two at most.

    Parameters
    ----------
    table, limits, pairs, nearby
        See `programme.programme`.
    quick
        Find the prices from those lots that lead their kind; they hold for the others too,
        if less closely.
    """
    if len(pairs) > _MOST_PAIRS and shares_scaffolds(limits):
        shared = np.isin(table["building"], pairs)
        prices = table["cost"] + limits.scaffold_pounds * (1.0 - shared / 2)
        easier, loose = table.assign(cost=prices), replace(limits, scaffold_pounds=0.0)
        whole = programme(easier, loose, NO_PAIRS, nearby)
    else:
        whole = programme(table, limits, pairs, nearby)
    above, below = np.isfinite(whole.high), np.isfinite(whole.low)
    rows = sparse.csr_array(sparse.vstack([whole.rows[above], -whole.rows[below]]))
    ends = np.concatenate([whole.high[above], -whole.low[below]])
    count, width = len(table), len(whole.gain)
    leading = np.arange(width, dtype=np.int64)
    if quick:
        sharing = np.isin(table["building"], pairs if width > count else NO_PAIRS)
        kept = [_leading(table, limits), np.flatnonzero(sharing), leading[count:]]
        leading = np.unique(np.concatenate(kept)).astype(np.int64)
    relaxed = linprog(  # type: ignore[call-overload]  # the stubs forget sparse matrices
        -whole.gain[leading],
        A_ub=rows[:, leading],
        b_ub=ends,
        bounds=np.column_stack([whole.least[leading], np.ones(len(leading))]),
        method="highs",
    )
    if relaxed.x is None:
        return None
    price = np.maximum(-relaxed.ineqlin.marginals, 0.0)
    priced = _Priced(whole, rows, ends, price)
    with_lot, most = _one_a_building(table, priced)
    second = _whole_stock(table, limits, priced)
    if second is not None:
        with_lot, most = np.minimum(with_lot, second[0]), min(most, second[1])
    taken = leading[relaxed.x > _SOME]
    return Bound(with_lot, most, taken[taken < count])


@dataclass(frozen=True)
class _Priced:
    """A programme with its limits turned one way, their ends, and their prices."""

    whole: Programme
    rows: sparse.csr_array
    ends: Floats
    price: Floats


def _one_a_building(table: pd.DataFrame, priced: _Priced) -> tuple[Floats, float]:
    """Return the bound that keeps one lot for each building, and prices all else."""
    whole, rows, ends, price = priced.whole, priced.rows, priced.ends, priced.price
    homes, place = np.unique(table["building"].to_numpy(dtype=np.int64), return_inverse=True)
    worth = whole.gain - rows[whole.homes :].T @ price[whole.homes :]
    scaffolds = float(np.maximum(worth[len(table) :], 0.0).sum())
    worth = worth[: len(table)]
    best = np.zeros(len(homes))
    np.maximum.at(best, place, worth)
    fixed = whole.least[: len(table)] > 0
    best[place[fixed]] = worth[fixed]
    most = float(price[whole.homes :] @ ends[whole.homes :]) + scaffolds + float(best.sum())
    return np.where(fixed, np.inf, most - best[place] + worth), most


def _whole_stock(
    table: pd.DataFrame, limits: Limits, priced: _Priced
) -> tuple[Floats, float] | None:
    """Return the bound that keeps the stock and the share for new areas in whole boxes."""
    whole, rows, ends, price = priced.whole, priced.rows, priced.ends, priced.price
    lot = table["lot"].to_numpy(dtype=np.int64)
    fresh = lot * table["new_area"].to_numpy(dtype=bool)
    fixed = whole.least[: len(table)] > 0
    stock = limits.boxes - int(lot[fixed].sum())
    needed = max(0, limits.new_area_boxes - int(fresh[fixed].sum()))
    if stock < 0 or (stock + 1) * (needed + 1) > _MOST_STATES:
        return None
    kept = np.arange(len(ends)) == whole.homes
    if limits.new_area_boxes:
        # Of the least numbers, which come last, the share for new areas is the first.
        kept |= np.arange(len(ends)) == int(np.isfinite(whole.high).sum())
    worth = whole.gain - rows.T @ np.where(kept, 0.0, price)
    scaffolds = float(np.maximum(worth[len(table) :], 0.0).sum())
    worth = worth[: len(table)]
    constant = float(np.where(kept, 0.0, price) @ ends) + scaffolds + float(worth[fixed].sum())
    best = _best_by_state(worth[~fixed], lot[~fixed], fresh[~fixed] > 0, stock, needed)
    most = constant + float(best[stock, needed])
    left = stock - lot
    then = best[np.maximum(left, 0), np.maximum(needed - fresh, 0)]
    with_lot = np.where(left < 0, -np.inf, constant + worth + then)
    return np.where(fixed, np.inf, with_lot), most


def _best_by_state(
    worth: Floats, lot: Ints, fresh: npt.NDArray[np.bool_], stock: int, needed: int
) -> Floats:
    """Return the best worth by boxes to spend and boxes still owed to new areas.

    A knapsack by dynamic programming: lots of one size and kind are taken best first.
    """
    best = np.zeros((stock + 1, needed + 1))
    best[:, 1:] = -np.inf
    for size in np.unique(lot):
        for new in (False, True):
            ranked = -np.sort(-worth[(lot == size) & (fresh == new)])[: stock // int(size)]
            before = best.copy()
            for count, total in enumerate(np.cumsum(ranked), start=1):
                boxes = count * int(size)
                owed = np.maximum(np.arange(needed + 1) - boxes * new, 0)
                best[boxes:] = np.maximum(best[boxes:], before[: stock + 1 - boxes, owed] + total)
    return best


def _leading(table: pd.DataFrame, limits: Limits) -> Ints:
    """Return the lots that lead their kind: promising ones, not all of one spot."""
    kind = ["lot", "cost", "new_area", *(quota.column for quota in limits.quotas)]
    local = ["street"] if limits.most_per_street is not None else []
    table = table.assign(step=-thousandths(table["value"]), at=np.arange(len(table)))
    if limits.most_houses_near is not None:
        table = table.assign(
            east=np.floor(table["easting"] / _CELL_M), north=np.floor(table["northing"] / _CELL_M)
        )
        local += ["east", "north"]
    ranked = table.sort_values(["step", "at"])
    room = limits.boxes // ranked["lot"]
    if local:
        most = (limits.most_per_street or 1) if limits.most_houses_near is None else 1
        here = ranked.groupby([*kind, *local], sort=False, dropna=False).cumcount()
        ranked = ranked[(here < most) | ranked["promised"].astype(bool)]
    place = ranked.groupby(kind, sort=False, dropna=False).cumcount()
    times = _LEADING_TIMES if local else 1
    kept = ranked["promised"].astype(bool) | (place < times * room.reindex(ranked.index))
    return np.sort(ranked.loc[kept, "at"].to_numpy(dtype=np.int64))
