"""Counts what needs no top-coding, by region and season: parties, boxes, hours watched."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.protect.buildings.homes import Ints
from eaveline.protect.counts.gate import ALL, Gate, region_of
from eaveline.protect.watching import hours
from eaveline.public.records import Species

SCREAMING_CODE = 5


def party_counts(gate: Gate) -> dict[str, Ints]:
    """Return merged screaming parties of swifts by season and region."""
    parties = gate.register.sightings
    parties = parties[
        (parties["atlas_code"] == SCREAMING_CODE) & (parties["species"] == Species.SWIFT.value)
    ]
    return _counts_by_season(gate, parties["season"], region_of(gate, parties))


def _counts_by_season(gate: Gate, season: pd.Series, region: Ints) -> dict[str, Ints]:
    count = len(gate.regions.ids)
    years = season.to_numpy(dtype=np.int64)
    placed = region >= 0
    found = {
        str(year): np.bincount(region[placed & (years == year)], minlength=count)
        for year in gate.register.seasons
    }
    found[ALL] = np.bincount(region[placed], minlength=count)
    return found


def standing_between(boxes: pd.DataFrame, season: int) -> npt.NDArray[np.bool_]:
    """Return which boxes stood for at least a part of a season (May to July)."""
    up = boxes["first_season"].to_numpy(dtype=np.int64) <= season
    down = boxes["removed_on"].notna() & (
        boxes["removed_on"] < pd.Timestamp(year=season, month=5, day=1)
    )
    return up & ~down.to_numpy(dtype=bool)


def dated_boxes(gate: Gate) -> pd.DataFrame:
    """Return the boxes that count, each with its first season.

    A box without a date is taken to stand from its first check, or from the newest season.
    """
    boxes = gate.register.boxes
    boxes = boxes[~boxes["building"].isin(gate.listing.buildings)]
    first_check = gate.register.checks.groupby("title")["season"].min()
    newest = max(gate.register.seasons, default=0)
    fixed = boxes["fixed_on"].dt.year.fillna(boxes["title"].map(first_check)).fillna(newest)
    return boxes.assign(first_season=fixed.astype(np.int64), region=region_of(gate, boxes))


def boxes_standing(gate: Gate) -> dict[str, Ints]:
    """Return the boxes that stood, by season and region; in 'all', those that ever did."""
    boxes = dated_boxes(gate)
    count = len(gate.regions.ids)
    found: dict[str, Ints] = {}
    ever = np.zeros(len(boxes), dtype=bool)
    for season in gate.register.seasons:
        standing = standing_between(boxes, season)
        ever |= standing
        regions = boxes["region"].to_numpy(dtype=np.int64)[standing]
        found[str(season)] = np.bincount(regions[regions >= 0], minlength=count)
    regions = boxes["region"].to_numpy(dtype=np.int64)[ever]
    found[ALL] = np.bincount(regions[regions >= 0], minlength=count)
    return found


def hours_watched(gate: Gate) -> dict[str, Ints]:
    """Return whole hours of valid watching by season and region."""
    count = len(gate.regions.ids)
    found: dict[str, Ints] = {}
    for season in (*gate.register.seasons, ALL):
        part = gate.minutes if season == ALL else gate.minutes[gate.minutes["season"] == season]
        per_region = np.zeros(count, dtype=np.int64)
        for region, whole in hours(part.groupby("region")["minutes"].sum()).items():
            per_region[region] = whole
        found[str(season)] = per_region
    return found


def looked(gate: Gate) -> dict[str, npt.NDArray[np.bool_]]:
    """Return in which regions enough valid watching makes 'none found' an answer.

    For all seasons together it is the hours of all of them that count.
    """
    least = gate.config.privacy.looked_hours
    return {season: whole >= least for season, whole in hours_watched(gate).items()}
