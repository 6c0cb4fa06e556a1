"""Tells which of equally good plans comes first."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
from scipy import sparse

from eaveline.private.offers.limits import Ints
from eaveline.private.offers.programme import Floats, Programme
from eaveline.private.offers.solver import solved

_ROUNDING = 1e-6


def first_of_equals(stated: Programme, plan: Ints, *, effort: int) -> Ints:
    """Return the first of the plans that are worth as much as a best plan.

    Of two plans that one comes first which has the earliest lot the other does not. The plan
    is walked from its earliest lot on: can a plan of the same total have one of the lots
    passed over as well as those kept so far? If so, that one is walked instead; if not, the
    lots passed over are out and the next lot stays.

    Parameters
    ----------
    stated
        The programme; its first variables are the lots.
    plan
        1 for each lot in the plan and 0 for others, shape (lots,).
    effort
        How much may be looked at; see `solver.solved`. When it is spent the plan is returned
        as far as it has come: no worse, and the same every time.
    """
    count, width = len(plan), len(stated.gain)
    total = float(stated.gain[:count] @ plan)
    least, most = stated.least.copy(), np.ones(width)
    place, one_by_one = 0, False
    # Every lot is worth something, so no plan of this total has more than all of this one's.
    while (ahead := _next(plan, place)) is not None:
        passed = np.arange(place, ahead)
        still = passed[_fits(stated, least, most, passed)]
        most[passed] = 0.0
        most[still] = 1.0
        if not len(still):
            least[ahead], place = 1.0, ahead + 1
            continue
        # Mostly none of them will do, which one question settles; if one will, mostly the first.
        asked = still[:1] if one_by_one else still
        one_by_one = False
        found = solved(_with_one_of(replace(stated, least=least), asked), effort=effort, most=most)
        effort -= found.effort
        if found.variables is not None and stated.gain @ found.variables >= total:
            plan = found.variables[:count]
            one_by_one = len(asked) > 1
        elif found.ceiling < total:
            most[asked] = 0.0
        else:
            break
    return plan


def _next(plan: Ints, place: int) -> int | None:
    """Return the first lot of a plan from a place on, or None if there is none."""
    there = np.flatnonzero(plan[place:])
    return place + int(there[0]) if len(there) else None


def _fits(stated: Programme, least: Floats, most: Floats, lots: Ints) -> npt.NDArray[np.bool_]:
    """Return which lots no single limit rules out beside those that are settled."""
    adds, spares = stated.rows.maximum(0), stated.rows.minimum(0)
    room = stated.high - adds @ least - spares @ most
    columns = sparse.coo_array(sparse.csc_array(adds)[:, lots])
    over = columns.data > room[columns.row] + _ROUNDING
    fits = most[lots] > 0
    fits[columns.col[over]] = False
    return fits


def _with_one_of(stated: Programme, lots: Ints) -> Programme:
    row = sparse.coo_array(
        (np.ones(len(lots)), (np.zeros(len(lots), dtype=np.int64), lots)),
        shape=(1, len(stated.gain)),
    )
    return replace(
        stated,
        rows=sparse.csr_array(sparse.vstack([stated.rows, row])),
        low=np.append(stated.low, 1.0),
        high=np.append(stated.high, np.inf),
    )
