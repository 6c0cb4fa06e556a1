"""Solves a programme of lots with no more than a stated effort.

The effort is counted in branches of the search and in variables, never in seconds: HiGHS
searches in one order, whatever else the machine is doing, so the same lots give the same plan
on a slow machine and on a fast one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from eaveline.private.offers.limits import Ints
from eaveline.private.offers.programme import Floats, Programme

_IMPOSSIBLE = 2
"""What scipy calls a problem of which it is proved that it has no solution."""
_SETTING_OUT = 20
"""Branches whose effort it takes to set a search up and look at its root."""
_ROUNDING = 0.01
"""Objectives are whole numbers; a bound may miss one by so much for want of digits."""


@dataclass(frozen=True)
class Solution:
    """What a search came to.

    Attributes
    ----------
    variables
        Those of the best solution seen, or None if none was.
    ceiling
        What no solution can exceed, a whole number; -inf where none is possible.
    effort
        What the search took.
    """

    variables: Ints | None
    ceiling: float
    effort: int


def solved(
    stated: Programme,
    *,
    effort: int,
    gap: float = 0.0,
    most: Floats | None = None,
) -> Solution:
    """Return the best solution found with an effort.

    Parameters
    ----------
    stated
        The programme.
    effort
        Branches to look at, times variables; setting out counts for as much as some branches.
    gap
        The part of the best value that may be missing.
    most
        Other upper ends of the variables than 1.
    """
    goal = stated.gain
    stock = _stock_at_best(stated, goal)
    if effort < (_SETTING_OUT + 1) * len(goal):
        return Solution(None, float(np.floor(stock)), 0)
    result = milp(
        -goal,
        integrality=np.ones(len(goal), dtype=np.int64),
        bounds=Bounds(stated.least, np.ones(len(goal)) if most is None else most),
        constraints=LinearConstraint(stated.rows, stated.low, stated.high),
        options={
            # Within less than one of the bound nothing better is left.
            "mip_rel_gap": max(gap, 0.4 / max(1.0, stock)),
            "node_limit": effort // len(goal) - _SETTING_OUT,
        },
    )
    took = (_SETTING_OUT + int(result.mip_node_count or 0)) * len(goal)
    if result.status == _IMPOSSIBLE:
        return Solution(None, -np.inf, took)
    proved = result.mip_dual_bound
    ceiling = np.floor(stock if proved is None else min(stock, -proved + _ROUNDING))
    if result.x is None:
        return Solution(None, float(ceiling), took)
    values = np.rint(result.x).astype(np.int64)
    return Solution(values, float(max(ceiling, goal @ values)), took)


def _stock_at_best(stated: Programme, goal: Floats) -> float:
    """Return what no solution can exceed: the whole stock at the best rate for a box."""
    boxes = np.asarray(stated.rows[[stated.homes]].todense()).ravel()
    rate = np.divide(goal, boxes, out=np.zeros(len(goal)), where=boxes > 0)
    return float(rate.max(initial=0.0)) * float(stated.high[stated.homes])
