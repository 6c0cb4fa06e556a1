"""Tells when swifts were seen, for the whole town: by week, by sunset, by day."""

from __future__ import annotations

from typing import TypedDict

import numpy as np
import pandas as pd

from eaveline.private.derive.calendar import (
    SUNSET_BANDS,
    by_sunset,
    by_week,
    median_peaks,
    swift_parties,
)
from eaveline.protect.callers import calls_in_region
from eaveline.protect.gate import Gate, region_of
from eaveline.public.records import SunsetBand, WeekOfParties


class Calendar(TypedDict):
    """The parts of a `TownSeason` that tell when."""

    parties_near_calls: int
    days_with_parties: int
    median_daily_peak: int | None
    weeks: tuple[WeekOfParties, ...]


def calendar_of(gate: Gate, season: int) -> Calendar:
    """Return one season's calendar; parties where calls were played count in the first figure only.

    It names no place and its dates are the town's, so no square can be read from it.
    """
    parties, near = _parties(gate)
    own = (parties["season"] == season).to_numpy()
    away = parties[own & ~near]
    peaks = median_peaks(away)
    weeks = by_week(away)
    return {
        "parties_near_calls": int((own & near).sum()),
        "days_with_parties": away["date"].nunique(),
        "median_daily_peak": int(peaks["median_peak"].iloc[0]) if len(peaks) else None,
        "weeks": tuple(
            WeekOfParties(monday=monday.date(), parties=int(number))
            for monday, number in zip(weeks["monday"], weeks["parties"], strict=True)
        ),
    }


def parties_by_sunset(gate: Gate) -> tuple[SunsetBand, ...]:
    """Return the parties of all seasons by how long before sunset they were seen."""
    parties, near = _parties(gate)
    return tuple(
        SunsetBand(from_minutes=start, to_minutes=end, parties=int(number))
        for (start, end), number in zip(SUNSET_BANDS, by_sunset(parties[~near]), strict=True)
    )


def _parties(gate: Gate) -> tuple[pd.DataFrame, np.ndarray]:
    parties = swift_parties(gate.register.sightings)
    near = parties["calls_playing"].to_numpy(dtype=bool) | calls_in_region(
        gate, parties["date"], region_of(gate, parties)
    )
    return parties, near
