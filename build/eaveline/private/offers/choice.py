"""Chooses the best set of lots exactly, under every limit at once.

A lot is a number of boxes for one building. Lots are priced as items, each with its own
value, because uptake rises with company: single boxes that help one another would make the
problem one for which no simple rule has a guarantee. What is left is a knapsack problem with
side constraints, solved as a mixed-integer linear programme by HiGHS (in scipy).

Equal plans are told apart by the lots' order, so the answer is the same every time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from eaveline.private.offers.limits import NO_PAIRS, Choice, Ints, Limits, priced

Floats = npt.NDArray[np.float64]

VALUE_STEP = 1000
"""Values are compared in whole thousandths of a used nest space; finer would be pretence."""
_TIE_UNITS = 1000.0
"""Objective units in one thousandth; what tells equal plans apart is less than half of one."""
_ENOUGH = 0.4
"""The solver may stop this part of a thousandth from its bound: no better value is left."""
_CORE_TIMES = 3
"""A first plan is sought among so many times the buildings that a plan can have."""
_PRUNE_ABOVE = 1500
"""With more lots than this, those that cannot be in any best plan are set aside first."""


def thousandths(value: npt.ArrayLike) -> Ints:
    """Return values as whole thousandths."""
    return np.rint(np.asarray(value, dtype=np.float64) * VALUE_STEP).astype(np.int64)


def choose(
    lots: pd.DataFrame,
    limits: Limits,
    *,
    neighbours: Ints | None = None,
    tolerance: float = 0.0,
) -> Choice:
    """Return the plan of the greatest total value.

    Parameters
    ----------
    lots
        building (int), lot (boxes), value (expected newly used nest spaces), cost (pounds),
        street (text or None), new_area (bool), promised (bool), and each quota's column. One
        row for each size of lot at each building, the preferred one of equals first. A
        promised lot is in every plan.
    limits
        What to keep to. If nothing does, the quotas' lower ends give way, then the share for
        new areas, then the limit for streets, and `Choice.relaxed` says so.
    neighbours
        Pairs of buildings that can share a scaffold, shape (n, 2).
    tolerance
        The part of the best value that may be missing, where a quick answer will do.

    Raises
    ------
    ValueError
        If the promised lots alone exceed the stock or the budget.
    """
    table = lots.reset_index(drop=True)
    pairs = NO_PAIRS if neighbours is None else neighbours
    relaxed: list[str] = []
    for words, kept in _ways(limits):
        relaxed += [words] if words else []
        found = _solve(table, kept, pairs, tolerance)
        if found is not None:
            return replace(found, relaxed=tuple(relaxed))
    raise ValueError("the promised lots exceed the stock or the budget")


def _ways(limits: Limits) -> Sequence[tuple[str, Limits]]:
    """Return the limits, then with more and more of them left aside."""
    ways = [("", limits)]
    if any(quota.at_least for quota in limits.quotas):
        softer = tuple(replace(quota, at_least=0) for quota in limits.quotas)
        ways.append(("the least numbers of the quotas", replace(ways[-1][1], quotas=softer)))
    if limits.new_area_boxes:
        ways.append(("the share for new areas", replace(ways[-1][1], new_area_boxes=0)))
    if limits.most_per_street is not None or limits.quotas:
        last = replace(ways[-1][1], most_per_street=None, quotas=())
        ways.append(("the most for a street or a quota", last))
    return ways


@dataclass(frozen=True)
class _Programme:
    """A linear programme: the lots' variables first, then one for each shared scaffold."""

    gain: Floats
    rows: sparse.csr_array
    low: Floats
    high: Floats
    least: Floats


def _solve(table: pd.DataFrame, limits: Limits, pairs: Ints, tolerance: float) -> Choice | None:
    if not len(table):
        return Choice((), 0, 0.0)
    everything = np.arange(len(table), dtype=np.int64)
    if len(table) <= _PRUNE_ABOVE:
        return _solve_among(everything, table, limits, pairs, tolerance)
    bound = _bound(table, limits, pairs)
    if bound is None:
        return None
    core = _core(bound, table, limits, pairs)
    plan = _solve_among(core, table, limits, pairs, tolerance / 2)
    least = -np.inf if plan is None else float(_gains(table, limits)[list(plan.lots)].sum())
    possible = np.flatnonzero(bound.with_lot >= least - 1.0).astype(np.int64)
    good = least >= (1.0 - tolerance) * bound.most if tolerance else False
    if plan is not None and (good or np.isin(possible, core).all()):
        return plan
    return _solve_among(possible, table, limits, pairs, tolerance)


@dataclass(frozen=True)
class _Bound:
    """How much a plan can be worth at most.

    Attributes
    ----------
    with_lot
        For each lot, what no plan that has it can exceed.
    most
        What no plan can exceed.
    """

    with_lot: Floats
    most: float


def _bound(table: pd.DataFrame, limits: Limits, pairs: Ints) -> _Bound | None:
    """Return the Lagrangian bound on plans, or None if no plan is allowed.

    In the easier problem each building with a neighbour pays for half a scaffold, which no
    plan can undercut: a scaffold serves two buildings at most. The multipliers are the dual
    prices of that problem's linear relaxation. They hold for lots that were left out of it
    too, so it needs only those that lead their kind.
    """
    shared = np.isin(table["building"], pairs) if _shares(limits) else np.zeros(len(table))
    prices = table["cost"] + limits.scaffold_pounds * (1.0 - shared / 2)
    easier = table.assign(cost=prices)
    loose = replace(limits, scaffold_pounds=0.0)
    programme = _programme(easier, loose, NO_PAIRS)
    gain = _gains(table, limits)
    above, below = np.isfinite(programme.high), np.isfinite(programme.low)
    rows = sparse.csr_array(sparse.vstack([programme.rows[above], -programme.rows[below]]))
    ends = np.concatenate([programme.high[above], -programme.low[below]])
    leading = _leading(easier, loose)
    relaxed = linprog(  # type: ignore[call-overload]  # the stubs forget sparse matrices
        -gain[leading],
        A_ub=rows[:, leading],
        b_ub=ends,
        bounds=np.column_stack([programme.least[leading], np.ones(len(leading))]),
        method="highs",
    )
    if relaxed.x is None:
        return None
    # The first rows say one lot for each building; those are kept, the others are priced.
    homes, place = np.unique(table["building"].to_numpy(dtype=np.int64), return_inverse=True)
    price = np.maximum(-relaxed.ineqlin.marginals, 0.0)[len(homes) :]
    worth = gain - rows[len(homes) :].T @ price
    best = np.zeros(len(homes))
    np.maximum.at(best, place, worth)
    fixed = table["promised"].to_numpy(dtype=bool)
    best[place[fixed]] = worth[fixed]
    most = float(price @ ends[len(homes) :]) + float(best.sum())
    return _Bound(np.where(fixed, np.inf, most - best[place] + worth), most)


def _core(bound: _Bound, table: pd.DataFrame, limits: Limits, pairs: Ints) -> Ints:
    """Return the lots of the most promising buildings and their neighbours."""
    homes = table["building"].to_numpy(dtype=np.int64)
    order = np.argsort(-bound.with_lot, kind="stable")
    wanted = _CORE_TIMES * (limits.boxes // max(1, int(table["lot"].min())) + 1)
    chosen = pd.unique(homes[order])[:wanted]
    if _shares(limits):
        chosen = np.union1d(chosen, pairs[np.isin(pairs, chosen).any(axis=1)])
    return np.flatnonzero(np.isin(homes, chosen)).astype(np.int64)


def _shares(limits: Limits) -> bool:
    return limits.scaffold_pounds > 0 and limits.budget_pounds is not None


def _leading(table: pd.DataFrame, limits: Limits) -> Ints:
    """Return the lots of which a best plan can be made where no scaffold is shared.

    Lots of one size and price in one street that count alike for every share can stand in
    for one another. A plan has room for only so many of them, so only the best are needed.
    """
    alike = ["lot", "cost", "new_area", *(quota.column for quota in limits.quotas)]
    room = limits.boxes // table["lot"]
    if limits.most_per_street is not None:
        alike.append("street")
        room = room.where(table["street"].isna(), np.minimum(room, limits.most_per_street))
    ranked = table.assign(step=-thousandths(table["value"]), at=table.index).sort_values(
        ["step", "at"]
    )
    place = ranked.groupby(alike, sort=False, dropna=False).cumcount().sort_index()
    kept = table["promised"].to_numpy(dtype=bool) | (place < room).to_numpy()
    return np.flatnonzero(kept).astype(np.int64)


def _solve_among(
    rows: Ints, table: pd.DataFrame, limits: Limits, pairs: Ints, tolerance: float
) -> Choice | None:
    """Return the best plan made of some of the lots, or None."""
    among = table.iloc[rows].reset_index(drop=True)
    programme = _programme(among, limits, pairs)
    each_box = programme.gain[: len(among)] / among["lot"].to_numpy(dtype=np.float64)
    most = max(1.0, float(each_box.max(initial=0.0)) * limits.boxes)
    result = milp(
        -programme.gain,
        integrality=np.ones(len(programme.gain), dtype=np.int64),
        bounds=Bounds(programme.least, np.ones(len(programme.gain))),
        constraints=LinearConstraint(programme.rows, programme.low, programme.high),
        options={"mip_rel_gap": max(tolerance, _ENOUGH * _TIE_UNITS / most)},
    )
    if result.x is None:
        return None
    chosen = rows[np.flatnonzero(result.x[: len(among)] > 0.5)]  # noqa: PLR2004
    return priced(chosen, table, limits, pairs)


def _programme(table: pd.DataFrame, limits: Limits, pairs: Ints) -> _Programme:
    count = len(table)
    lot = table["lot"].to_numpy(dtype=np.float64)
    building = table["building"].to_numpy(dtype=np.int64)
    ids, place = np.unique(building, return_inverse=True)
    edges = _edges(ids, pairs) if _shares(limits) else NO_PAIRS
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
    return _Programme(
        gain=np.concatenate([_gains(table, limits), np.zeros(len(edges))]),
        rows=sparse.csr_array(sparse.vstack(rows)),
        low=np.concatenate(low),
        high=np.concatenate(high),
        least=least,
    )


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


def _gains(table: pd.DataFrame, limits: Limits) -> Floats:
    """Return the objective: values, less a trifle that grows along the lots' order.

    The trifles of the largest plan add up to less than half a thousandth.
    """
    most = limits.boxes // max(1, int(table["lot"].min())) + int(table["promised"].sum()) + 1
    order = (np.arange(len(table)) + 1) / (len(table) + 1)
    return thousandths(table["value"]) * _TIE_UNITS - order**1.5 * _TIE_UNITS / (2 * most)
