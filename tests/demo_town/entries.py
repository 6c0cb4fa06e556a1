"""What a member writes down: one entry for each row, before habits shape it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from demo_town.geography import Building

SEASONS = tuple(range(2019, 2027))
LAST_DAY = dt.date(2026, 11, 14)
"""The newest record."""


@dataclass(frozen=True)
class Spot:
    """A place as the writer knows it."""

    x: float
    y: float
    building: Building | None = None
    exact: bool = False
    """Written as precisely as the writer ever does."""


Value = str | int | float | dt.date | Spot | None


@dataclass(frozen=True)
class Entry:
    """One row.

    Parameters
    ----------
    folder
        The kind of record: the folder's name.
    writer
        The member in whose file it stands.
    source
        What in the invented world it tells of, such as ``party-0012`` or ``nest-S07``.
    values
        Canonical column to value; a `Spot` stands under ``place``.
    raw
        Cells written exactly so, whatever the writer's habits.
    fault
        Why the row can't be used, or None.
    copy_of
        The number of the entry that this one repeats, if it was sent twice.
    """

    folder: str
    writer: str
    source: str
    values: Mapping[str, Value]
    raw: Mapping[str, str] = field(default_factory=dict)
    fault: str | None = None
    copy_of: int | None = None
    number: int = -1
    """Given when all entries are laid side by side."""

    @property
    def day(self) -> dt.date:
        """The day it sorts by; undated rows sort by their season's end."""
        for name in ("date", "fixed_on", "asked_on", "offered_on"):
            value = self.values.get(name)
            if isinstance(value, dt.date):
                return value
        season = self.values.get("season")
        return dt.date(season if isinstance(season, int) else SEASONS[0], 9, 30)
