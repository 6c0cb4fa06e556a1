"""Intervals for a proportion, such as the share of boxes in use.

Sources: Wilson 1927 (J. Am. Stat. Assoc. 22:209) for the interval, Newcombe 1998 (Stat. Med.
17:857) for preferring it with small counts, Kish 1965 (Survey Sampling) for the design effect
and Korn & Graubard 1998 (Surv. Methodol. 24:193) for putting the effective number in its place,
with their allowance for the number of clusters.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.stats import t as student

Z_95 = 1.959963984540054
"""The normal deviate of a two-sided 95% interval."""
FEWEST_TO_SAY = 5
"""Below so many looked at, a share is not given (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Share:
    """A proportion with its 95% interval.

    Attributes
    ----------
    hits, trials
        How many, of how many.
    low, high
        The interval, from 0 to 1; 0 and 1 where nothing was tried.
    """

    hits: int
    trials: int
    low: float
    high: float

    @property
    def enough(self) -> bool:
        """Whether there is enough to give a share at all."""
        return self.trials >= FEWEST_TO_SAY

    @property
    def value(self) -> float | None:
        """The proportion itself; None where nothing was tried."""
        return self.hits / self.trials if self.trials else None


def wilson(hits: int, trials: int, *, effective: float | None = None) -> Share:
    """Return a proportion with its Wilson score interval (95%, no continuity correction).

    Parameters
    ----------
    hits, trials
        How many, of how many; both whole and not negative.
    effective
        How many independent trials these are worth; as many as there are if left out.

    Raises
    ------
    ValueError
        If there are more hits than trials, or a number is negative.

    Examples
    --------
    >>> share = wilson(1, 29)
    >>> round(share.low, 4), round(share.high, 4)
    (0.0061, 0.1718)
    """
    if not 0 <= hits <= trials:
        msg = "hits must lie between 0 and the number of trials"
        raise ValueError(msg)
    if trials == 0:
        return Share(0, 0, 0.0, 1.0)
    number = trials if effective is None else effective
    share = hits / trials
    squared = Z_95 * Z_95
    middle = (share + squared / (2 * number)) / (1 + squared / number)
    reach = (Z_95 / (1 + squared / number)) * math.sqrt(
        share * (1 - share) / number + squared / (4 * number * number)
    )
    # The ends are 0 and 1 by algebra there, and rounding must not carry them past.
    low = 0.0 if hits == 0 else max(middle - reach, 0.0)
    high = 1.0 if hits == trials else min(middle + reach, 1.0)
    return Share(hits, trials, low, high)


def clustered_share(hit: npt.ArrayLike, cluster: npt.ArrayLike) -> Share:
    """Return a proportion whose trials come in clusters, as boxes do on one building.

    Boxes on one wall are used together or not at all, so twenty boxes on four buildings say
    less than twenty on twenty. The number of trials is divided by the design effect (never below
    1) before Wilson's interval is taken.

    Parameters
    ----------
    hit
        For each trial whether it was one, shape (n,).
    cluster
        For each trial its cluster, shape (n,).
    """
    hits = np.asarray(hit, dtype=bool)
    found, trials = int(hits.sum()), len(hits)
    clusters = len(np.unique(np.asarray(cluster)))
    if clusters < 2 or found in (0, trials):  # noqa: PLR2004 - nothing to take a variance from
        # All alike: at worst each cluster is one trial.
        return wilson(found, trials, effective=clusters)
    # Few clusters tell their own variance badly, which Student's t makes up for.
    wider = (float(student.ppf(0.975, clusters - 1)) / Z_95) ** 2
    effect = design_effect(hits, cluster)
    return wilson(found, trials, effective=trials / (effect * wider if effect > 1 else 1.0))


def design_effect(hit: npt.ArrayLike, cluster: npt.ArrayLike) -> float:
    """Return by how much clustering swells the variance of a proportion; 1 at least.

    Parameters
    ----------
    hit, cluster
        As for `clustered_share`.
    """
    hits = np.asarray(hit, dtype=np.float64)
    _, number = np.unique(np.asarray(cluster), return_inverse=True)
    clusters = int(number.max()) + 1 if len(number) else 0
    if clusters < 2:  # noqa: PLR2004 - one cluster has no variance between clusters
        return float(max(len(hits), 1))
    share = float(hits.mean())
    if share in (0.0, 1.0):
        return 1.0
    residual = np.bincount(number, weights=hits - share)
    variance = float((residual**2).sum()) * clusters / (clusters - 1) / len(hits) ** 2
    return max(variance / (share * (1 - share) / len(hits)), 1.0)
