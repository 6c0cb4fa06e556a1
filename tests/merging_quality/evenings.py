"""Draws evenings of watching with the truth: which reports are of one and the same party.

Seeded: the same arguments give the same evenings on every machine. Numbers are common
practice without a source, unless one is named. What makes merging hard is all there: several
observers of one party, parties that pass each other, a party that comes round again, places
of different precision, clocks that go wrong, times rounded to five minutes, wrong dates.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Mix:
    """How the evenings are; the defaults are the standard mix."""

    evenings: int = 40
    parties: int = 24
    """Each evening, over the whole town."""
    side_m: float = 2_500.0
    """Of the square town."""
    first_minute: int = 20 * 60
    minutes: int = 110
    observers: tuple[float, ...] = (0.5, 0.28, 0.14, 0.08)
    """Shares of parties reported by one, two, three, four people."""
    people: int = 40
    spread_m: float = 30.0
    """Standard deviation of where an observer puts the party, in each direction."""
    clock_minutes: float = 1.0
    """Standard deviation of observers' clocks."""
    rounders: float = 0.25
    """Share of people who round times to five minutes."""
    count_spread: float = 0.25
    """Standard deviation of the logarithm of a count against the truth."""
    crossing: float = 0.12
    """Share of parties that another passes, seen by the same people."""
    coming_round: float = 0.25
    """Share of parties that come round again, 9 to 18 minutes later."""
    wrong_hour: float = 0.005
    wrong_date: float = 0.005
    precision_m: tuple[float, ...] = (10.0, 100.0, 1_000.0)
    precision_share: tuple[float, ...] = (0.72, 0.27, 0.01)


STANDARD = Mix()
DENSE = Mix(parties=80, coming_round=0.4)
CARELESS = Mix(spread_m=60.0, clock_minutes=2.5, rounders=0.6, wrong_hour=0.02, wrong_date=0.02)
MIXES = {"standard": STANDARD, "dense": DENSE, "careless": CARELESS}


def draw(mix: Mix, *, seed: int) -> tuple[pd.DataFrame, Ints]:
    """Return reports as usable rows of sightings/, and the number of each one's party."""
    rng = np.random.default_rng(seed)
    parties = _parties(rng, mix)
    heads = rng.choice(np.arange(1, 5), size=len(parties), p=mix.observers)
    # Those who see a party also see the one that crosses it, and the same one come round.
    heads = heads[parties["of"].to_numpy()]
    party = np.repeat(np.arange(len(parties)), heads)
    place_in = np.arange(len(party)) - np.repeat(np.cumsum(heads) - heads, heads)
    first_person = rng.integers(0, mix.people, len(parties))[parties["of"].to_numpy()]
    person = (first_person[party] + 7 * place_in) % mix.people
    rounds_times = rng.random(mix.people) < mix.rounders
    count = len(party)
    seen = parties.take(party)
    east, north = (
        seen[name].to_numpy() + rng.normal(0, mix.spread_m, count) for name in ("east", "north")
    )
    minute = np.round(seen["minute"].to_numpy() + rng.normal(0, mix.clock_minutes, count))
    minute = np.where(rounds_times[person], np.round(minute / 5) * 5, minute)
    minute += 60 * (rng.random(count) < mix.wrong_hour)
    day = seen["day"].to_numpy() + (rng.random(count) < mix.wrong_date)
    side = rng.choice(mix.precision_m, size=count, p=mix.precision_share)
    table = pd.DataFrame(
        {
            "key": rng.permutation(np.arange(1, count + 1, dtype=np.uint64) * np.uint64(2**40 + 7)),
            "date": np.datetime64("2026-05-10") + day.astype("timedelta64[D]"),
            "time": minute,
            "species": pd.Categorical(["swift"] * count, categories=["swift", "house martin"]),
            "behaviour": pd.Categorical(["screaming party"] * count),
            "birds": np.maximum(
                1, np.round(seen["birds"].to_numpy() * rng.lognormal(0, mix.count_spread, count))
            ),
            "seen_by": pd.Categorical([f"Recorder {number}" for number in person]),
            # A grid reference names the square the place is in: its centre, half its diagonal.
            "easting": np.floor(east / side) * side + side / 2,
            "northing": np.floor(north / side) * side + side / 2,
            "uncertainty_m": side * np.sqrt(0.5),
            "method": pd.Categorical(["grid reference"] * count),
            "calls_playing": pd.Categorical([None] * count, categories=["yes", "no"]),
            "notes": pd.Categorical([None] * count, categories=[]),
        }
    )
    return table, party.astype(np.int64)


def _parties(rng: np.random.Generator, mix: Mix) -> pd.DataFrame:
    """Return the parties that pass: day, minute, east, north, birds, of (the first of its kind)."""
    count = mix.evenings * mix.parties
    base = pd.DataFrame(
        {
            "day": np.repeat(np.arange(mix.evenings), mix.parties),
            "minute": rng.uniform(mix.first_minute, mix.first_minute + mix.minutes, count),
            "east": 648_500 + rng.uniform(0, mix.side_m, count),
            "north": 328_500 + rng.uniform(0, mix.side_m, count),
            "birds": rng.geometric(0.15, count) + 1,
            "of": np.arange(count),
        }
    )
    others = base[rng.random(count) < mix.crossing]
    bearing = rng.uniform(0, 2 * np.pi, len(others))
    apart = rng.uniform(120, 300, len(others))
    crossing = others.assign(
        minute=others["minute"] + rng.choice([-1, 1], len(others)) * rng.uniform(2, 6, len(others)),
        east=others["east"] + apart * np.cos(bearing),
        north=others["north"] + apart * np.sin(bearing),
        birds=rng.geometric(0.15, len(others)) + 1,
    )
    again = base[rng.random(count) < mix.coming_round]
    round_again = again.assign(minute=again["minute"] + rng.uniform(9, 18, len(again)))
    return pd.concat([base, crossing, round_again], ignore_index=True)
