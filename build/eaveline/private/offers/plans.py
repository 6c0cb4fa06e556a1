"""Lays the best plan beside simpler ones, so that the choice can be explained."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.config import OfferQuota, Offers
from eaveline.private.offers.candidates import sizes_of_lots
from eaveline.private.offers.choice import choose, promising_lots
from eaveline.private.offers.greedy import greedy
from eaveline.private.offers.limits import Choice, Ints, Limits, Quota
from eaveline.private.offers.uptake import Uptake, terms_of
from eaveline.private.places.street_names import street_key

BEST, GREEDY, NEAREST, SPREAD = (
    "the best plan",
    "most for a box first",
    "nearest to nests first",
    "spread evenly",
)
USUAL_LOT = 3
"""What the simple rules give each building."""
_CURVE_POINTS = 8
_CURVE_TOLERANCE = 0.02

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Plan:
    """A plan with what it is expected to bring.

    Attributes
    ----------
    name
        What kind of plan it is.
    choice
        The chosen rows of the lots.
    doors, boxes
        How many buildings and boxes.
    expected
        Nest spaces expected to be newly used within three seasons.
    """

    name: str
    choice: Choice
    doors: int
    boxes: int
    expected: float


def lots_for(buildings: pd.DataFrame, *, uptake: Uptake, offers: Offers) -> pd.DataFrame:
    """Return every lot that could be offered, with its value and its price.

    Parameters
    ----------
    buildings
        Those that may be offered boxes; see `candidates`.
    uptake
        The fitted model.
    offers
        The town's settings.

    Returns
    -------
    pandas.DataFrame
        building, lot, turn (which of equals comes first), promised, asked, easting,
        northing, street, new_area, chance (for each box), value (expected newly used nest
        spaces), cost (pounds, without scaffold), distance_m, and a column for each quota: the
        rows of `choice.choose`.
    """
    lots = pd.DataFrame(
        sizes_of_lots(buildings, smallest=offers.smallest_lot, largest=offers.largest_lot)
    )
    about = buildings.loc[lots["building"]]
    chance = uptake.chance(
        terms_of(
            about["pull"].to_numpy(),
            about["boxes"].to_numpy() + lots["lot"].to_numpy(),
            about["eaves_height_m"].to_numpy(dtype=np.float64),
            about["facing"].to_numpy(dtype=object),
        )
    )
    columns = {
        "turn": np.arange(len(lots)),
        "promised": lots["promised"].astype(bool),
        "asked": about["asked"].to_numpy(dtype=bool),
        "easting": about["easting"].to_numpy(dtype=np.float64),
        "northing": about["northing"].to_numpy(dtype=np.float64),
        "street": about["street"].to_numpy(dtype=object),
        "new_area": about["new_area"].to_numpy(dtype=bool),
        "distance_m": about["distance_m"].to_numpy(dtype=np.float64),
        "chance": chance,
        "value": chance * lots["lot"],
        "cost": offers.box_pounds * lots["lot"] + offers.visit_pounds,
    }
    return lots.assign(**columns, **{f"quota {q.name}": _about(about, q) for q in offers.quotas})


def _about(buildings: pd.DataFrame, quota: OfferQuota) -> npt.NDArray[np.bool_]:
    streets = {street_key(street) for street in quota.streets}
    keys = {street: street_key(str(street)) for street in buildings["street"].dropna().unique()}
    inside = buildings["street"].map(lambda street: keys.get(street) in streets).astype(bool)
    wanted = (quota.tenure or "").strip().casefold()
    held = (
        buildings["tenure"]
        .map(lambda text: isinstance(text, str) and text.strip().casefold() == wanted)
        .astype(bool)
    )
    if quota.streets and quota.tenure:
        return (inside & held).to_numpy()
    return (inside if quota.streets else held).to_numpy()


def limits_for(offers: Offers) -> Limits:
    """Return the limits that the settings state."""
    return Limits(
        boxes=offers.boxes,
        budget_pounds=offers.budget_pounds,
        most_per_street=offers.most_per_street,
        new_area_boxes=int(np.floor(offers.boxes * offers.new_area_share + 1e-9)),
        scaffold_pounds=offers.scaffold_pounds,
        most_houses_near=offers.most_houses_near,
        quotas=tuple(
            Quota(f"quota {quota.name}", quota.at_least, quota.at_most) for quota in offers.quotas
        ),
    )


def best_plan(
    lots: pd.DataFrame, limits: Limits, *, neighbours: Ints, nearby: Ints, tolerance: float = 0.0
) -> Plan:
    """Return the best plan; see `choice.choose`."""
    found = choose(lots, limits, neighbours=neighbours, nearby=nearby, tolerance=tolerance)
    return _told(BEST, found, lots)


def rival_plans(
    lots: pd.DataFrame, limits: Limits, places: pd.DataFrame, *, neighbours: Ints, nearby: Ints
) -> tuple[Plan, ...]:
    """Return the plans that simpler rules give under the same limits.

    Parameters
    ----------
    lots, limits, neighbours, nearby
        See `choice.choose`; the lots also have distance_m.
    places
        easting and northing by building.
    """
    fixed = lots["promised"].to_numpy(dtype=bool)
    free = lots.loc[~fixed, "lot"]
    usual = min(max(USUAL_LOT, int(free.min())), int(free.max())) if len(free) else USUAL_LOT
    single = np.flatnonzero(fixed | (lots["lot"] == usual).to_numpy())
    rows = lots.iloc[single]
    far_apart = _spread(rows, places, count=4 * (limits.boxes // usual + 1))
    rules: Sequence[
        tuple[str, npt.NDArray[np.int_], Callable[[pd.DataFrame], npt.ArrayLike] | None]
    ]
    rules = (
        (GREEDY, np.arange(len(lots)), None),
        (NEAREST, single, lambda table: table["distance_m"]),
        (SPREAD, single, lambda _: far_apart),
    )
    plans = []
    for name, among, order in rules:
        table = lots.iloc[among]
        found = greedy(table, limits, neighbours=neighbours, nearby=nearby, order=order)
        if found is None:
            softer = replace(
                limits,
                new_area_boxes=0,
                quotas=tuple(replace(quota, at_least=0) for quota in limits.quotas),
            )
            found = greedy(table, softer, neighbours=neighbours, nearby=nearby, order=order)
        if found is not None:
            chosen = replace(found, lots=tuple(int(among[n]) for n in found.lots))
            plans.append(_told(name, chosen, lots))
    return tuple(plans)


def _spread(rows: pd.DataFrame, places: pd.DataFrame, *, count: int) -> Floats:
    """Return ranks that scatter buildings: each next one is the farthest from those before."""
    spots = places.loc[rows["building"], ["easting", "northing"]].to_numpy(dtype=np.float64)
    rank = np.full(len(rows), float(len(rows)))
    if not len(rows):
        return rank
    away = np.hypot(*(spots - spots.mean(axis=0)).T)
    turn = int(np.argmin(away))
    nearest = np.full(len(rows), np.inf)
    for place in range(min(count, len(rows))):
        rank[turn] = place
        nearest = np.minimum(nearest, np.hypot(*(spots - spots[turn]).T))
        turn = int(np.argmax(nearest))
    return rank


def _told(name: str, choice: Choice, lots: pd.DataFrame) -> Plan:
    chosen = lots.iloc[list(choice.lots)]
    return Plan(name, choice, len(chosen), int(chosen["lot"].sum()), float(chosen["value"].sum()))


def what_if(
    lots: pd.DataFrame, limits: Limits, *, new_area_share: float, neighbours: Ints, nearby: Ints
) -> tuple[Plan, ...]:
    """Return good plans for smaller and larger stocks, up to twice the stock.

    They are sought among the most promising buildings alone, to within two hundredths of what
    they allow: the curve is for the eye, and only the plan at the stock itself is proved to
    be the best.

    Parameters
    ----------
    lots, limits, neighbours, nearby
        See `choice.choose`.
    new_area_share
        Of the boxes, kept for new areas.
    """
    promised = int(lots.loc[lots["promised"], "lot"].sum())
    smallest = int(lots["lot"].min()) if len(lots) else 1
    stocks = sorted(
        {
            max(promised, smallest, round(2 * limits.boxes * step / _CURVE_POINTS))
            for step in range(1, _CURVE_POINTS + 1)
        }
    )
    kept = [
        replace(limits, boxes=stock, new_area_boxes=int(stock * new_area_share + 1e-9))
        for stock in stocks
    ]
    among = promising_lots(lots, kept[-1], neighbours=neighbours, nearby=nearby)
    return tuple(
        best_plan(among, each, neighbours=neighbours, nearby=nearby, tolerance=_CURVE_TOLERANCE)
        for each in kept
    )
