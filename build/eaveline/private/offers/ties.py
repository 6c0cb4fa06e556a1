"""Solves a programme of lots, and tells which of equally good plans comes first."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, milp

from eaveline.private.offers.limits import Ints
from eaveline.private.offers.programme import Floats, Programme

_NO_LIMIT = 2**31 - 1
_BATCH = 10
"""Lots settled by one solve: their weights are powers of two, well within a solver's accuracy."""


def solved(
    stated: Programme,
    *,
    gap: float = 0.0,
    nodes: int | None = None,
    gain: Floats | None = None,
    most: npt.NDArray[np.float64] | None = None,
) -> Ints | None:
    """Return the variables of a best solution as whole numbers, or None if there is none.

    Parameters
    ----------
    stated
        The programme.
    gap
        The part of the best value that may be missing.
    nodes
        Branches to look at at most; None for as many as it takes.
    gain
        Another objective, in place of the programme's.
    most
        Other upper ends of the variables than 1.
    """
    goal = stated.gain if gain is None else gain
    # Objectives are whole numbers: within less than one of the bound nothing better is left.
    ceiling = max(1.0, _ceiling(stated, goal))
    result = milp(
        -goal,
        integrality=np.ones(len(goal), dtype=np.int64),
        bounds=Bounds(stated.least, np.ones(len(goal)) if most is None else most),
        constraints=LinearConstraint(stated.rows, stated.low, stated.high),
        options={
            "mip_rel_gap": max(gap, 0.4 / ceiling),
            "node_limit": _NO_LIMIT if nodes is None else nodes,
        },
    )
    return None if result.x is None else np.rint(result.x).astype(np.int64)


def _ceiling(stated: Programme, goal: Floats) -> float:
    """Return what no solution can exceed: the whole stock at the best rate for a box."""
    boxes = np.asarray(stated.rows[[stated.homes]].todense()).ravel()
    rate = np.divide(goal, boxes, out=np.zeros(len(goal)), where=boxes > 0)
    return float(rate.max(initial=0.0)) * float(stated.high[stated.homes])


def first_of_equals(stated: Programme, *, count: int) -> Ints | None:
    """Return which lots are in the best plan, ascending, or None if no plan is allowed.

    Of plans of the same total, the one that has the earliest lot the others do not. The
    total is solved for, and then kept as a limit. If no other plan reaches it, that is all;
    otherwise lots are settled a few at a time, each worth twice the one after it, so that
    each solve finds the first of what is left.

    Parameters
    ----------
    stated
        The programme; its first `count` variables are the lots.
    count
        How many lots there are.
    """
    plan = solved(stated)
    if plan is None:
        return None
    total = float(stated.gain @ plan)
    best = _with_row(stated, stated.gain, low=total - 0.5)
    mine = np.zeros(len(stated.gain))
    mine[:count] = plan[:count]
    other = solved(
        _with_row(best, mine, high=float(mine.sum()) - 1.0), gain=np.zeros(len(stated.gain))
    )
    if other is None:
        return np.flatnonzero(plan[:count])
    least, most = stated.least.copy(), np.ones(len(stated.gain))
    for start in range(0, count, _BATCH):
        batch = slice(start, min(start + _BATCH, count))
        weight = np.zeros(len(stated.gain))
        weight[batch] = 2.0 ** np.arange(batch.stop - batch.start)[::-1]
        found = solved(replace(best, least=least), gain=weight, most=most)
        assert found is not None, "the plan found before is one"
        least[batch] = most[batch] = found[batch]
        if stated.gain[: batch.stop] @ found[: batch.stop] >= total - 0.5:
            plan = found
            break
    return np.flatnonzero(plan[:count])


def _with_row(
    stated: Programme, weights: Floats, *, low: float = -np.inf, high: float = np.inf
) -> Programme:
    return replace(
        stated,
        rows=sparse.csr_array(sparse.vstack([stated.rows, sparse.csr_array(weights[None, :])])),
        low=np.append(stated.low, low),
        high=np.append(stated.high, high),
    )
