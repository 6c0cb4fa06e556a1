"""The evenings to watch in the coming season, with sunset at the town's centre.

Nothing depends on the day of the build: the evenings to come are those after the newest record.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from eaveline.geodesy import to_wgs84
from eaveline.sun import sunset_on

if TYPE_CHECKING:
    from eaveline.public.records import PublicRelease

FIRST, LAST = (5, 22), (7, 20)
"""Month and day between which swifts are at home and show it (common practice, no source)."""
_SATURDAY = 5
_BEFORE_MINUTES, _AFTER_MINUTES = 90, 30
"""From an hour and a half before sunset until dusk: screaming parties come in the hours before
dark, and most swifts go in to roost about then (common practice, no source)."""
_ROUND_TO_MINUTES = 5


@dataclass(frozen=True, slots=True)
class Evening:
    """One evening to watch, by the clocks of that day."""

    begin: dt.datetime
    sunset: dt.datetime
    end: dt.datetime


def watch_evenings(
    release: PublicRelease, *, centre_m: tuple[float, float], own: Sequence[dt.date] = ()
) -> tuple[Evening, ...]:
    """Return the evenings to watch, in order.

    Parameters
    ----------
    release
        Its newest record says which season is to come.
    centre_m
        Easting and northing of the town's centre, in the release's system.
    own
        The group's own dates. Those after the newest record count; where there is none, every
        Saturday left of the season is proposed.
    """
    ((longitude, latitude),) = to_wgs84(np.array([centre_m]), crs=release.crs)
    days = sorted({day for day in own if day > release.made_on}) or _saturdays(release.made_on)
    downs = (sunset_on(day, latitude=float(latitude), longitude=float(longitude)) for day in days)
    return tuple(_evening(down.replace(microsecond=0)) for down in downs)


def _saturdays(newest: dt.date) -> list[dt.date]:
    """Return the Saturdays left of the season after a day, or else those of the next one."""
    for year in (newest.year, newest.year + 1):
        first, last = dt.date(year, *FIRST), dt.date(year, *LAST)
        days = (first + dt.timedelta(days) for days in range((last - first).days + 1))
        left = [day for day in days if day.weekday() == _SATURDAY and day > newest]
        if left:
            return left
    return []


def _evening(down: dt.datetime) -> Evening:
    return Evening(
        begin=_rounded(down - dt.timedelta(minutes=_BEFORE_MINUTES)),
        sunset=down,
        end=_rounded(down + dt.timedelta(minutes=_AFTER_MINUTES)),
    )


def _rounded(time: dt.datetime) -> dt.datetime:
    minutes = round((time.minute + time.second / 60) / _ROUND_TO_MINUTES) * _ROUND_TO_MINUTES
    return time.replace(minute=0, second=0) + dt.timedelta(minutes=minutes)
