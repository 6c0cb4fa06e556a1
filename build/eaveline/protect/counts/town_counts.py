"""The whole town's figures: sums of capped counts, and totals that name no place."""

from __future__ import annotations

import numpy as np
import pandas as pd

from eaveline.private.intake.vocabulary import NEST_EVIDENCE_CODE
from eaveline.protect.counts.box_figures import box_calls, box_wait
from eaveline.protect.counts.box_use import box_use
from eaveline.protect.counts.calendar_counts import Parties, calendar_of, parties_by_sunset
from eaveline.protect.counts.gate import ALL, Gate
from eaveline.protect.counts.nest_counts import Nests
from eaveline.protect.counts.region_counts import SCREAMING_CODE, dated_boxes, standing_between
from eaveline.protect.counts.trend import town_trend
from eaveline.public.records import Species, TownFigures, TownSeason


def town_season(
    gate: Gate, season: int, nests: dict[Species, Nests], parties: Parties
) -> TownSeason:
    """Return the town's figures for one season."""
    register = gate.register
    sightings = register.sightings[register.sightings["season"] == season]
    swift_parties = sightings[
        (sightings["atlas_code"] == SCREAMING_CODE) & (sightings["species"] == Species.SWIFT.value)
    ]
    biggest = swift_parties["birds"].max() if len(swift_parties) else np.nan
    dates = sightings.groupby("species")["date"].agg(["min", "max"])
    boxes = dated_boxes(gate)
    nest_sites = {species: int(found.counts[str(season)].sum()) for species, found in nests.items()}
    lost = int(sum(found.lost[str(season)].sum() for found in nests.values()))
    # Nests count as far as they are published: a terrace recorded once would have as many records
    # as houses, which the cap of its nests is there not to say.
    others = (
        sightings[sightings["atlas_code"] < NEST_EVIDENCE_CODE],
        register.checks[register.checks["season"] == season],
        register.watches[register.watches["season"] == season],
    )
    return TownSeason(
        season=str(season),
        records=sum(map(len, others)) + sum(nest_sites.values()) + lost,
        first_seen={Species(str(name)): row["min"].date() for name, row in dates.iterrows()},
        last_seen={Species(str(name)): row["max"].date() for name, row in dates.iterrows()},
        nest_sites_at_least=nest_sites,
        lost_at_least=lost,
        screaming_parties=len(swift_parties),
        largest_party=None if np.isnan(biggest) else int(biggest),
        **calendar_of(parties, season),
        boxes_standing=int(standing_between(boxes, season).sum()),
        box_use=box_use(gate, season),
        hours_watched=int(
            register.watches.loc[register.watches["season"] == season, "valid_minutes"].sum() // 60
        ),
    )


def town_figures(
    gate: Gate,
    nests: dict[Species, Nests],
    parties: Parties,
    town_seasons: tuple[TownSeason, ...],
    *,
    watch_regions: pd.Series,
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
        parties_by_sunset=parties_by_sunset(parties),
        trend=town_trend(gate, watch_regions),
        box_wait=box_wait(gate),
        box_calls=box_calls(gate, nests[Species.SWIFT]),
    )
