"""Streets that nobody has watched enough, and the watches that would settle them.

A street without watching is not a street without swifts. For each, this works out how many
more watches without a sign would leave a chance of at most one in twenty that swifts are
there after all:

    prior * miss ** n / (prior * miss ** n + 1 - prior) <= 1 / 20

where `prior` is the share of watched streets that turned out to have swifts, and `miss` the
chance that one good hour at one stretch of street misses them: one half (common practice:
two or three visits are asked for, no source for the number).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from eaveline.private.intake.crossref import StreetFinder, streets_named
from eaveline.private.offers.activity import pull
from eaveline.private.register import SunTimes

MISS = 0.5
DOUBT = 0.05
WATCH_MINUTES = 60.0
"""Valid minutes that make one watch."""
STRETCH_M = 150.0
"""What one person can see of a street; a longer one takes more watches."""
RECENT_SEASONS = 3
NEAR_STREET_M = 60.0
"""Evidence this near to a street's line is evidence in the street."""
BEFORE_SUNSET_MINUTES = 90
FIRST_DAY, LAST_DAY = (5, 25), (7, 12)
DAYS_APART = 7
"""A street is watched again at the earliest a week later (common practice)."""
ROUTE_M = 400.0
"""Streets one watch covers lie within this distance of one another."""

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Line:
    """A street: its slug, name and lines, in metres."""

    slug: str
    name: str
    lines: shapely.Geometry


@dataclass(frozen=True)
class Evening:
    """One watch of the rota."""

    date: dt.date
    start_minute: int
    sunset_minute: int
    streets: tuple[str, ...]
    """Names in walking order."""
    turn: int
    """Which visit to these streets it is, from 1."""


def watched_by_street(
    watches: pd.DataFrame, *, find_street: StreetFinder, since: int
) -> dict[str, float]:
    """Return valid minutes by street slug, from a season on; shared among a watch's streets."""
    minutes: dict[str, float] = {}
    counted = watches[(watches["valid_minutes"] > 0) & (watches["season"] >= since)]
    for watch in counted.sort_values("key").itertuples():
        named = (
            streets_named(str(watch.streets), find_street) if isinstance(watch.streets, str) else []
        )
        slugs = sorted({slug for slug in named if slug is not None})
        if not slugs and isinstance(watch.street_slug, str):
            slugs = [watch.street_slug]
        for slug in slugs:
            minutes[slug] = minutes.get(slug, 0.0) + float(str(watch.valid_minutes)) / len(slugs)
    return minutes


def watches_needed(prior: float, *, done: float = 0.0) -> int:
    """Return how many more watches without a sign settle a stretch of street.

    Parameters
    ----------
    prior
        Chance that swifts are there, before any watch.
    done
        Watches without a sign so far; parts count.

    >>> watches_needed(0.3), watches_needed(0.3, done=2.0), watches_needed(0.04)
    (4, 2, 0)
    """
    odds = prior / (1.0 - prior)
    wanted = np.log(odds * (1.0 - DOUBT) / DOUBT) / -np.log(MISS)
    return max(0, int(np.ceil(wanted - done - 1e-9)))


def streets_to_watch(
    streets: list[Line],
    *,
    minutes: Mapping[str, float],
    known: pd.DataFrame,
    premises: pd.DataFrame,
) -> pd.DataFrame:
    """Return the streets that watching has not settled, the most promising first.

    Parameters
    ----------
    streets
        Every street.
    minutes
        Valid minutes of recent watching by slug.
    known
        Evidence with aged weights; see `activity.as_of`.
    premises
        easting, northing.

    Returns
    -------
    pandas.DataFrame
        slug, street, minutes, stretches, watches (still needed, each of an hour), premises
        (near its line), promise (pull at its middle), easting, northing (of its middle).
    """
    columns = ["slug", "street", "minutes", "stretches", "watches", "premises", "promise"]
    if not streets:
        return pd.DataFrame(columns=[*columns, "easting", "northing"])
    shapes = np.array([street.lines for street in streets], dtype=object)
    signs = _near(shapes, known)
    homes = _near(shapes, premises)
    middle = shapely.get_coordinates(
        [shapely.line_interpolate_point(_longest(shape), 0.5, normalized=True) for shape in shapes]
    )
    stretches = np.maximum(1, np.ceil(shapely.length(shapes) / STRETCH_M)).astype(np.int64)
    seen = np.array([minutes.get(street.slug, 0.0) for street in streets])
    done = seen / WATCH_MINUTES / stretches
    looked = done >= 1
    # One more of each, so that a town with no watching starts from one in two.
    prior = (float((looked & (signs > 0)).sum()) + 1.0) / (float(looked.sum()) + 2.0)
    needed = np.array([watches_needed(prior, done=float(each)) for each in done]) * stretches
    table = pd.DataFrame(
        {
            "slug": [street.slug for street in streets],
            "street": [street.name for street in streets],
            "minutes": np.floor(seen).astype(np.int64),
            "stretches": stretches,
            "watches": needed,
            "premises": homes,
            "promise": pull(middle[:, 0], middle[:, 1], known),
            "easting": middle[:, 0],
            "northing": middle[:, 1],
        }
    )
    open_ones = table[(signs == 0) & (needed > 0) & (homes > 0)]
    ranked = open_ones.assign(worth=open_ones["promise"].round(6))
    result: pd.DataFrame = (
        ranked.sort_values(["worth", "premises", "slug"], ascending=[False, False, True])
        .drop(columns="worth")
        .reset_index(drop=True)
    )
    return result


def _longest(shape: shapely.Geometry) -> shapely.LineString:
    parts = shapely.get_parts(shape)
    longest: shapely.LineString = parts[int(np.argmax(shapely.length(parts)))]
    return longest


def _near(shapes: npt.NDArray[np.object_], places: pd.DataFrame) -> npt.NDArray[np.int64]:
    """Return how many places lie near each street."""
    if not len(places):
        return np.zeros(len(shapes), dtype=np.int64)
    points = np.array(
        shapely.points(places[["easting", "northing"]].to_numpy(dtype=np.float64)), dtype=object
    )
    street, _ = shapely.STRtree(points).query(shapes, predicate="dwithin", distance=NEAR_STREET_M)
    return np.bincount(street, minlength=len(shapes)).astype(np.int64)


def routes(to_watch: pd.DataFrame, *, stretches: int = 3) -> list[list[int]]:
    """Return rows of `to_watch` grouped into walks: each starts at the best street left.

    Parameters
    ----------
    to_watch
        See `streets_to_watch`.
    stretches
        How many stretches one evening's watchers cover together.
    """
    left = list(range(len(to_watch)))
    spots = to_watch[["easting", "northing"]].to_numpy(dtype=np.float64)
    size = to_watch["stretches"].to_numpy(dtype=np.int64)
    walks = []
    while left:
        walk = [left.pop(0)]
        length = int(size[walk[0]])
        while left:
            away = np.hypot(*(spots[left] - spots[walk[-1]]).T)
            fits = (away <= ROUTE_M) & (length + size[left] <= stretches)
            if not fits.any():
                break
            nearest = int(np.argmin(np.where(fits, away, np.inf)))
            walk.append(left.pop(nearest))
            length += int(size[walk[-1]])
        walks.append(walk)
    return walks


def rota(
    to_watch: pd.DataFrame, *, year: int, sun_times: SunTimes, evenings_a_week: int
) -> tuple[Evening, ...]:
    """Return the watches of a season, best streets first, as many as the evenings allow.

    Parameters
    ----------
    to_watch
        See `streets_to_watch`.
    year
        The season.
    sun_times
        Sunrise and sunset by date.
    evenings_a_week
        How many evenings the group can go out.
    """
    first, last = dt.date(year, *FIRST_DAY), dt.date(year, *LAST_DAY)
    days = [
        first + dt.timedelta(days=week * 7 + (n * 7) // evenings_a_week)
        for week in range((last - first).days // 7 + 1)
        for n in range(evenings_a_week)
    ]
    days = [day for day in days if day <= last]
    if not days:
        return ()
    _, sunset = sun_times(pd.Series(pd.to_datetime(days)))
    free = list(range(len(days)))
    evenings = []
    for walk in routes(to_watch):
        rows = to_watch.iloc[walk]
        turns = int(np.ceil((rows["watches"] / rows["stretches"]).max()))
        earliest = first
        for turn in range(1, turns + 1):
            spot = next((n for n in free if days[n] >= earliest), None)
            if spot is None:
                break
            free.remove(spot)
            dusk = round(float(sunset[spot]))
            evenings.append(
                Evening(
                    days[spot],
                    (dusk - BEFORE_SUNSET_MINUTES) // 5 * 5,
                    dusk,
                    tuple(str(name) for name in rows["street"]),
                    turn,
                )
            )
            earliest = days[spot] + dt.timedelta(days=DAYS_APART)
    return tuple(sorted(evenings, key=lambda evening: (evening.date, evening.streets)))


def clock(minute: int) -> str:
    """Return a minute of the day as 21:05.

    >>> clock(1265)
    '21:05'
    """
    return f"{minute // 60:02d}:{minute % 60:02d}"
