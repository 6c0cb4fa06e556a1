"""The whole town's figures: sums of capped counts, and totals that name no place."""

from __future__ import annotations

import numpy as np
import pandas as pd

from eaveline.protect.bands import cap
from eaveline.protect.gate import ALL, Gate
from eaveline.protect.nest_counts import Nests
from eaveline.protect.region_counts import SCREAMING_CODE, dated_boxes, standing_between
from eaveline.public.records import BoxUse, Species, TownFigures, TownSeason


def town_season(gate: Gate, season: int, nests: dict[Species, Nests]) -> TownSeason:
    """Return the town's figures for one season."""
    register = gate.register
    sightings = register.sightings[register.sightings["season"] == season]
    swift_parties = sightings[
        (sightings["atlas_code"] == SCREAMING_CODE) & (sightings["species"] == Species.SWIFT.value)
    ]
    biggest = swift_parties["birds"].max() if len(swift_parties) else np.nan
    dates = sightings.groupby("species")["date"].agg(["min", "max"])
    boxes = dated_boxes(gate)
    records = sum(
        int((table["season"] == season).sum())
        for table in (sightings, register.evidence, register.checks, register.watches)
    )
    return TownSeason(
        season=str(season),
        records=records,
        first_seen={Species(str(name)): row["min"].date() for name, row in dates.iterrows()},
        last_seen={Species(str(name)): row["max"].date() for name, row in dates.iterrows()},
        nest_sites_at_least={
            species: int(found.counts[str(season)].sum()) for species, found in nests.items()
        },
        lost_at_least=int(sum(found.lost[str(season)].sum() for found in nests.values())),
        screaming_parties=len(swift_parties),
        largest_party=None if np.isnan(biggest) else int(biggest),
        boxes_standing=int(standing_between(boxes, season).sum()),
        box_use=_box_use(gate, season),
        hours_watched=int(
            register.watches.loc[register.watches["season"] == season, "valid_minutes"].sum() // 60
        ),
    )


def _box_use(gate: Gate, season: int) -> BoxUse | None:
    """Return how many buildings with boxes held swifts, if enough were checked."""
    boxes = gate.register.boxes
    boxes = boxes[~boxes["building"].isin(gate.listing.buildings)]
    checks = gate.register.checks
    looked = checks[(checks["season"] == season) & (checks["seen"] != "not checked")]
    visits = gate.register.box_visits
    swifts = set(looked.loc[looked["seen"] == "swift", "title"]) | set(
        visits.loc[visits["season"] == season, "title"]
    )
    # A box near no known building stands for one of its own.
    home = boxes["building"].where(
        boxes["building"] >= 0, -2 - pd.Series(range(len(boxes)), index=boxes.index)
    )
    standing = boxes["removed_on"].isna() | (boxes["removed_on"].dt.year >= season)
    there = boxes["title"].isin(set(looked["title"])) & standing
    checked = int(home[there].nunique())
    if checked < gate.minimum:
        return None
    used = int(home[there & boxes["title"].isin(swifts)].nunique())
    at_least = int(cap(np.array([used]), np.array([checked]), minimum_premises=gate.minimum)[0])
    return BoxUse(buildings_checked=checked, used_at_least=at_least)


def town_figures(
    gate: Gate, nests: dict[Species, Nests], town_seasons: tuple[TownSeason, ...]
) -> TownFigures:
    """Return the town's figures over all seasons."""
    return TownFigures(
        records=sum(season.records for season in town_seasons),
        premises=int(np.asarray(gate.regions.premises, dtype=np.int64).sum())
        if len(gate.regions.ids)
        else 0,
        nest_sites_at_least={
            species: int(found.counts[ALL].sum()) for species, found in nests.items()
        },
        boxes_standing=town_seasons[-1].boxes_standing if town_seasons else 0,
        hours_watched=int(gate.register.watches["valid_minutes"].sum() // 60),
        screaming_parties=sum(season.screaming_parties for season in town_seasons),
    )
