"""What the group might do next: whom to offer boxes to, and where to watch first."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from eaveline.config import TOWN_FILE, Offers
from eaveline.errors import Problem
from eaveline.private.intake.crossref import StreetFinder
from eaveline.private.merge.sites import AssignBuilding
from eaveline.private.offers.activity import as_of, swift_evidence
from eaveline.private.offers.calibration import Calibration, calibration, learnt, past_boxes
from eaveline.private.offers.candidates import (
    buildings_at,
    candidates,
    may_be_offered,
    owner_words,
    pairs_within,
)
from eaveline.private.offers.limits import Limits
from eaveline.private.offers.plans import (
    Plan,
    best_plan,
    limits_for,
    lots_for,
    rival_plans,
    what_if,
)
from eaveline.private.offers.uptake import Uptake
from eaveline.private.offers.watch_first import (
    RECENT_SEASONS,
    Evening,
    Line,
    rota,
    streets_to_watch,
    watched_by_street,
)
from eaveline.private.places.street_names import street_key
from eaveline.private.register import Register, SunTimes

_MOST_SPARE_DOORS = 60
_SEASON_OVER_MONTH = 8
"""From August on, the next season is next year's."""


@dataclass(frozen=True, repr=False)
class Proposal:
    """Everything the doorstep papers are made from.

    Attributes
    ----------
    year
        The season the boxes are for.
    doors
        The best plan, in order: building, lot, promised, street, house, easting, northing,
        chance, value, cost and what else `candidates` tells.
    spare
        Doors to knock on if somebody says no, best first; the same columns.
    best, rivals, curve
        The plan, the simpler rules' plans, and the best plans for other stocks.
    uptake
        The fitted model.
    calibration
        Earlier years' expectations beside what happened.
    to_watch, rota
        Streets that watching has not settled, and the evenings that would.
    notices
        What a person should know; no private value.
    """

    year: int
    doors: pd.DataFrame
    spare: pd.DataFrame
    best: Plan
    rivals: tuple[Plan, ...]
    curve: tuple[Plan, ...]
    uptake: Uptake
    calibration: Calibration
    to_watch: pd.DataFrame
    rota: tuple[Evening, ...]
    notices: tuple[Problem, ...]

    def __repr__(self) -> str:
        """Show counts only."""
        return f"<Proposal: {len(self.doors)} doors, {len(self.to_watch)} streets to watch>"


def propose(
    register: Register,
    *,
    requests: pd.DataFrame,
    left_alone: pd.DataFrame,
    addresses: pd.DataFrame | None,
    streets: Iterable[Line],
    offers: Offers,
    assign_building: AssignBuilding,
    find_street: StreetFinder,
    sun_times: SunTimes,
    today: dt.date,
) -> Proposal | None:
    """Return the proposal, or None where no premises or dates are known.

    Parameters
    ----------
    register
        Everything merged.
    requests
        The usable rows of requests/.
    left_alone
        easting, northing, uncertainty_m of addresses to forget: nobody knocks there.
    addresses
        street, house, easting, northing; or None.
    streets
        The town's streets.
    offers
        The town's settings.
    assign_building, find_street, sun_times
        See `AssignBuilding`, `StreetFinder` and `SunTimes`.
    today
        Boxes and evenings are for the next season from it, or from the newest record.
    """
    newest = register.newest
    if register.premises is None or newest is None:
        return None
    season = newest.year if newest.month >= 5 else newest.year - 1  # noqa: PLR2004 - May
    now = max(newest, today)
    year = now.year + (now.month >= _SEASON_OVER_MONTH)
    evidence = swift_evidence(register)
    known = as_of(evidence, season)
    lines = sorted(streets, key=lambda street: street.slug)
    to_watch = streets_to_watch(
        lines,
        minutes=watched_by_street(
            register.watches, find_street=find_street, since=season - RECENT_SEASONS + 1
        ),
        known=known,
        premises=register.premises,
    )
    everything = candidates(
        register,
        evidence=evidence,
        owners=owner_words(requests, assign_building=assign_building),
        addresses=addresses,
        left_alone=buildings_at(left_alone, assign_building=assign_building),
        season=season,
    )
    unwatched = frozenset(street_key(str(name)) for name in to_watch["street"])
    buildings = everything[may_be_offered(everything, watch_first=unwatched)]
    boxes = past_boxes(register, evidence)
    uptake = learnt(boxes)
    lots = lots_for(buildings, uptake=uptake, offers=offers)
    pairs = pairs_within(buildings, reach_m=offers.scaffold_reach_m)
    nearby = pairs_within(buildings, reach_m=offers.near_m)
    limits, short = _with_room_for_promises(limits_for(offers), lots)
    best = best_plan(lots, limits, neighbours=pairs, nearby=nearby)
    rivals = rival_plans(lots, limits, buildings, neighbours=pairs, nearby=nearby)
    curve = what_if(
        lots,
        limits,
        new_area_share=offers.new_area_share,
        neighbours=pairs,
        nearby=nearby,
    )
    past = calibration(boxes, requests)
    chosen = lots.iloc[list(best.choice.lots)]
    rest = lots[~lots["building"].isin(chosen["building"])]
    best_of_each = rest.sort_values(
        ["chance", "building"], ascending=[False, True]
    ).drop_duplicates("building")
    spares = min(_MOST_SPARE_DOORS, int(np.ceil(len(chosen) / past.yes_rate)) - len(chosen))
    return Proposal(
        year=year,
        doors=_doors(chosen, buildings),
        spare=_doors(best_of_each.head(spares), buildings),
        best=best,
        rivals=rivals,
        curve=curve,
        uptake=uptake,
        calibration=past,
        to_watch=to_watch,
        rota=rota(
            to_watch,
            year=year,
            sun_times=sun_times,
            evenings_a_week=offers.watch_evenings_a_week,
        ),
        notices=(*short, *(_gave_way(words) for words in best.choice.relaxed)),
    )


def _doors(lots: pd.DataFrame, buildings: pd.DataFrame) -> pd.DataFrame:
    told = lots.drop(columns="turn")
    about = buildings.drop(columns=[name for name in buildings if name in told])
    return (
        told.join(about, on="building")
        .sort_values(
            ["promised", "asked", "chance", "value", "building"],
            ascending=[False, False, False, False, True],
        )
        .reset_index(drop=True)
    )


def _with_room_for_promises(
    limits: Limits, lots: pd.DataFrame
) -> tuple[Limits, tuple[Problem, ...]]:
    """Return limits that hold at least what is promised: a promise is kept first."""
    promised = lots[lots["promised"]]
    boxes = int(promised["lot"].sum())
    pounds = float(promised["cost"].sum()) + limits.scaffold_pounds * len(promised)
    budget = limits.budget_pounds
    if boxes <= limits.boxes and (budget is None or pounds <= budget):
        return limits, ()
    wider = replace(
        limits,
        boxes=max(boxes, limits.boxes),
        budget_pounds=None if budget is None else max(pounds, budget),
    )
    return wider, (
        Problem(
            "offers-promised-too-much",
            "More boxes are promised in requests/ than the stock or the budget allows.",
            "The plan keeps the promises; raise offers.boxes or offers.budget_pounds, or mend"
            " the rows.",
            file=TOWN_FILE,
            column="offers",
        ),
    )


def _gave_way(words: str) -> Problem:
    return Problem(
        "offers-limits-contradict",
        f"No plan was found that keeps every limit, so this was left aside: {words}.",
        "Change the limits if another should give way.",
        file=TOWN_FILE,
        column="offers",
    )
