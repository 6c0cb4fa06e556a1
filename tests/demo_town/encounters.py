"""The true encounters other than parties: single birds, flocks overhead, birds at nests."""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Iterable
from functools import cache

from demo_town.boxes import boxes
from demo_town.entries import SEASONS, Entry, Spot, Value
from demo_town.evenings import random_day, random_minute
from demo_town.geography import Building, town
from demo_town.nests import NestSite, nest_sites
from demo_town.roster import MEMBERS, Member
from demo_town.streams import stream

GROWTH = dict(zip(SEASONS, (0.55, 0.6, 0.8, 0.95, 1.1, 1.2, 1.35, 1.45), strict=True))
"""How busy each season was, against the usual."""

SWIFTS_IN_THE_AIR = (
    ("low over roofs", 21.0, (1, 8)),
    ("high overhead", 15.0, (2, 45)),
    ("pair circling", 6.0, (2, 2)),
)
"""Behaviour, how many records in a usual season, fewest and most birds."""
MARTINS_IN_THE_AIR = (("low over roofs", 5.0, (1, 12)), ("high overhead", 4.0, (3, 40)))
AT_A_NEST: dict[str, tuple[tuple[str, float], ...]] = {
    "swift": (
        ("entering or leaving a nest", 11.0),
        ("visiting wall or eaves", 9.0),
        ("carrying material", 1.6),
        ("droppings or food carried", 1.5),
        ("young", 1.6),
    ),
    "house martin": (
        ("entering or leaving a nest", 6.0),
        ("carrying material", 3.0),
        ("droppings or food carried", 3.0),
        ("young", 3.0),
    ),
}
PROSPECTING = 4.0
"""Swifts at walls where nobody knows of a nest, in a usual season."""
AT_BOXES = 3.0
FIRST_AND_LAST = {"swift": ("05-01", "08-19"), "house martin": ("04-14", "09-28")}
EDGE_RECORDS = 3
"""Early arrivals and late stragglers noted for each species and season."""


@cache
def encounter_entries() -> tuple[Entry, ...]:
    """Return every record that isn't of a party."""
    entries: list[Entry] = []
    for season in SEASONS:
        rng = stream("encounters", season)
        for builder in (_in_the_air, _at_nests, _elsewhere, _first_and_last):
            entries += builder(season, rng)
    return tuple(
        Entry(e.folder, e.writer, f"encounter-{number:04d}" if not e.source else e.source, e.values)
        for number, e in enumerate(entries, start=1)
    )


def _times(usual: float, season: int) -> int:
    return round(usual * GROWTH[season])


def writer(season: int, folder: str, rng: random.Random) -> Member:
    """Return a member of that season who keeps such records."""
    able = [m for m in MEMBERS if m.active(season) and folder in m.headings]
    return rng.choices(able, weights=[m.share for m in able])[0]


def _entry(
    day: dt.date,
    minute: int,
    spot: Spot,
    rng: random.Random,
    *,
    species: str,
    behaviour: str,
    birds: int,
    source: str = "",
    notes: str | None = None,
) -> Entry:
    member = writer(day.year, "sightings", rng)
    values: dict[str, Value] = {
        "date": day,
        "time": minute,
        "place": spot,
        "species": species,
        "behaviour": behaviour,
        "birds": birds,
        "seen_by": member.name,
        "notes": notes,
    }
    if "calls_playing" in member.headings["sightings"] and rng.random() < 0.3:
        values["calls_playing"] = rng.choice(("no", "no", "no", "yes"))
    return Entry("sightings", member.key, source, values)


def _somewhere(rng: random.Random) -> Spot:
    """Return a place over the town, more often where people live close together."""
    building = rng.choice(town().buildings)
    x, y = building.easting + rng.gauss(0, 30), building.northing + rng.gauss(0, 30)
    return Spot(x, y, building)


def _in_the_air(season: int, rng: random.Random) -> Iterable[Entry]:
    for species, table in (("swift", SWIFTS_IN_THE_AIR), ("house martin", MARTINS_IN_THE_AIR)):
        for behaviour, usual, (fewest, most) in table:
            for _ in range(_times(usual, season)):
                day = random_day(season, rng)
                minute = (
                    rng.randint(9 * 60, 17 * 60) if "high" in behaviour else random_minute(day, rng)
                )
                birds = min(most, fewest + round(rng.expovariate(3 / max(1, most - fewest))))
                yield _entry(
                    day,
                    minute,
                    _somewhere(rng),
                    rng,
                    species=species,
                    behaviour=behaviour,
                    birds=birds,
                )


def _at(building: Building, rng: random.Random) -> Spot:
    return Spot(
        building.easting + rng.uniform(-2, 2),
        building.northing + rng.uniform(-2, 2),
        building,
        exact=True,
    )


def _at_nests(season: int, rng: random.Random) -> Iterable[Entry]:
    for species, table in AT_A_NEST.items():
        sites = [s for s in nest_sites() if s.species == species and s.active(season)]
        for behaviour, usual in table:
            for _ in range(_times(usual, season)):
                yield _at_nest(rng.choice(sites), behaviour, season, rng)


def _at_nest(site: NestSite, behaviour: str, season: int, rng: random.Random) -> Entry:
    day = random_day(season, rng)
    if behaviour == "young":
        day = dt.date(season, 7, 1) + dt.timedelta(days=rng.randrange(30))
    if behaviour == "carrying material":
        day = dt.date(season, 5, 14) + dt.timedelta(days=rng.randrange(40))
    return _entry(
        day,
        random_minute(day, rng),
        _at(site.building, rng),
        rng,
        species=site.species,
        behaviour=behaviour,
        birds=rng.choice((1, 1, 1, 2)),
        source=f"nest-{site.id}",
        notes=site.position if rng.random() < 0.3 else None,
    )


def _elsewhere(season: int, rng: random.Random) -> Iterable[Entry]:
    """Swifts looking for a place: at walls without a nest, and at boxes."""
    known = {site.building.address for site in nest_sites()}
    colonies = [s for s in nest_sites() if s.species == "swift" and s.active(season)]
    for _ in range(_times(PROSPECTING, season)):
        near = rng.choice(colonies).building
        free = [b for b in town().nearest(*near.xy, many=25) if b.address not in known]
        day = dt.date(season, 6, 10) + dt.timedelta(days=rng.randrange(38))
        yield _entry(
            day,
            random_minute(day, rng),
            _at(rng.choice(free), rng),
            rng,
            species="swift",
            behaviour="visiting wall or eaves",
            birds=rng.choice((1, 2, 2, 3)),
        )
    used = [
        b
        for b in boxes()
        if any(year == season and who == "swift" for (_, year), who in b.occupant.items())
    ]
    for _ in range(_times(AT_BOXES, season) if used else 0):
        box = rng.choice(used)
        day = random_day(season, rng)
        yield _entry(
            day,
            random_minute(day, rng),
            _at(box.building, rng),
            rng,
            species="swift",
            behaviour="entering or leaving a nest",
            birds=1,
            source=f"box-{box.id}",
            notes=f"box {box.id}",
        )


def _first_and_last(season: int, rng: random.Random) -> Iterable[Entry]:
    for species, (first, last) in FIRST_AND_LAST.items():
        shift = rng.randint(-2, 4)
        start = dt.date.fromisoformat(f"{season}-{first}") + dt.timedelta(days=shift)
        end = dt.date.fromisoformat(f"{season}-{last}") + dt.timedelta(days=shift - 2)
        for number in range(EDGE_RECORDS):
            gap = 0 if number == 0 else rng.randint(1, 7)
            for day, notes in (
                (start + dt.timedelta(days=gap), "first of the year" if not gap else None),
                (end - dt.timedelta(days=gap), None),
            ):
                yield _entry(
                    day,
                    rng.randint(8 * 60, 19 * 60),
                    _somewhere(rng),
                    rng,
                    species=species,
                    behaviour="high overhead",
                    birds=rng.choice((1, 1, 2, 3, 5)),
                    notes=notes,
                )
