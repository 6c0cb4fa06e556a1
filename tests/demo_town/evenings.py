"""The true evenings: screaming parties, each seen by one or several members."""

from __future__ import annotations

import datetime as dt
import math
import random
from dataclasses import dataclass
from functools import cache

from demo_town.dusk import sunset_minute
from demo_town.entries import SEASONS, Entry, Spot
from demo_town.geography import town
from demo_town.nests import nest_sites
from demo_town.roster import BY_KEY, MEMBERS, Member
from demo_town.streams import stream

PARTIES = dict(zip(SEASONS, (45, 48, 62, 74, 84, 92, 100, 108), strict=True))
"""How many parties were noticed each season."""
WHEN = (("05-12", "05-31", 1), ("06-01", "06-14", 3), ("06-15", "07-18", 12), ("07-19", "08-04", 4))
"""First and last day of a span, and its weight: the peak is from mid June to mid July."""
APART_MINUTES, APART_M = 45, 900.0
"""Two parties of an evening are at least so far apart, in time or in space."""
CLOCK_ERROR_MINUTES = 4
STANDING_OFF_M = 45.0
"""An observer's place is at most so far from the party."""
MEMBERS_REACH_M = 450.0


@dataclass(frozen=True)
class Party:
    """One screaming party as it really flew."""

    id: str
    day: dt.date
    minute: int
    x: float
    y: float
    birds: int
    observers: tuple[str, ...]
    """Keys of the members who wrote it down."""


def home(member: Member) -> tuple[float, float]:
    """Return the middle of the street a member lives in."""
    spot = town().streets[member.home].interpolate(0.5, normalized=True)
    return (spot.x, spot.y)


def random_day(season: int, rng: random.Random) -> dt.date:
    """Return a day of the season, most likely in early summer."""
    first, last, _ = rng.choices(WHEN, weights=[weight for *_, weight in WHEN])[0]
    begin = dt.date.fromisoformat(f"{season}-{first}")
    days = (dt.date.fromisoformat(f"{season}-{last}") - begin).days
    return begin + dt.timedelta(days=rng.randint(0, days))


def random_minute(day: dt.date, rng: random.Random) -> int:
    """Return a time of day: mostly the last hours before dark, sometimes early morning."""
    if rng.random() < 0.1:
        return rng.randint(5 * 60, 8 * 60)
    return sunset_minute(day) - round(min(200.0, abs(rng.gauss(35, 35))))


@cache
def parties() -> tuple[Party, ...]:
    """Return every party of every season, in order of time."""
    found: list[Party] = []
    for season, count in PARTIES.items():
        rng = stream("parties", season)
        this_season: list[Party] = []
        while len(this_season) < count:
            party = _party(season, rng)
            if party.observers and all(_apart(party, other) for other in this_season):
                this_season.append(party)
        found += this_season
    ordered = sorted(found, key=lambda p: (p.day, p.minute, p.x))
    return tuple(
        Party(f"party-{number:04d}", p.day, p.minute, p.x, p.y, p.birds, p.observers)
        for number, p in enumerate(ordered, start=1)
    )


def _apart(one: Party, other: Party) -> bool:
    return (
        one.day != other.day
        or abs(one.minute - other.minute) >= APART_MINUTES
        or math.hypot(one.x - other.x, one.y - other.y) >= APART_M
    )


def _party(season: int, rng: random.Random) -> Party:
    colonies = [s for s in nest_sites() if s.species == "swift" and s.active(season)]
    site = rng.choices(colonies, weights=[s.nests[season] for s in colonies])[0]
    x = site.building.easting + rng.gauss(0, 60)
    y = site.building.northing + rng.gauss(0, 60)
    day = random_day(season, rng)
    growth = 1 + 0.07 * (season - SEASONS[0])
    birds = 2 + min(40, round(rng.gammavariate(2.2, 2.4 * growth)))
    return Party(
        "",
        day,
        random_minute(day, rng),
        round(x, 1),
        round(y, 1),
        birds,
        _observers(x, y, season, rng),
    )


def _observers(x: float, y: float, season: int, rng: random.Random) -> tuple[str, ...]:
    """Members who happened to be near: the nearer they live, the likelier."""
    chosen: list[str] = []
    for member in MEMBERS:
        if not member.active(season):
            continue
        hx, hy = home(member)
        distance = math.hypot(hx - x, hy - y)
        if rng.random() < member.share * (
            0.03 + 0.36 * math.exp(-((distance / MEMBERS_REACH_M) ** 2))
        ):
            chosen.append(member.key)
    rng.shuffle(chosen)
    return tuple(chosen[:5])


def party_entries() -> list[Entry]:
    """Return what the members wrote of the parties."""
    entries = []
    for party in parties():
        for key in party.observers:
            rng = stream("seen", party.id, key)
            entries.append(_seen(party, BY_KEY[key], rng))
    return entries


def _seen(party: Party, member: Member, rng: random.Random) -> Entry:
    turn, reach = rng.uniform(0, 2 * math.pi), min(STANDING_OFF_M, abs(rng.gauss(0, 25)))
    x, y = party.x + reach * math.cos(turn), party.y + reach * math.sin(turn)
    error = max(-CLOCK_ERROR_MINUTES, min(CLOCK_ERROR_MINUTES, round(rng.gauss(0, 1.8))))
    birds = max(2, party.birds + round(rng.gauss(0, 0.07 * party.birds)))
    return Entry(
        folder="sightings",
        writer=member.key,
        source=party.id,
        values={
            "date": party.day,
            "time": party.minute + error,
            "place": Spot(x, y, town().nearest(x, y)[0]),
            "species": "swift",
            "behaviour": "screaming party",
            "birds": birds,
            "seen_by": member.name,
            "notes": rng.choice(REMARKS) if rng.random() < 0.12 else None,
        },
    )


REMARKS = (
    "lovely still evening",
    "came round three times",
    "right over the chimneys",
    "very noisy!",
    "seen from the back garden",
    "just before the rain",
    "split in two, then joined again",
    "one with a pale chin, close to",
    "while putting the bins out",
)
