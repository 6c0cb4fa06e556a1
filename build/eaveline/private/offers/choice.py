"""Chooses the best set of lots exactly, under every limit at once.

A lot is a number of boxes for one building. Lots are priced as items, each with its own
value, because uptake rises with company: single boxes that help one another would make the
problem one for which no simple rule has a guarantee. What is left is a knapsack problem with
side constraints, solved as a mixed-integer linear programme by HiGHS (in scipy).

Values are whole thousandths, so the best total is a whole number and is proved, not
approached. Of plans of that total the lexicographically first is taken: the one that has the
earliest lot the others do not (`ties.first_of_equals`).

Proofs can take for ever, so each has an effort it may spend, counted in branches of the search
and never in seconds: the answer depends on nothing but the lots and their order. Where it is
spent, `Choice.missing` tells how far from the best the plan can be at most.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from eaveline.private.offers.bound import Bound, bound
from eaveline.private.offers.greedy import greedy
from eaveline.private.offers.limits import NO_PAIRS, Choice, Ints, Limits, exempt, priced
from eaveline.private.offers.programme import (
    Programme,
    programme,
    shares_scaffolds,
    thousandths,
)
from eaveline.private.offers.solver import solved
from eaveline.private.offers.ties import first_of_equals

_CORE_TIMES = 4
"""A first plan is sought among so many times the buildings that a plan can have."""
_PRUNE_ABOVE = 400
"""With more lots than this, those that cannot be in any best plan are set aside first."""
_FIRST_REACH = 0.01
"""The first plan is made of lots that a plan within this part of the bound could have."""
_ALL_PRICED = 5000
"""Up to so many lots the relaxation looks at all of them."""
_QUICK_NODES = 200
"""A quick answer may look at so many branches."""
_MOST_EFFORT = 300_000
"""What proving the best plan may take, in branches times variables; see `solver.solved`."""
_ROUNDING = 0.01


def choose(
    lots: pd.DataFrame,
    limits: Limits,
    *,
    neighbours: Ints | None = None,
    nearby: Ints | None = None,
    tolerance: float = 0.0,
) -> Choice:
    """Return the plan of the greatest total value.

    Parameters
    ----------
    lots
        building (int), lot (boxes), value (expected newly used nest spaces), cost (pounds),
        street (text or None), new_area (bool), asked and promised (bool), easting and
        northing (metres), and each quota's column. One row for each size of lot at each
        building. A promised lot is in every plan. If there is a column `turn`, it tells
        which lot comes first; otherwise the row does.
    limits
        What to keep to. If nothing does, the quotas' lower ends give way, then the share for
        new areas, then the limits for streets and for houses close together, and
        `Choice.relaxed` says so.
    neighbours
        Pairs of buildings that can share a scaffold, shape (n, 2).
    nearby
        Pairs of buildings that `most_houses_near` holds together, shape (n, 2).
    tolerance
        The part of the best value that may be missing, where a quick answer will do; it is
        then sought among the most promising buildings alone.

    Raises
    ------
    ValueError
        If the promised lots alone exceed the stock or the budget.
    """
    table = lots.reset_index(drop=True)
    order = _order(table)
    town = _Town(
        table.iloc[order].reset_index(drop=True),
        *_pairs(
            table,
            limits,
            NO_PAIRS if neighbours is None else neighbours,
            NO_PAIRS if nearby is None else nearby,
        ),
    )
    relaxed: list[str] = []
    for words, kept in _ways(limits):
        relaxed += [words] if words else []
        found = _solve(town, kept, tolerance)
        if found is None or (not tolerance and _value(found.rows, town) < found.ceiling):
            found = _no_worse_than_greedy(found, town, kept)
        if found is not None:
            told = priced(np.sort(order[found.rows]), table, limits, town.neighbours)
            missing = 1.0 - _value(found.rows, town) / max(found.ceiling, 1.0)
            return replace(told, relaxed=tuple(relaxed), missing=max(0.0, missing))
    raise ValueError("the promised lots exceed the stock or the budget")


def promising_lots(
    lots: pd.DataFrame, limits: Limits, *, neighbours: Ints, nearby: Ints
) -> pd.DataFrame:
    """Return the lots among which good plans for this stock and smaller ones are found.

    Parameters
    ----------
    lots, limits, neighbours, nearby
        See `choose`.
    """
    table = lots.reset_index(drop=True)
    limit = bound(table, limits, neighbours, nearby, quick=True) if len(table) else None
    if limit is None:
        return table
    return table.iloc[_core(limit, _Town(table, neighbours, nearby), limits)]


def _pairs(
    table: pd.DataFrame, limits: Limits, neighbours: Ints, nearby: Ints
) -> tuple[Ints, Ints]:
    """Return the pairs; those that can share a scaffold without two houses that may not both be."""
    if limits.most_houses_near != 1 or not len(neighbours) or not len(nearby):
        return neighbours, nearby
    free = np.isin(neighbours, table.loc[exempt(table), "building"]).any(axis=1)
    width = np.int64(max(neighbours.max(), nearby.max()) + 1)
    told = [np.sort(pairs, axis=1) @ np.array([width, 1]) for pairs in (neighbours, nearby)]
    return neighbours[free | ~np.isin(*told)], nearby


def _order(table: pd.DataFrame) -> Ints:
    turn = np.arange(len(table)) if "turn" not in table else table["turn"].to_numpy()
    return np.argsort(turn, kind="stable").astype(np.int64)


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
class _Town:
    """Lots in their order, and which buildings lie close together."""

    lots: pd.DataFrame
    neighbours: Ints
    nearby: Ints


@dataclass(frozen=True)
class _Found:
    """The rows of a plan, and what no plan can exceed, in thousandths."""

    rows: Ints
    ceiling: float


def _solve(town: _Town, limits: Limits, tolerance: float) -> _Found | None:
    """Return the best plan, or None if no plan is allowed or none was found."""
    everything = np.arange(len(town.lots), dtype=np.int64)
    if len(everything) <= _PRUNE_ABOVE:
        return _best_of(everything, town, limits)
    if tolerance and len(everything) <= _ALL_PRICED:
        quick = _promising(everything, town, limits, tolerance)
        if quick is not None:
            return quick
    limit = bound(town.lots, limits, town.neighbours, town.nearby, quick=True)
    if limit is None:
        return None
    plan = _promising(_core(limit, town, limits), town, limits, tolerance)
    if tolerance and plan is not None:
        return plan
    least = -np.inf if plan is None else _value(plan.rows, town)
    # A plan's value is a whole number: what cannot reach it, less a rounding error, is out.
    possible = np.flatnonzero(limit.with_lot >= least - 0.5).astype(np.int64)
    ceiling = limit.most
    # With fewer lots the relaxation can look at all of them, and bounds more closely.
    sharper = _bound_among(possible, town, limits)
    if sharper is not None:
        possible = possible[sharper.with_lot >= least - 0.5]
        ceiling = min(ceiling, sharper.most)
    return _best_of(possible, town, limits, start=plan, ceiling=ceiling)


def _no_worse_than_greedy(found: _Found | None, town: _Town, limits: Limits) -> _Found | None:
    """Return the plan, or that of the simple rule where the search found nothing as good."""
    simple = greedy(town.lots, limits, neighbours=town.neighbours, nearby=town.nearby)
    if simple is None:
        return found
    rows = np.array(simple.lots, dtype=np.int64)
    if found is None:
        rates = thousandths(town.lots["value"]) / town.lots["lot"].to_numpy()
        return _Found(rows, float(limits.boxes * rates.max(initial=0.0)))
    return found if _value(found.rows, town) >= _value(rows, town) else replace(found, rows=rows)


def _bound_among(rows: Ints, town: _Town, limits: Limits) -> Bound | None:
    among = town.lots.iloc[rows].reset_index(drop=True)
    return bound(among, limits, town.neighbours, town.nearby, quick=len(rows) > _ALL_PRICED)


def _value(rows: Ints, town: _Town) -> float:
    return float(thousandths(town.lots["value"].to_numpy()[rows]).sum())


def _core(limit: Bound, town: _Town, limits: Limits) -> Ints:
    """Return the lots of the most promising buildings, spread a little, and their neighbours."""
    homes = town.lots["building"].to_numpy(dtype=np.int64)
    order = np.argsort(-limit.with_lot, kind="stable")
    ranked = pd.unique(homes[order])
    wanted = _CORE_TIMES * (limits.boxes // max(1, int(town.lots["lot"].min())) + 1)
    chosen = ranked[:wanted]
    if limits.most_houses_near is not None:
        chosen = np.concatenate([chosen, _apart(ranked[: 40 * wanted], town.nearby)[:wanted]])
    if shares_scaffolds(limits):
        beside = town.neighbours[np.isin(town.neighbours, chosen).any(axis=1)]
        chosen = np.union1d(chosen, beside)
    fixed = town.lots["promised"].to_numpy(dtype=bool)
    return np.flatnonzero(np.isin(homes, chosen) | fixed).astype(np.int64)


def _apart(ranked: Ints, nearby: Ints) -> Ints:
    """Return the buildings none of whose betters lies near them."""
    pairs = nearby[np.isin(nearby, ranked).all(axis=1)]
    beside: dict[int, list[int]] = {}
    for one, other in pairs.tolist():
        beside.setdefault(one, []).append(other)
        beside.setdefault(other, []).append(one)
    taken: list[int] = []
    blocked: set[int] = set()
    for home in ranked.tolist():
        if home not in blocked:
            taken.append(home)
            blocked.update(beside.get(home, ()))
    return np.array(taken, dtype=np.int64)


def _promising(rows: Ints, town: _Town, limits: Limits, tolerance: float) -> _Found | None:
    """Return a good plan made of some of the lots, or None if none was found."""
    told = _bound_among(rows, town, limits)
    if told is None:
        return None
    homes = town.lots["building"].to_numpy(dtype=np.int64)[rows]
    relaxed = rows[np.isin(homes, homes[told.taken])]
    near = rows[told.with_lot >= (1.0 - _FIRST_REACH) * told.most]
    for among in (relaxed, near, rows) if tolerance else (near, rows):
        stated = _stated(among, town, limits)
        found = solved(stated, gap=tolerance, effort=_QUICK_NODES * len(stated.gain))
        if found.variables is not None:
            return _Found(among[np.flatnonzero(found.variables[: len(among)])], _whole(told.most))
    return None


def _best_of(
    rows: Ints,
    town: _Town,
    limits: Limits,
    *,
    start: _Found | None = None,
    ceiling: float = np.inf,
) -> _Found | None:
    """Return the best plan made of some of the lots, the first of equals, or None.

    Parameters
    ----------
    rows, town, limits
        The lots among which every best plan is.
    start
        A plan that is known already.
    ceiling
        What no plan can exceed.
    """
    if not len(rows):
        return _Found(rows, 0.0)
    stated = _stated(rows, town, limits)
    plan = None if start is None else np.isin(rows, start.rows).astype(np.int64)
    value = -np.inf if start is None else _value(start.rows, town)
    ceiling = _whole(ceiling)
    if value < ceiling:
        # A search that nothing is known for yet looks at some branches, however large it is.
        least_effort = 0 if plan is not None else _QUICK_NODES * len(stated.gain)
        found = solved(stated, effort=max(_MOST_EFFORT, least_effort))
        ceiling = max(value, min(ceiling, found.ceiling))
        if found.variables is not None and stated.gain @ found.variables >= value:
            plan, value = found.variables[: len(rows)], float(stated.gain @ found.variables)
    if plan is None:
        return None
    if value >= ceiling:
        plan = first_of_equals(stated, plan, effort=_MOST_EFFORT // 2)
    return _Found(rows[np.flatnonzero(plan)], ceiling)


def _stated(rows: Ints, town: _Town, limits: Limits) -> Programme:
    among = town.lots.iloc[rows].reset_index(drop=True)
    return programme(among, limits, town.neighbours, town.nearby)


def _whole(most: float) -> float:
    """Return the greatest value a plan can have under a bound that may be short of digits."""
    return float(np.floor(most + _ROUNDING))
