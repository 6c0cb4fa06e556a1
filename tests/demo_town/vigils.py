"""The true watches: who watched which streets when, and what they saw."""

from __future__ import annotations

import datetime as dt
import math
import random
from dataclasses import dataclass
from functools import cache

import shapely

from demo_town.dusk import sunset_minute
from demo_town.encounters import writer
from demo_town.entries import SEASONS, Entry, Spot, Value
from demo_town.evenings import APART_M, APART_MINUTES, parties
from demo_town.geography import Building, town
from demo_town.nests import SWIFT_COLONIES, nest_sites
from demo_town.roster import BY_KEY, MEMBERS, Member
from demo_town.streams import stream

WATCHES = dict(zip(SEASONS, (12, 16, 18, 22, 26, 30, 36, 40), strict=True))
WET = ("rain", "heavy showers", "drizzle", "thunderstorm")
DRY = ("clear", "sunny", "dry, some cloud", "overcast, dry", "fine", "warm and still")
EARSHOT_M = 90.0


@dataclass(frozen=True)
class Watch:
    """One evening's or morning's watching."""

    id: str
    writer: str
    day: dt.date
    start: int
    end: int
    streets: tuple[str, ...]
    building: Building | None
    weather: str
    wind_bft: int
    temp_c: int
    most_birds: int
    calls: bool

    @property
    def wet(self) -> bool:
        """Whether rain spoilt it."""
        return self.weather in WET


@cache
def watches() -> tuple[Watch, ...]:
    """Return all watches in order of time."""
    found: list[Watch] = []
    for season, count in WATCHES.items():
        rng = stream("watches", season)
        found += [
            _watch(f"W{season % 100}-{number:02d}", season, rng) for number in range(1, count + 1)
        ]
    return tuple(found)


def _watch(watch_id: str, season: int, rng: random.Random) -> Watch:
    member = writer(season, "watches", rng)
    day = dt.date(season, 5, 24) + dt.timedelta(days=rng.randrange(56))
    morning = rng.random() < 0.08
    length = rng.choice((60, 60, 75, 90, 90, 105, 120))
    end = (
        7 * 60 + rng.choice((0, 15, 30))
        if morning
        else _to_five(sunset_minute(day) + rng.randint(-5, 20))
    )
    wet = rng.random() < 0.11
    streets, building = _where(member, rng)
    birds = 0 if wet and rng.random() < 0.8 else _birds(streets, building, season, rng)
    return Watch(
        id=watch_id,
        writer=member.key,
        day=day,
        start=end - length,
        end=end,
        streets=streets,
        building=building,
        weather=rng.choice(WET if wet else DRY),
        wind_bft=rng.choice((4, 5, 6)) if wet else rng.choice((0, 1, 1, 2, 2, 3, 4)),
        temp_c=rng.randint(8, 13) if wet else rng.randint(14, 25),
        most_birds=birds,
        calls=rng.random() < 0.1,
    )


def _to_five(minute: int) -> int:
    return 5 * round(minute / 5)


def _where(member: Member, rng: random.Random) -> tuple[tuple[str, ...], Building | None]:
    """One or two streets that meet, or one building."""
    columns = member.headings["watches"]
    if "grid_ref" in columns and rng.random() < 0.3:
        return (), rng.choice([site.building for site in nest_sites()])
    names = [name for name, kind in town().kinds.items() if kind != "lane"]
    colonies = [street for street, *_ in SWIFT_COLONIES]
    first = rng.choice(colonies if rng.random() < 0.4 else names)
    line = town().streets[first]
    meeting = sorted(
        n for n in names if n != first and shapely.intersects(line, town().streets[n].buffer(1))
    )
    if meeting and rng.random() < 0.35:
        return (first, rng.choice(meeting)), None
    return (first,), None


def _birds(
    streets: tuple[str, ...], building: Building | None, season: int, rng: random.Random
) -> int:
    """Most birds at once: about twice the nests within earshot, and a few more late on."""
    nests = 0
    for site in nest_sites():
        if site.species == "swift" and site.active(season):
            point = shapely.Point(site.building.xy)
            away = min((town().streets[name].distance(point) for name in streets), default=math.inf)
            if building is not None:
                away = math.hypot(building.easting - point.x, building.northing - point.y)
            nests += site.nests[season] if away < EARSHOT_M else 0
    if not nests:
        return rng.choice((0, 0, 0, 0, 0, 0, 1, 2))
    return max(0, round(rng.gauss(1.6 * nests, 2.5)))


def watch_entries() -> list[Entry]:
    """Return what was written of the watches, and of parties that only the watchers saw."""
    entries: list[Entry] = []
    for watch in watches():
        rng = stream("watch", watch.id)
        member = BY_KEY[watch.writer]
        entries.append(_watch_entry(watch, member, rng))
        if watch.most_birds >= 3 and "watch" in member.headings["sightings"]:
            seen = _seen_on(watch, member, rng)
            if _nobody_else_saw(seen):
                entries.append(seen)
    return entries


def _nobody_else_saw(seen: Entry) -> bool:
    """Return whether every other party of that day was far away, in time or in space."""
    minute, spot = seen.values["time"], seen.values["place"]
    return (
        isinstance(minute, int)
        and isinstance(spot, Spot)
        and all(
            abs(party.minute - minute) >= APART_MINUTES
            or math.hypot(party.x - spot.x, party.y - spot.y) >= APART_M
            for party in parties()
            if party.day == seen.day
        )
    )


def _watch_entry(watch: Watch, member: Member, rng: random.Random) -> Entry:
    company = [m.name for m in MEMBERS if m.active(watch.day.year) and m is not member]
    names = [member.name]
    if rng.random() < 0.35:
        names.append(rng.choice(company))
    spoken = rng.random() < 0.7
    values: dict[str, Value] = {
        "watch": watch.id,
        "date": watch.day,
        "start": watch.start,
        "end": watch.end,
        "watchers": " and ".join(names),
        "streets": "; ".join(watch.streets) or None,
        "elevation": rng.choice(("front", "back", "north", "east")) if watch.building else None,
        "weather": watch.weather,
        "wind_bft": watch.wind_bft,
        "temp_c": watch.temp_c,
        "most_birds": watch.most_birds,
        "calls_playing": "yes" if watch.calls else ("no" if spoken else None),
        "notes": "nothing seen" if not watch.most_birds and rng.random() < 0.5 else None,
    }
    if watch.building:
        values["place"] = Spot(*watch.building.xy, watch.building, exact=False)
    return Entry("watches", member.key, f"watch-{watch.id}", values)


def _seen_on(watch: Watch, member: Member, rng: random.Random) -> Entry:
    if watch.building:
        x, y = watch.building.xy
    else:
        spot = town().streets[watch.streets[0]].interpolate(rng.uniform(0.2, 0.8), normalized=True)
        x, y = spot.x, spot.y
    values: dict[str, Value] = {
        "date": watch.day,
        "time": watch.end - rng.randint(10, 40),
        "place": Spot(x, y, town().nearest(x, y)[0]),
        "species": "swift",
        "behaviour": "screaming party",
        "birds": watch.most_birds,
        "seen_by": member.name,
        "watch": watch.id,
        "calls_playing": "yes" if watch.calls else None,
    }
    return Entry("sightings", member.key, f"watch-party-{watch.id}", values)
