"""The chance that a nest space is taken by swifts within three seasons.

The model is the grouped-data proportional hazards model: a season's chance is constant, and
the complementary log-log of the chance over three seasons is linear in what is known of the
place (Prentice and Gloeckler 1978, Biometrics 34: 57-67). So a box looked at for one season
speaks as well as one of three.

It starts from published rates, as normal priors, and the group's own boxes move it by as
much as they weigh (partial pooling; posterior mode and curvature). Where the numbers come
from:

* base: 24.3% of 477 boxes in use (Schaub and others 2016, Bird Conservation International 26:
  164-176), taken here as the chance within three seasons of a box in good company at a
  middling distance;
* company: more boxes beside it was the strongest predictor there. From one box to two, and
  from two to four, the hazard is taken to grow by about 1.6; beyond four nothing is added
  (three to five on a house are ideal: common practice, no source);
* pull: near swifts the hazard is some five times that far away (common practice: the wall
  itself and up to 100 m are good, beyond 500 m poor);
* height above 5 m, and shade (north to east): small, as in that study;
* calls: no controlled British result is known, so the prior is nought either way. It is in
  the model only so that boxes with a caller do not colour the rest.

Boxes on one wall share their luck, so each counts for less than a box alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.private.offers.histories import FIRST_SEASONS

Floats = npt.NDArray[np.float64]

BASE_RATE = 0.243
TERMS = ("base", "pull", "company", "height", "shade", "calls")
PRIOR_MEAN: Floats = np.array([np.log(-np.log1p(-BASE_RATE)), 2.0, 0.7, 0.05, 0.1, 0.0])
PRIOR_SD: Floats = np.array([0.5, 0.6, 0.25, 0.05, 0.15, 0.5])
USUAL_PULL = 0.5
USUAL_COMPANY, ENOUGH_COMPANY = 3, 4
USUAL_HEIGHT_M = 5.0
_HEIGHT_REACH_M = 4.0
WALL_LIKENESS = 0.3
"""How alike boxes on one wall are (their intraclass correlation); no source."""
_SHADED = {"N": 1.0, "NE": 1.0, "E": 1.0, "S": -1.0, "SW": -1.0, "W": -0.5, "SE": 0.0, "NW": 0.5}
_TOLERANCE, _MOST_STEPS = 1e-10, 100


@dataclass(frozen=True)
class Uptake:
    """A fitted model.

    Attributes
    ----------
    mean, covariance
        Of the terms in the order of `TERMS`.
    boxes, used
        How many of the group's own boxes it learnt from, and how many of them were used.
    """

    mean: Floats
    covariance: Floats
    boxes: int
    used: int

    @property
    def own_share(self) -> float:
        """How much of the estimate for a usual place is the group's own, from 0 to 1.

        One less the ratio of the variance left to the variance before, for a place as in
        the published study: 0 if nothing was learnt.
        """
        return float(1.0 - self.covariance[0, 0] / PRIOR_SD[0] ** 2)

    def chance(self, terms: Floats) -> Floats:
        """Return the chance of each place that a nest space is taken within three seasons.

        Parameters
        ----------
        terms
            Shape (n, 6); see `terms_of`.

        Returns
        -------
        numpy.ndarray
            The mean over what is still uncertain (by five-point Gauss-Hermite quadrature),
            shape (n,).
        """
        middle = terms @ self.mean
        spread = np.sqrt(np.einsum("ij,jk,ik->i", terms, self.covariance, terms))
        points, weights = np.polynomial.hermite_e.hermegauss(5)
        eta = middle[:, None] + spread[:, None] * points
        chances: Floats = -np.expm1(-np.exp(eta)) @ (weights / weights.sum())
        return chances


def terms_of(
    pull: npt.ArrayLike,
    company: npt.ArrayLike,
    height_m: npt.ArrayLike,
    facing: npt.ArrayLike,
    *,
    calls: npt.ArrayLike = (),
) -> Floats:
    """Return the model's terms of places, shape (n, 6); what is unknown is taken as usual.

    Parameters
    ----------
    pull
        See `activity.pull`.
    company
        Boxes on the building, the place's own included.
    height_m
        Metres above ground, NaN if unknown.
    facing
        N, NE, ...; anything else if unknown.
    calls
        Whether a caller runs; nowhere if left out.
    """
    near = np.asarray(pull, dtype=np.float64)
    boxes = np.clip(np.asarray(company, dtype=np.float64), 1, ENOUGH_COMPANY)
    height = np.nan_to_num(np.asarray(height_m, dtype=np.float64) - USUAL_HEIGHT_M, nan=0.0)
    shade = np.array([_SHADED.get(str(side), 0.0) for side in np.asarray(facing, dtype=object)])
    run = np.asarray(calls, dtype=np.float64)
    columns = np.broadcast_arrays(
        np.ones(len(near)),
        near - USUAL_PULL,
        np.log2(boxes / USUAL_COMPANY),
        np.clip(height, -_HEIGHT_REACH_M, _HEIGHT_REACH_M),
        shade if shade.size == near.size else np.zeros(len(near)),
        run if run.size else np.zeros(len(near)),
    )
    return np.column_stack(columns)


def fit_uptake(
    terms: Floats | None = None,
    seasons: npt.ArrayLike = (),
    used: npt.ArrayLike = (),
    weight: npt.ArrayLike = (),
) -> Uptake:
    """Return the published model moved by the group's own boxes.

    Parameters
    ----------
    terms
        The boxes' terms, shape (n, 6); None or empty gives the published model.
    seasons
        Seasons looked at, up to the first use.
    used
        Whether the last of them was one of use.
    weight
        How much each box counts; see `wall_weights`.
    """
    precision = np.diag(PRIOR_SD**-2)
    if terms is None or not len(terms):
        return Uptake(PRIOR_MEAN.copy(), np.diag(PRIOR_SD**2), 0, 0)
    looked = np.asarray(seasons, dtype=np.float64)
    taken = np.asarray(used, dtype=bool)
    counts = np.asarray(weight, dtype=np.float64)
    mean: Floats = PRIOR_MEAN.copy()
    told: dict[str, Any] = {
        "terms": terms,
        "seasons": looked,
        "used": taken,
        "weight": counts,
        "precision": precision,
    }
    objective, gradient, curvature = _posterior(mean, **told)
    for _ in range(_MOST_STEPS):
        step = np.linalg.solve(curvature, gradient)
        size = 1.0
        while True:
            ahead = _posterior(mean + size * step, **told)
            if ahead[0] >= objective or size < _TOLERANCE:
                break
            size /= 2
        mean = np.asarray(mean + size * step, dtype=np.float64)
        objective, gradient, curvature = ahead
        if np.abs(size * step).max() < _TOLERANCE:
            break
    covariance: Floats = np.linalg.inv(curvature).astype(np.float64)
    return Uptake(mean, covariance, len(terms), int(taken.sum()))


def _posterior(
    mean: Floats,
    *,
    terms: Floats,
    seasons: Floats,
    used: npt.NDArray[np.bool_],
    weight: Floats,
    precision: Floats,
) -> tuple[float, Floats, Floats]:
    """Return the log posterior, its gradient, and its negative second derivative."""
    hazard = np.exp(np.clip(terms @ mean, -30.0, 5.0)) / FIRST_SEASONS
    # A season's chance is 1 - exp(-hazard); those before the last went by without use.
    before = seasons - used
    log_use = np.log(-np.expm1(-hazard))
    ratio = hazard / np.expm1(hazard)
    away = mean - PRIOR_MEAN
    objective = float(
        (weight * (np.where(used, log_use, 0.0) - before * hazard)).sum()
        - 0.5 * away @ precision @ away
    )
    slope = weight * (np.where(used, ratio, 0.0) - before * hazard)
    bend = weight * (np.where(used, ratio * (hazard - 1.0 + ratio), 0.0) + before * hazard)
    gradient = terms.T @ slope - precision @ away
    curvature = (terms * bend[:, None]).T @ terms + precision
    return objective, gradient, curvature


def wall_weights(building: npt.ArrayLike) -> Floats:
    """Return how much each box counts: 1 / (1 + (m - 1) * likeness) for m on one building."""
    homes = pd.Series(np.asarray(building, dtype=np.int64))
    alone = homes < 0
    mates = homes.groupby(homes).transform("size").where(~alone, 1).to_numpy(dtype=np.float64)
    result: Floats = 1.0 / (1.0 + (mates - 1.0) * WALL_LIKENESS)
    return result
