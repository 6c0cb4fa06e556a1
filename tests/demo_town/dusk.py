"""Sunset over Ottersley, in minutes of local time."""

from __future__ import annotations

import datetime as dt
from functools import cache
from zoneinfo import ZoneInfo

from astral import Observer
from astral.sun import sunset

_HERE = Observer(latitude=52.8096, longitude=1.7081)
_LONDON = ZoneInfo("Europe/London")


@cache
def sunset_minute(day: dt.date) -> int:
    """Return the minute after local midnight at which the sun sets."""
    at = sunset(_HERE, day, tzinfo=_LONDON)
    return at.hour * 60 + at.minute
