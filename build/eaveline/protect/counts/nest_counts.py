"""Counts nest sites by region and season, top-coded before anything is added up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from eaveline.private.intake.vocabulary import NEST_EVIDENCE_CODE
from eaveline.protect.buildings.homes import Ints
from eaveline.protect.counts.bands import cap
from eaveline.protect.counts.gate import ALL, Gate, region_of
from eaveline.public.records import EvidenceClass, Species

CONFIRMED_CODE = 10


@dataclass(frozen=True, repr=False)
class Nests:
    """Top-coded counts and the surest evidence for one species, by season (and 'all')."""

    counts: dict[str, Ints]
    surest: dict[str, list[EvidenceClass | None]]
    lost: dict[str, Ints]

    def __repr__(self) -> str:
        """Show nothing."""
        return "<Nests>"


def nest_counts(gate: Gate, species: Species) -> Nests:
    """Count the occupied and the lost buildings of one species, top-coded.

    Listed sites are left out. What else is known of a listed building stays: if a nest left the
    counts in the week in which the box beside it is listed, it would be that building's. A site
    that was in use before it was lost is one of the season's occupied ones still: anyone sees the
    new roof, and a count that fell in that week would tell what had been under the old one.
    """
    sites = gate.register.sites
    listed = sites["share"].astype(bool) & sites["building"].isin(gate.listing.buildings)
    own = sites[(sites["species"] == species.value) & ~listed]
    evidence = gate.register.evidence
    evidence = evidence[evidence["site"].isin(own.index)]
    region = pd.Series(region_of(gate, own), index=own.index)
    table = evidence.assign(
        region=evidence["site"].map(region).astype(np.int64),
        building=evidence["site"].map(own["building"]).astype(np.int64),
        lost=(evidence["status"] == "lost"),
        occupied=(evidence["atlas_code"] >= NEST_EVIDENCE_CODE),
    )
    table = table[table["region"] >= 0]
    counts: dict[str, Ints] = {}
    surest: dict[str, list[EvidenceClass | None]] = {}
    lost: dict[str, Ints] = {}
    for season in (*gate.register.seasons, ALL):
        part = table if season == ALL else table[table["season"] == season]
        occupied = part[part["occupied"]]
        counts[str(season)] = _capped(gate, _distinct_buildings(gate, occupied))
        surest[str(season)] = _surest(gate, occupied)
        # Few buildings are both, and nobody outside can tell: so the sum is under the same cap.
        both = _distinct_buildings(gate, occupied) + _distinct_buildings(gate, part[part["lost"]])
        lost[str(season)] = _capped(gate, both) - counts[str(season)]
    return Nests(counts, surest, lost)


def _distinct_buildings(gate: Gate, table: pd.DataFrame) -> Ints:
    """Return the number of distinct buildings in each region.

    Evidence joined to no building may be about one already counted, so it adds one only
    where nothing else is known: 'at least' stays true.
    """
    count = len(gate.regions.ids)
    known = table[table["building"] >= 0].drop_duplicates(["region", "building"])
    found = np.bincount(known["region"].to_numpy(dtype=np.int64), minlength=count)
    anything = np.bincount(table["region"].to_numpy(dtype=np.int64), minlength=count) > 0
    buildings: Ints = np.maximum(found, anything.astype(np.int64))
    return buildings


def _capped(gate: Gate, buildings: Ints) -> Ints:
    return cap(buildings, gate.premises, minimum_premises=gate.minimum)


def _surest(gate: Gate, table: pd.DataFrame) -> list[EvidenceClass | None]:
    best = table.groupby("region")["atlas_code"].max()
    classes: list[EvidenceClass | None] = [None] * len(gate.regions.ids)
    for region, code in best.items():
        classes[int(str(region))] = (
            EvidenceClass.CONFIRMED if code >= CONFIRMED_CODE else EvidenceClass.PROBABLE
        )
    return classes
