"""The group's register: all records merged, with their exact places."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.private.derive.effort import valid_minutes
from eaveline.private.intake.ledger import Ledger
from eaveline.private.intake.take_in import Intake
from eaveline.private.merge.box_sightings import boxes_seen, speak_of_boxes
from eaveline.private.merge.boxes import MergedBoxes, merge_boxes
from eaveline.private.merge.decisions import decisions_from
from eaveline.private.merge.sightings import MergedSightings, is_nest_evidence, merge_sightings
from eaveline.private.merge.sites import AssignBuilding, MergedSites, merge_sites
from eaveline.private.merge.watches import merge_watches

GONE = "gone"
"""The source of a building that has records and is in no list any more."""


@dataclass(frozen=True, repr=False)
class Register:
    """Merged tables; their columns are described where they are made (`private.merge`).

    Attributes
    ----------
    sightings, sites, evidence, boxes, checks
        See `MergedSightings`, `MergedSites` and `MergedBoxes`. `sightings` has three columns
        more: `about_box`, the row says that the bird was at a box; `box`, the title of that box
        if the list has it; and `before_sunset_min`, the minutes from the sighting to that day's
        sunset (NaN without a time).
    box_visits
        title and season of boxes at which a sighting shows swifts going in.
    watches
        See `merge_watches`; `valid_minutes` is what counts as looking.
    premises
        Distinct buildings, or None where no list was given; those whose source is `GONE` are no
        premises any more.
    ledger
        Every row's final state.
    """

    sightings: pd.DataFrame
    sites: pd.DataFrame
    evidence: pd.DataFrame
    boxes: pd.DataFrame
    checks: pd.DataFrame
    box_visits: pd.DataFrame
    watches: pd.DataFrame
    premises: pd.DataFrame | None
    ledger: Ledger

    def __repr__(self) -> str:
        """Show counts only."""
        counts = f"{len(self.sightings)} sightings, {len(self.sites)} sites"
        return f"<Register: {counts}, {len(self.boxes)} boxes>"

    @property
    def seasons(self) -> tuple[int, ...]:
        """Every year from the first record to the last."""
        years = np.concatenate(
            [
                self.sightings["season"].to_numpy(dtype=np.int64),
                self.evidence["season"].to_numpy(dtype=np.int64),
                self.checks["season"].to_numpy(dtype=np.int64),
                self.watches["season"].to_numpy(dtype=np.int64),
            ]
        )
        return tuple(range(int(years.min()), int(years.max()) + 1)) if len(years) else ()

    @property
    def newest(self) -> dt.date | None:
        """The date of the newest record, or None if no record has one."""
        dates = pd.concat(
            [
                self.sightings["date"],
                self.evidence["last_date"],
                self.checks["date"],
                self.watches["date"],
                self.boxes["fixed_on"],
                self.boxes["removed_on"],
            ]
        ).dropna()
        return dates.max().date() if len(dates) else None


@dataclass(frozen=True, repr=False)
class Merges:
    """How the register came about, for the group's own papers."""

    sightings: MergedSightings
    sites: MergedSites
    boxes: MergedBoxes

    def __repr__(self) -> str:
        """Show the parts' counts only."""
        return f"<Merges: {self.sightings!r}, {self.sites!r}, {self.boxes!r}>"


SunTimes = Callable[[pd.Series], tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]]
"""Takes dates; returns sunrise and sunset in minutes after local midnight."""


def build_register(
    intake: Intake,
    *,
    premises: pd.DataFrame | None,
    assign_building: AssignBuilding,
    sun_times: SunTimes,
    distance_m: float,
    minutes: float,
) -> tuple[Register, Merges]:
    """Merge what came in.

    Parameters
    ----------
    intake
        What came in.
    premises
        Distinct buildings, or None.
    assign_building
        Joins a place to the building nearest within its uncertainty.
    sun_times
        See `SunTimes`.
    distance_m, minutes
        The limits within which two sightings are one.
    """
    tables = intake.tables
    decisions = decisions_from(tables["decisions"])
    merged = merge_sightings(
        tables["sightings"], decisions=decisions, distance_m=distance_m, minutes=minutes
    )
    boxes = merge_boxes(
        tables["boxes"], tables["checks"], assign_building=assign_building, decisions=decisions
    )
    _, dusk = sun_times(merged.sightings["date"])
    sightings = merged.sightings.assign(
        about_box=speak_of_boxes(merged.sightings),
        box=boxes_seen(merged.sightings, boxes.boxes, assign_building),
        before_sunset_min=dusk - merged.sightings["minute"].to_numpy(dtype=np.float64),
    )
    at_walls = sightings[is_nest_evidence(sightings) & ~sightings["about_box"]]
    sites = merge_sites(
        tables["nest_sites"], at_walls, decisions=decisions, assign_building=assign_building
    )
    watches, watch_members = merge_watches(tables["watches"])
    sunrise, sunset = sun_times(watches["date"])
    watches = watches.assign(valid_minutes=valid_minutes(watches, sunrise=sunrise, sunset=sunset))
    ledger = intake.ledger
    for members in (merged.members, sites.members, boxes.members, watch_members):
        ledger = ledger.merge(members)
    visits = sightings.loc[
        sightings["box"].notna() & (sightings["species"] == "swift"), ["box", "season"]
    ]
    visits = visits.rename(columns={"box": "title"}).drop_duplicates()
    register = Register(
        sightings=sightings,
        sites=sites.sites,
        evidence=sites.evidence,
        boxes=boxes.boxes,
        checks=boxes.checks,
        box_visits=visits,
        watches=watches,
        premises=premises,
        ledger=ledger,
    )
    return register, Merges(merged, sites, boxes)
