"""Tells when swifts were seen, for the whole town: by week, by sunset, by day."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TypedDict

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.private.derive.calendar import (
    SUNSET_BANDS,
    by_sunset,
    by_week,
    median_peaks,
    swift_parties,
)
from eaveline.protect.counts.callers import calls_in_region
from eaveline.protect.counts.gate import Gate, region_of
from eaveline.public.records import SunsetBand, WeekOfParties


@dataclass(frozen=True, repr=False)
class Parties:
    """The screaming parties of all seasons, and which were seen where calls were played."""

    table: pd.DataFrame
    near_calls: npt.NDArray[np.bool_]

    @cached_property
    def away(self) -> pd.DataFrame:
        """Those seen where no calls were played."""
        return self.table[~self.near_calls]

    @cached_property
    def peaks(self) -> pd.DataFrame:
        """See `median_peaks`."""
        return median_peaks(self.away)

    @cached_property
    def weeks(self) -> pd.DataFrame:
        """See `by_week`."""
        return by_week(self.away)

    def __repr__(self) -> str:
        """Show a count only."""
        return f"<Parties: {len(self.table)}>"


def parties_of(gate: Gate) -> Parties:
    """Return the parties that the town's calendar is made from."""
    parties = swift_parties(gate.register.sightings)
    near = parties["calls_playing"].to_numpy(dtype=bool) | calls_in_region(
        gate, parties["date"], region_of(gate, parties)
    )
    return Parties(parties, near)


class Calendar(TypedDict):
    """The parts of a `TownSeason` that tell when."""

    parties_near_calls: int
    days_with_parties: int
    median_daily_peak: int | None
    weeks: tuple[WeekOfParties, ...]


def calendar_of(parties: Parties, season: int) -> Calendar:
    """Return one season's calendar; parties where calls were played count in the first figure only.

    It names no place and its dates are the town's, so no square can be read from it.
    """
    own = (parties.table["season"] == season).to_numpy()
    away = parties.away
    weeks = parties.weeks[parties.weeks["season"] == season]
    peaks = parties.peaks["median_peak"]
    return {
        "parties_near_calls": int((own & parties.near_calls).sum()),
        "days_with_parties": away.loc[away["season"] == season, "date"].nunique(),
        "median_daily_peak": int(peaks[season]) if season in peaks.index else None,
        "weeks": tuple(
            WeekOfParties(monday=monday.date(), parties=int(number))
            for monday, number in zip(weeks["monday"], weeks["parties"], strict=True)
        ),
    }


def parties_by_sunset(parties: Parties) -> tuple[SunsetBand, ...]:
    """Return the parties of all seasons by how long before sunset they were seen."""
    return tuple(
        SunsetBand(from_minutes=start, to_minutes=end, parties=int(number))
        for (start, end), number in zip(SUNSET_BANDS, by_sunset(parties.away), strict=True)
    )
