"""The true boxes: where they hang, and who lived in each hole each season."""

from __future__ import annotations

import datetime as dt
import math
import random
from dataclasses import dataclass
from functools import cache

from demo_town.entries import LAST_DAY, SEASONS
from demo_town.geography import Building, town
from demo_town.nests import SWIFT_COLONIES, distance_to_active_m, nest_sites
from demo_town.streams import stream

LOTS: tuple[tuple[str, str, int, int, str], ...] = (
    ("Church Street", "St Anne's Church", 5, 2019, "tindersole"),
    ("School Road", "Ottersley Primary School", 5, 2020, "lorrimarsh"),
    ("Market Place", "1", 4, 2021, "tindersole"),
    ("Chapel Street", "Methodist Chapel", 3, 2022, "tindersole"),
    ("Station Road", "Station House", 4, 2023, "teldane"),
    ("Fen Lane", "Fen Farm", 3, 2024, "lorrimarsh"),
)
"""Lots on buildings everybody knows: street, house, boxes, year fixed, who lists them."""

TOTAL = 140
TAKEOVERS = (("house sparrow", 0.075), ("starling", 0.02), ("tit", 0.045), ("other", 0.008))
KINDS: tuple[tuple[str, int, float, float], ...] = (
    ("single timber box", 1, 28.0, 32.0),
    ("double timber box", 2, 28.0, 52.0),
    ("eaves box", 1, 30.0, 38.0),
    ("built-in brick", 1, 30.0, 85.0),
)
"""Kind, holes, entrance in mm, price in pounds."""


@dataclass(frozen=True)
class Box:
    """One box, for as long as it hung."""

    id: str
    building: Building
    keeper: str
    """Key of the member who lists it."""
    kind: str
    cavities: int
    fixed_on: dt.date
    removed_on: dt.date | None
    height_m: float
    facing: str
    entrance_mm: float
    clear_drop_m: float
    calls: tuple[dt.date, dt.date] | None
    share: bool
    paid_by: str
    cost: float
    occupant: dict[tuple[int, int], str]
    """(hole, season) to who lived there; ``empty`` where nobody did."""

    def standing(self, day: dt.date) -> bool:
        """Return whether it hung on that day."""
        return self.fixed_on <= day and (self.removed_on is None or day < self.removed_on)


@cache
def boxes() -> tuple[Box, ...]:
    """Return all boxes, numbered in the order of their lots."""
    found: list[Box] = []
    for street, house, size, year, keeper in _lots():
        building = town().building(street, house)
        rng = stream("lot", street, house)
        day = _fixing_day(year, rng)
        share = (street, house) == ("Market Place", "1") or rng.random() < 0.2
        calls = rng.random() < 0.4
        facing = rng.choice(("N", "NE", "E", "NW", "W", "N", "E"))
        height = round(rng.uniform(4.6, 7.5) if len(house) < 4 else rng.uniform(6, 14), 1)
        for _ in range(size):
            number = len(found) + 1
            found.append(
                _box(
                    f"B{number:03d}",
                    building,
                    keeper,
                    day,
                    rng,
                    size=size,
                    share=share,
                    calls=calls,
                    facing=facing,
                    height_m=height,
                )
            )
    return tuple(found)


def _lots() -> list[tuple[str, str, int, int, str]]:
    """Lots on known buildings, then on houses nearer and farther from colonies."""
    lots = list(LOTS)
    rng = stream("lots")
    nesting = {site.building.address for site in nest_sites()}
    used = {(street, house) for street, house, *_ in lots}
    left = TOTAL - sum(size for _, _, size, *_ in lots)
    while left:
        size = min(left, rng.choice((1, 1, 2, 2, 3, 3, 4, 5)))
        if rng.random() < 0.68:
            street, fraction, _ = rng.choice(SWIFT_COLONIES)
            spot = town().streets[street].interpolate(fraction, normalized=True)
            reach = rng.uniform(10, 260)
            turn = rng.uniform(0, 2 * math.pi)
            x, y = spot.x + reach * math.cos(turn), spot.y + reach * math.sin(turn)
            building = town().nearest(x, y)[0]
        else:
            building = rng.choice(town().buildings)
        if building.address in used | nesting or building.house.startswith("Flat"):
            continue
        used.add(building.address)
        keeper = rng.choices(("tindersole", "teldane", "lorrimarsh"), weights=(62, 24, 14))[0]
        first = {"tindersole": 2018, "teldane": 2022, "lorrimarsh": 2020}[keeper]
        weights = [1 + 0.5 * (year - first) for year in range(first, 2027)]
        year = rng.choices(range(first, 2027), weights=weights)[0]
        lots.append((building.street, building.house, size, year, keeper))
        left -= size
    return sorted(lots, key=lambda lot: (lot[3], lot[0], lot[1]))


def _fixing_day(year: int, rng: random.Random) -> dt.date:
    """Winter or early spring, now and then too late for the season."""
    if year == LAST_DAY.year or rng.random() < 0.45:
        day = dt.date(year, 10, 3) + dt.timedelta(days=rng.randrange(42))
        if rng.random() < 0.8 or year == 2018:
            return min(day, LAST_DAY)
    if rng.random() < 0.1:
        return dt.date(year, 6, 5) + dt.timedelta(days=rng.randrange(20))
    return dt.date(max(year, SEASONS[0]), 2, 10) + dt.timedelta(days=rng.randrange(68))


def _box(
    box_id: str,
    building: Building,
    keeper: str,
    day: dt.date,
    rng: random.Random,
    *,
    size: int,
    share: bool,
    calls: bool,
    facing: str,
    height_m: float,
) -> Box:
    kind, cavities, entrance, price = rng.choices(KINDS, weights=(5, 2, 3, 1))[0]
    removed = None
    if rng.random() < 0.05 and day.year < 2024:
        removed = dt.date(day.year + rng.choice((2, 3)), 10, rng.randrange(1, 28))
    first_call = day.year if day < dt.date(day.year, 5, 1) else day.year + 1
    return Box(
        id=box_id,
        building=building,
        keeper=keeper,
        kind=kind,
        cavities=cavities,
        fixed_on=day,
        removed_on=removed,
        height_m=height_m,
        facing=facing,
        entrance_mm=entrance,
        clear_drop_m=round(max(3.0, height_m - rng.uniform(0.2, 1.2)), 1),
        calls=(dt.date(first_call, 5, 6), dt.date(first_call, 7, 28))
        if calls and first_call <= SEASONS[-1]
        else None,
        share=share,
        paid_by=rng.choice(("group", "group", "householder", "town council grant")),
        cost=price,
        occupant=_life(building, day, removed, cavities, rng, size=size),
    )


def _life(
    building: Building,
    day: dt.date,
    removed: dt.date | None,
    cavities: int,
    rng: random.Random,
    *,
    size: int,
) -> dict[tuple[int, int], str]:
    """Who lived in each hole, each season the box hung through.

    Uptake falls with the distance to nests in use and rises with the boxes beside it;
    a hole once used is mostly used again.
    """
    first = day.year if day < dt.date(day.year, 5, 15) else day.year + 1
    last = SEASONS[-1] if removed is None else removed.year
    life: dict[tuple[int, int], str] = {}
    for hole in range(1, cavities + 1):
        before = "empty"
        for season in range(max(first, SEASONS[0]), last + 1):
            if before == "empty" or rng.random() > (0.9 if before == "swift" else 0.6):
                before = _newcomer(building, season, season - first, rng, size=size)
            life[hole, season] = before
    return life


def _newcomer(building: Building, season: int, age: int, rng: random.Random, *, size: int) -> str:
    distance = distance_to_active_m(*building.xy, "swift", season)
    chance = (0.05 + 0.24 * math.exp(-distance / 130)) * (0.7 + 0.15 * size)
    draw = rng.random()
    if draw < chance * (0.35 if age == 0 else 1.0):
        return "swift"
    draw -= chance
    for species, share in TAKEOVERS:
        if 0 <= draw < share:
            return species
        draw -= share
    return "empty"
