"""A log-rank comparison whose p-value comes from shuffling whole buildings within strata.

The log-rank statistic (Mantel 1966, Cancer Chemother. Rep. 50:163) is the events observed in a
group less those expected, which is a sum over its members of their martingale residuals
(Therneau & Grambsch 2000, Modeling Survival Data, 4.2). So a shuffle of the labels costs one
product, and clusters are shuffled whole by adding up their members' residuals first.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from eaveline.estimation.survival import EVENT, Floats, Ints

SHUFFLES = 4999
_SEED = 7
_BLOCK = 500


@dataclass(frozen=True, slots=True)
class Comparison:
    """Events in one group against those expected if the group made no difference.

    Attributes
    ----------
    observed, expected
        Events in the group, and those expected of it.
    variance
        The log-rank statistic's hypergeometric variance, for reference.
    p_value
        Two-sided, from shuffling; from 1 / (shuffles + 1) to 1.
    """

    observed: int
    expected: float
    variance: float
    p_value: float


def compare_waits(
    time: npt.ArrayLike,
    ending: npt.ArrayLike,
    in_group: npt.ArrayLike,
    *,
    cluster: npt.ArrayLike | None = None,
    stratum: npt.ArrayLike | None = None,
    shuffles: int = SHUFFLES,
) -> Comparison:
    """Compare the waits of one group with the others'.

    Parameters
    ----------
    time, ending
        See `survival.life_table`; anything but `EVENT` counts as censored.
    in_group
        Whether each is of the group; the same for all of a cluster. Shape (n,).
    cluster
        Shuffled as a whole; each wait by itself if left out.
    stratum
        Compared and shuffled within only; the same for all of a cluster.
    shuffles
        How many, seeded. Clusters are put in the order of what is known of them before they
        are shuffled, so neither their names nor the order of the rows can change the p-value.
    """
    steps = np.asarray(time, dtype=np.int64)
    event = np.asarray(ending, dtype=np.int64) == EVENT
    group = np.asarray(in_group, dtype=bool)
    clusters = np.arange(len(steps)) if cluster is None else np.asarray(cluster)
    strata = (
        np.zeros(len(steps), dtype=np.int64)
        if stratum is None
        else np.unique(np.asarray(stratum), return_inverse=True)[1]
    )
    residual, expected, variance = _residuals(steps, event, group, strata)
    _, first, number = np.unique(clusters, return_index=True, return_inverse=True)
    sums: Floats = np.bincount(number, weights=residual, minlength=len(first)).astype(np.float64)
    p_value = _shuffle(sums, group[first], strata[first], shuffles=shuffles)
    return Comparison(int(event[group].sum()), expected, variance, p_value)


def _residuals(
    steps: Ints, event: npt.NDArray[np.bool_], group: npt.NDArray[np.bool_], strata: Ints
) -> tuple[Floats, float, float]:
    """Return martingale residuals under no difference, and the group's log-rank E and V."""
    residual = event.astype(np.float64)
    expected = variance = 0.0
    for stratum in np.unique(strata):
        here = np.flatnonzero(strata == stratum)
        for step in np.unique(steps[here][event[here]]):
            waiting = here[steps[here] >= step]
            total, members = len(waiting), int(group[waiting].sum())
            ended = int((event[here] & (steps[here] == step)).sum())
            residual[waiting] -= ended / total
            expected += ended * members / total
            if total > 1:
                variance += (
                    ended
                    * (members / total)
                    * (1 - members / total)
                    * ((total - ended) / (total - 1))
                )
    return residual, expected, variance


def _shuffle(sums: Floats, labels: npt.NDArray[np.bool_], strata: Ints, *, shuffles: int) -> float:
    """Return the two-sided p-value of the labelled clusters' sum of residuals."""
    # Rounded, because a sum's last bit depends on the order it was added up in.
    rounded = sums.round(9)
    order = np.lexsort((labels, rounded, strata))
    sums, labels, strata = rounded[order], labels[order].astype(np.float64), strata[order]
    blocks = [np.flatnonzero(strata == stratum) for stratum in np.unique(strata)]
    # Shuffled labels give each stratum its members' share of the sum on average.
    centre = sum(sums[block].sum() * labels[block].mean() for block in blocks)
    reach = abs(float(sums @ labels) - centre) - 1e-9
    rng = np.random.default_rng(_SEED)
    further = 0
    for start in range(0, shuffles, _BLOCK):
        count = min(_BLOCK, shuffles - start)
        totals = np.zeros(count)
        for block in blocks:
            drawn = rng.permuted(np.tile(labels[block], (count, 1)), axis=1)
            totals += drawn @ sums[block]
        further += int((np.abs(totals - centre) >= reach).sum())
    return (further + 1) / (shuffles + 1)
