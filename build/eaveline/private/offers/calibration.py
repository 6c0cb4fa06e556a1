"""Earlier offers against what became of them."""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.private.offers.activity import as_of, pull
from eaveline.private.offers.histories import FIRST_SEASONS, box_histories, box_looks
from eaveline.private.offers.uptake import (
    USUAL_PULL,
    Floats,
    Uptake,
    fit_uptake,
    terms_of,
    wall_weights,
)
from eaveline.private.register import Register

LEAST_BOXES = 30
LEAST_WALLS = 10
"""With fewer boxes or walls, or all of one outcome, a slope is not told (common practice)."""
_ALIKE = 1e-9


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
        How many of them the estimate of that time would have called used by now: its chance
        for a season, over the seasons that each box was looked at while unused. Counting
        only those makes the sum fair to boxes whose looking ended with their first use.
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
class Slope:
    """A slope with its 95% interval."""

    value: float
    low: float
    high: float


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
    slope: Slope | None
    yes_rate: float


@dataclass(frozen=True, repr=False)
class PastBoxes:
    """What became of the group's boxes, and what was known of them beforehand.

    Attributes
    ----------
    told
        See `histories.box_histories`.
    terms
        The model's terms of each, as they were the season before its first.
    looks
        See `histories.box_looks`.
    """

    told: pd.DataFrame
    terms: Floats
    looks: pd.DataFrame

    def __repr__(self) -> str:
        """Show a count only."""
        return f"<PastBoxes: {len(self.told)}>"


def past_boxes(register: Register, evidence: pd.DataFrame) -> PastBoxes:
    """Return the histories of the register's boxes.

    Parameters
    ----------
    register
        Everything merged.
    evidence
        See `activity.swift_evidence`.
    """
    told = box_histories(register)
    return PastBoxes(told, history_terms(told, evidence), box_looks(register))


def learnt(past: PastBoxes) -> Uptake:
    """Return the published model moved by the group's boxes."""
    return _fitted(past.terms, past.told)


def _fitted(terms: Floats, told: pd.DataFrame) -> Uptake:
    walls = wall_weights(told["building"].to_numpy())
    return fit_uptake(terms, told["seasons"], told["used"], walls)


def history_terms(told: pd.DataFrame, evidence: pd.DataFrame) -> Floats:
    """Return the model's terms of boxes as they were the season before their first.

    Before the group's first records nothing is known of any place, which is not to say that
    no swifts were there: those boxes' pull is taken as usual.
    """
    near = np.full(len(told), USUAL_PULL)
    for season in np.unique(told["first"]):
        rows = (told["first"] == season).to_numpy()
        known = as_of(evidence, int(season) - 1)
        if len(known):
            near[rows] = pull(
                told.loc[rows, "easting"],
                told.loc[rows, "northing"],
                known,
                except_boxes_on=told.loc[rows, "building"],
            )
    return terms_of(
        near,
        told["company"].to_numpy(),
        told["height_m"].to_numpy(dtype=np.float64),
        told["facing"].to_numpy(dtype=object),
        calls=told["calls"].to_numpy(dtype=bool),
    )


def calibration(past: PastBoxes, requests: pd.DataFrame) -> Calibration:
    """Return what was expected of each season's boxes beside what happened.

    Each season's expectation uses only what was known before it, so it is what the tool
    would have said then.

    Parameters
    ----------
    past
        The group's boxes.
    requests
        The usable rows of requests/: offered_on, accepted.
    """
    everything = past.told
    chance = _chance_at_the_time(past)
    seasons = everything["seasons"].to_numpy(dtype=np.int64)
    used = everything["used"].to_numpy(dtype=bool)
    expected = seasons * chance
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
    walls = _walls(everything["building"].to_numpy(dtype=np.int64))
    enough = len(used) >= LEAST_BOXES and len(np.unique(walls)) >= LEAST_WALLS
    told = season_outcomes(chance, seasons, used)
    slope = calibration_slope(*told, np.repeat(walls, seasons)) if enough else None
    return Calibration(tuple(years), slope, yes_rate)


def _walls(building: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """Return a number for each box's wall; a box of no known building hangs alone."""
    return np.where(building >= 0, building, -1 - np.arange(len(building)))


def _chance_at_the_time(past: PastBoxes) -> Floats:
    """Return each box's chance for a season, as estimated from what was known before it."""
    everything, terms, looks = past.told, past.terms, past.looks
    row_of = pd.Series(np.arange(len(everything)), index=everything["box"])
    row = row_of.reindex(looks["box"]).to_numpy(dtype=np.int64)
    looked = looks["season"].to_numpy()
    count = len(everything)
    chance = np.zeros(count)
    first = everything["first"].to_numpy()
    for season in np.unique(first):
        known = looked < season
        seasons = np.bincount(row[known], minlength=count)
        used = np.bincount(row[known], weights=looks["swift"][known], minlength=count) > 0
        told = everything.assign(seasons=seasons, used=used)
        model = _fitted(terms[seasons > 0], told[seasons > 0])
        mine = first == season
        chance[mine] = -np.expm1(np.log1p(-model.chance(terms[mine])) / FIRST_SEASONS)
    return chance


def season_outcomes(
    chance: Floats, seasons: npt.NDArray[np.int64], used: npt.NDArray[np.bool_]
) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """Return expectation and outcome of every season that a box was looked at while unused.

    A box is looked at until its first use, so the number of its seasons tells of the outcome
    itself: long-watched boxes are the unused ones. Judged over all its seasons at once, a
    right estimate would seem too bold; season by season it does not (as in survival analysis
    by discrete time).

    Parameters
    ----------
    chance
        For a season, shape (n,).
    seasons
        Looked at, up to the first use, shape (n,).
    used
        Whether the last of them was one of use, shape (n,).
    """
    outcome = np.zeros(int(seasons.sum()), dtype=bool)
    outcome[np.cumsum(seasons) - 1] = used
    return np.repeat(chance, seasons), outcome


def _season_for(offered_on: pd.Series) -> pd.Series:
    """Return the season an offer was made for: offers from July on are for the next year."""
    season: pd.Series = offered_on.dt.year + (offered_on.dt.month >= 7)  # noqa: PLR2004 - July
    return season.astype(np.int64)


def calibration_slope(
    expected: Floats, used: npt.ArrayLike, walls: npt.ArrayLike | None = None
) -> Slope | None:
    """Return the slope of outcomes on expectations, both as log odds.

    Logistic recalibration: regression of the outcome on the expectation's log odds (Cox 1958,
    Biometrika 45: 562-565), by statsmodels' generalised linear model. Boxes on one wall share
    their luck and a box's seasons are its own, so the variance is clustered by wall (the
    sandwich of Liang and Zeger 1986, Biometrika 73: 13-22), and the Wald interval of 95% takes
    Student's t with one degree of freedom fewer than there are walls (Cameron and Miller 2015,
    Journal of Human Resources 50: 317-372).

    Parameters
    ----------
    expected
        Chances strictly between 0 and 1, shape (n,).
    used
        Outcomes, shape (n,).
    walls
        Which outcomes belong together, shape (n,); by default each is alone.

    Returns
    -------
    Slope or None
        None if the expectations or the outcomes are all alike, or the fit has no end.
    """
    # Takes its time to load; few commands come here.
    import statsmodels.api as sm  # noqa: PLC0415
    from statsmodels.tools.sm_exceptions import (  # noqa: PLC0415
        ConvergenceWarning,
        PerfectSeparationWarning,
    )

    chance = np.clip(np.asarray(expected, dtype=np.float64), 1e-9, 1 - 1e-9)
    outcome = np.asarray(used, dtype=np.float64)
    odds = np.log(chance / (1 - chance))
    if not len(odds) or np.ptp(odds) < _ALIKE or np.ptp(outcome) == 0:
        return None
    groups = np.arange(len(odds)) if walls is None else np.asarray(walls)
    model = sm.GLM(outcome, sm.add_constant(odds), family=sm.families.Binomial())
    with warnings.catch_warnings():
        warnings.simplefilter("error", ConvergenceWarning)
        warnings.simplefilter("error", PerfectSeparationWarning)
        try:
            fit = model.fit(cov_type="cluster", cov_kwds={"groups": groups}, use_t=True)
        except (ConvergenceWarning, PerfectSeparationWarning):
            return None
    low, high = fit.conf_int()[1]
    if not np.isfinite([fit.params[1], low, high]).all():
        return None
    return Slope(float(fit.params[1]), float(low), float(high))
