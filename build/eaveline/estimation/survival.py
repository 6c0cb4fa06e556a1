"""Time to a first event in whole steps, with some never seen to have it.

A box counts in every season until swifts use it, another species takes it over, or it is last
seen. Kaplan-Meier (1958, J. Am. Stat. Assoc. 53:457) gives the share still waiting; the
cumulative incidence (Aalen & Johansen 1978, Scand. J. Stat. 5:141) the share used when a
takeover ends the waiting for good. Intervals come from resampling whole clusters (Efron 1981,
J. Am. Stat. Assoc. 76:312), since boxes on one building share their fate.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

CENSORED, EVENT, COMPETING = 0, 1, 2
"""How a waiting ended: unseen, with the event, with one that rules it out."""
RESAMPLES = 2000
_SEED = 20


@dataclass(frozen=True, slots=True, eq=False)
class LifeTable:
    """Waiting, step by step.

    Attributes
    ----------
    time
        The steps, 1 up to the longest wait, shape (t,).
    at_risk, events, competing
        Numbers still waiting at the start of each step and ending in it, shape (t,).
    waiting
        Kaplan-Meier estimate of the share still waiting after each step, takeovers censored.
    waiting_low, waiting_high
        Its 95% interval.
    incidence
        Share that has had the event by each step, where takeovers end the waiting.
    incidence_low, incidence_high
        Its 95% interval.
    """

    time: Ints
    at_risk: Ints
    events: Ints
    competing: Ints
    waiting: Floats
    waiting_low: Floats
    waiting_high: Floats
    incidence: Floats
    incidence_low: Floats
    incidence_high: Floats


def life_table(
    time: npt.ArrayLike,
    ending: npt.ArrayLike,
    *,
    cluster: npt.ArrayLike | None = None,
    resamples: int = RESAMPLES,
) -> LifeTable:
    """Return the life table of some waits.

    Parameters
    ----------
    time
        Whole steps waited, 1 or more, shape (n,).
    ending
        `CENSORED`, `EVENT` or `COMPETING` for each, shape (n,).
    cluster
        What is resampled as a whole; each wait by itself if left out.
    resamples
        How often; the draws are seeded, so the interval is the same every time, whatever
        the order of the rows.

    Raises
    ------
    ValueError
        If a wait is shorter than one step.

    Examples
    --------
    >>> table = life_table([1, 2, 2], [EVENT, EVENT, CENSORED])
    >>> table.waiting.round(3).tolist()
    [0.667, 0.333]
    """
    steps = np.asarray(time, dtype=np.int64)
    ends = np.asarray(ending, dtype=np.int64)
    if len(steps) and steps.min() < 1:
        msg = "a wait lasts one step at least"
        raise ValueError(msg)
    groups = np.arange(len(steps)) if cluster is None else np.asarray(cluster)
    longest = int(steps.max()) if len(steps) else 0
    at_risk, events, competing = _counts_by_cluster(steps, ends, groups, longest)
    total = tuple(table.sum(axis=0, keepdims=True) for table in (at_risk, events, competing))
    waiting, incidence = _curves(*total)
    low_high = _intervals(at_risk, events, competing, resamples=resamples)
    return LifeTable(
        np.arange(1, longest + 1),
        total[0][0].astype(np.int64),
        total[1][0].astype(np.int64),
        total[2][0].astype(np.int64),
        waiting[0],
        *low_high[0],
        incidence[0],
        *low_high[1],
    )


def _counts_by_cluster(
    steps: Ints, ends: Ints, groups: npt.NDArray[np.generic], longest: int
) -> tuple[Floats, Floats, Floats]:
    """Return at risk, events and competing events, each of shape (clusters, steps)."""
    names, number = np.unique(groups, return_inverse=True)
    shape = (len(names), longest)
    at_risk, events, competing = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    for kind, table in ((EVENT, events), (COMPETING, competing)):
        np.add.at(table, (number[ends == kind], steps[ends == kind] - 1), 1.0)
    np.add.at(at_risk, (number, steps - 1), 1.0)
    # Whoever ends at a step was waiting at every one before it.
    at_risk = np.flip(np.cumsum(np.flip(at_risk, axis=1), axis=1), axis=1)
    return at_risk, events, competing


def _curves(at_risk: Floats, events: Floats, competing: Floats) -> tuple[Floats, Floats]:
    """Return the share waiting and the cumulative incidence, for each row of counts."""
    safe = np.maximum(at_risk, 1.0)
    waiting = np.asarray(np.cumprod(1.0 - events / safe, axis=1), dtype=np.float64)
    neither = np.cumprod(1.0 - (events + competing) / safe, axis=1)
    before = np.hstack([np.ones((len(neither), 1)), neither[:, :-1]])
    incidence: Floats = np.cumsum(before * events / safe, axis=1)
    return waiting, incidence


def _intervals(
    at_risk: Floats, events: Floats, competing: Floats, *, resamples: int
) -> tuple[tuple[Floats, Floats], tuple[Floats, Floats]]:
    """Return low and high of both curves from drawing clusters with replacement."""
    clusters, longest = at_risk.shape
    if clusters == 0:
        none = np.empty(0)
        return (none, none), (none, none)
    # Ordered by content: neither names nor the order of rows may move a published figure.
    content = np.hstack([at_risk, events, competing])
    order = np.lexsort(content.T[::-1])
    rng = np.random.default_rng(_SEED)
    draws = rng.multinomial(clusters, np.full(clusters, 1 / clusters), size=resamples)
    sums = draws.astype(np.float64) @ content[order]
    waiting, incidence = _curves(*np.split(sums, [longest, 2 * longest], axis=1))
    ends = []
    for curve in (waiting, incidence):
        low, high = np.quantile(curve, [0.025, 0.975], axis=0)
        ends.append((low, high))
    return ends[0], ends[1]


def median_wait(table: LifeTable) -> int | None:
    """Return the first step by which half have had the event; None if it is not reached."""
    reached = np.flatnonzero(table.waiting <= 0.5)  # noqa: PLR2004 - a median
    return int(table.time[reached[0]]) if len(reached) else None
