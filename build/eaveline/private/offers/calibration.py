"""Earlier offers against what became of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.private.offers.activity import as_of, pull
from eaveline.private.offers.histories import FIRST_SEASONS, box_histories
from eaveline.private.offers.uptake import Floats, Uptake, fit_uptake, terms_of, wall_weights
from eaveline.private.register import Register

LEAST_BOXES = 30
"""With fewer boxes, or all of one outcome, a slope is not told (common practice)."""


@dataclass(frozen=True)
class YearOfOffers:
    """What was offered for one season, and what came of it.

    Attributes
    ----------
    season
        The first season of the boxes.
    offered, accepted
        Doors knocked on, and those that said yes; None where requests/ say nothing.
    boxes
        Boxes fixed for that season that were looked at since.
    expected
        How many of them the estimate of that time would have called used by now.
    used
        How many were.
    """

    season: int
    offered: int | None
    accepted: int | None
    boxes: int
    expected: float
    used: int


@dataclass(frozen=True)
class Calibration:
    """How well the estimates of past years held.

    Attributes
    ----------
    years
        Oldest first.
    slope
        1 where the estimates spread as the outcomes do; below 1 where they were too bold.
        None where too few boxes tell.
    yes_rate
        Chance that a door says yes: one yes and one no are put to what is known.
    """

    years: tuple[YearOfOffers, ...]
    slope: float | None
    yes_rate: float


def learnt(
    register: Register, evidence: pd.DataFrame, *, until: int | None = None
) -> tuple[Uptake, pd.DataFrame]:
    """Return the model moved by the group's boxes, and their histories with their terms.

    Parameters
    ----------
    register
        Everything merged.
    evidence
        See `activity.swift_evidence`.
    until
        The last season that may be known; all if None.
    """
    told = box_histories(register, until=until)
    terms = history_terms(told, evidence)
    model = fit_uptake(
        terms, told["seasons"], told["used"], wall_weights(told["building"].to_numpy())
    )
    return model, told


def history_terms(told: pd.DataFrame, evidence: pd.DataFrame) -> Floats:
    """Return the model's terms of boxes as they were the season before their first."""
    near = np.zeros(len(told))
    for season in np.unique(told["first"]):
        rows = (told["first"] == season).to_numpy()
        near[rows] = pull(
            told.loc[rows, "easting"],
            told.loc[rows, "northing"],
            as_of(evidence, int(season) - 1),
            except_boxes_on=told.loc[rows, "building"],
        )
    return terms_of(
        near,
        told["company"].to_numpy(),
        told["height_m"].to_numpy(dtype=np.float64),
        told["facing"].to_numpy(dtype=object),
        calls=told["calls"].to_numpy(dtype=bool),
    )


def calibration(register: Register, evidence: pd.DataFrame, requests: pd.DataFrame) -> Calibration:
    """Return what was expected of each season's boxes beside what happened.

    Each season's expectation uses only what was known before it, so it is what the tool
    would have said then.

    Parameters
    ----------
    register
        Everything merged.
    evidence
        See `activity.swift_evidence`.
    requests
        The usable rows of requests/: offered_on, accepted.
    """
    everything = box_histories(register)
    terms = history_terms(everything, evidence)
    expected = np.zeros(len(everything))
    for season in np.unique(everything["first"]):
        rows = (everything["first"] == season).to_numpy()
        model, _ = learnt(register, evidence, until=int(season) - 1)
        looked = everything.loc[rows, "seasons"].to_numpy(dtype=np.float64)
        whole = model.chance(terms[rows])
        expected[rows] = -np.expm1(np.log1p(-whole) * looked / FIRST_SEASONS)
    used = everything["used"].to_numpy(dtype=bool)
    offered = requests[requests["offered_on"].notna()]
    season_of = _season_for(offered["offered_on"])
    years = []
    for season in sorted({*everything["first"].tolist(), *season_of.tolist()}):
        rows = (everything["first"] == season).to_numpy()
        doors = offered[(season_of == season).to_numpy()]
        years.append(
            YearOfOffers(
                season=int(season),
                offered=len(doors) or None,
                accepted=int((doors["accepted"] == "yes").sum()) if len(doors) else None,
                boxes=int(rows.sum()),
                expected=float(expected[rows].sum()),
                used=int(used[rows].sum()),
            )
        )
    answered = offered["accepted"].dropna()
    yes_rate = (int((answered == "yes").sum()) + 1) / (len(answered) + 2)
    enough = len(used) >= LEAST_BOXES and 0 < used.sum() < len(used)
    return Calibration(
        tuple(years), calibration_slope(expected, used) if enough else None, yes_rate
    )


def _season_for(offered_on: pd.Series) -> pd.Series:
    """Return the season an offer was made for: offers from July on are for the next year."""
    season: pd.Series = offered_on.dt.year + (offered_on.dt.month >= 7)  # noqa: PLR2004 - July
    return season.astype(np.int64)


def calibration_slope(expected: Floats, used: npt.ArrayLike) -> float:
    """Return the slope of outcomes on expectations, both as log odds.

    Logistic regression of the outcome on the expectation's log odds (Cox 1958, Biometrika
    45: 562-565), by Newton's method.

    Parameters
    ----------
    expected
        Chances strictly between 0 and 1, shape (n,).
    used
        Outcomes, shape (n,).
    """
    chance = np.clip(np.asarray(expected, dtype=np.float64), 1e-9, 1 - 1e-9)
    design = np.column_stack([np.ones(len(chance)), np.log(chance / (1 - chance))])
    outcome = np.asarray(used, dtype=np.float64)
    beta = np.array([0.0, 1.0])
    for _ in range(50):
        fitted = 1.0 / (1.0 + np.exp(-design @ beta))
        bend = (design * (fitted * (1 - fitted))[:, None]).T @ design
        step = np.linalg.solve(bend + 1e-9 * np.eye(2), design.T @ (outcome - fitted))
        beta = beta + step
        if np.abs(step).max() < 1e-10:  # noqa: PLR2004 - no further digit matters
            break
    return float(beta[1])
