"""A made-up town whose true uptake is known, for judging plans by what they bring."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.config import Offers
from eaveline.private.offers.activity import WEIGHTS, as_of, distance_to, pull
from eaveline.private.offers.calibration import calibration_slope
from eaveline.private.offers.candidates import pairs_within
from eaveline.private.offers.plans import (
    Plan,
    best_plan,
    limits_for,
    lots_for,
    rival_plans,
)
from eaveline.private.offers.uptake import (
    PRIOR_MEAN,
    PRIOR_SD,
    Uptake,
    fit_uptake,
    terms_of,
    wall_weights,
)

NOW = 2026
WALL_LUCK_SD = 0.4
"""Boxes on one wall share a luck that no model knows."""
_FACING = np.array(["N", "NE", "E", "SE", "S", "SW", "W", "NW", ""], dtype=object)


@dataclass(frozen=True)
class Outcome:
    """What each plan brought, and what had been expected of each box."""

    used: dict[str, int]
    boxes: dict[str, int]
    expected: npt.NDArray[np.float64]
    taken: npt.NDArray[np.bool_]


def make_buildings(
    rng: np.random.Generator, *, streets: int, houses: int
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return buildings along parallel streets, and swift evidence in a few colonies."""
    count = streets * houses
    east = np.tile(np.arange(houses) * 8.0, streets)
    north = np.repeat(np.arange(streets) * 60.0, houses)
    centres = rng.uniform((0, 0), (houses * 8.0, streets * 60.0), (max(2, streets // 6), 2))
    colony = rng.integers(len(centres), size=streets)
    spots = centres[colony] + rng.normal(0, 60, (streets, 2))
    kinds = rng.choice(list(WEIGHTS), streets)
    evidence = pd.DataFrame(
        {
            "easting": spots[:, 0],
            "northing": spots[:, 1],
            "season": rng.integers(NOW - 7, NOW + 1, streets),
            "kind": kinds.astype(object),
            "source": [f"source {n}" for n in range(streets)],
            "building": -1,
            "weight": [WEIGHTS[str(kind)] for kind in kinds],
        }
    )
    known = as_of(evidence, NOW)
    buildings = pd.DataFrame(
        {
            "street": [f"Street {n // houses}" for n in range(count)],
            "house": [str(n % houses + 1) for n in range(count)],
            "easting": east,
            "northing": north,
            "pull": pull(east, north, known),
            "distance_m": distance_to(east, north, known),
            "boxes": 0,
            "new_area": rng.random(count) < 0.4,
            "asked": rng.random(count) < 0.02,
            "promised": 0,
            "eaves_height_m": np.where(rng.random(count) < 0.5, rng.uniform(4.5, 8, count), np.nan),
            "facing": rng.choice(_FACING, count),
            "tenure": None,
        }
    )
    return buildings, evidence


def learn(rng: np.random.Generator, buildings: pd.DataFrame, truth: Uptake) -> Uptake:
    """Return the model after some thirty walls of boxes, at odd places, for a few seasons."""
    walls = rng.choice(len(buildings), 30, replace=False)
    company = rng.integers(1, 5, len(walls))
    home = np.repeat(walls, company)
    about = buildings.iloc[home]
    terms = terms_of(
        about["pull"].to_numpy(),
        np.repeat(company, company),
        about["eaves_height_m"].to_numpy(),
        about["facing"].to_numpy(),
    )
    luck = np.repeat(rng.normal(0, WALL_LUCK_SD, len(walls)), company)
    hazard = np.exp(terms @ truth.mean + luck) / 3
    seen = rng.integers(1, 4, len(home))
    first = rng.geometric(-np.expm1(-hazard))
    return fit_uptake(terms, np.minimum(first, seen), first <= seen, wall_weights(home))


def play(seed: int, *, streets: int = 24, houses: int = 30) -> Outcome:
    """Make a town, learn, plan, and let the birds decide."""
    rng = np.random.default_rng(seed)
    buildings, _ = make_buildings(rng, streets=streets, houses=houses)
    mean = PRIOR_MEAN + PRIOR_SD * rng.normal(size=len(PRIOR_MEAN))
    truth = Uptake(mean, np.zeros((len(mean), len(mean))), 0, 0)
    offers = Offers(boxes=24, largest_lot=4)
    lots = lots_for(buildings, uptake=learn(rng, buildings, truth), offers=offers)
    pairs = pairs_within(buildings, reach_m=offers.scaffold_reach_m)
    nearby = pairs_within(buildings, reach_m=offers.near_m)
    limits = limits_for(offers)
    plans: list[Plan] = [
        best_plan(lots, limits, neighbours=pairs, nearby=nearby),
        *rival_plans(lots, limits, buildings, neighbours=pairs, nearby=nearby),
    ]
    # One luck for each wall and each box, the same whichever plan puts a box there.
    luck = rng.normal(0, WALL_LUCK_SD, len(buildings))
    draws = rng.random((len(buildings), offers.largest_lot))
    used, boxes, expected, taken = {}, {}, [], []
    for plan in plans:
        chosen = lots.iloc[list(plan.choice.lots)]
        about = buildings.loc[chosen["building"]]
        terms = terms_of(
            about["pull"].to_numpy(),
            chosen["lot"].to_numpy(),
            about["eaves_height_m"].to_numpy(),
            about["facing"].to_numpy(),
        )
        chance = -np.expm1(-np.exp(terms @ truth.mean + luck[chosen["building"]]))
        hits = [
            draws[home, :size] < odds
            for home, size, odds in zip(chosen["building"], chosen["lot"], chance, strict=True)
        ]
        used[plan.name] = int(sum(each.sum() for each in hits))
        boxes[plan.name] = plan.boxes
        expected.append(np.repeat(chosen["chance"].to_numpy(), chosen["lot"].to_numpy()))
        taken.append(np.concatenate(hits))
    return Outcome(used, boxes, np.concatenate(expected), np.concatenate(taken))


def slope_of(expected: npt.NDArray[np.float64], taken: npt.ArrayLike) -> float:
    """Return the calibration slope of outcomes that are each alone."""
    told = calibration_slope(expected, taken)
    assert told is not None
    return told.value
