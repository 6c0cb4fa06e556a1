"""The gate: the only function that takes exact tables and returns the public release.

The promise it keeps: take any two buildings in one region and swap every nest and sighting
recorded at them, and not one byte of what is published changes. It holds because every
figure here is a function of totals over regions, regions are made from premises alone, and
counts of occupied buildings are top-coded before anything is added up. There is no option
that lets more through.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.config import Config
from eaveline.errors import InputError, Problem
from eaveline.private.register import Register
from eaveline.protect.buildings.homes import Ints, places_of
from eaveline.protect.consent import Listing
from eaveline.protect.counts.bands import COUNT_BANDS, HOUR_BANDS, MOST_SHARE, band
from eaveline.protect.counts.calendar_counts import parties_of
from eaveline.protect.counts.gate import Gate
from eaveline.protect.counts.nest_counts import nest_counts
from eaveline.protect.counts.region_counts import (
    boxes_standing,
    hours_watched,
    looked,
    party_counts,
)
from eaveline.protect.counts.town_counts import town_figures, town_season
from eaveline.protect.division.districts import Districts
from eaveline.protect.division.regions import Regions
from eaveline.public.records import (
    BandedCount,
    CountLayer,
    District,
    EvidenceClass,
    Finding,
    FindingLayer,
    Layers,
    PublicRelease,
    Region,
    Rule,
    Species,
    State,
)


def make_release(
    register: Register,
    *,
    regions: Regions,
    region_streets: dict[str, tuple[str, ...]],
    districts: Districts,
    present_premises: Ints,
    listing: Listing,
    lots: pd.DataFrame,
    watched: pd.DataFrame,
    watch_regions: pd.Series,
    config: Config,
) -> PublicRelease:
    """Return the public release of a register.

    Parameters
    ----------
    register
        Everything merged, with exact places.
    regions
        The frozen regions; none where no premises list was given, and then the release has
        town figures only.
    region_streets
        For each region's id the slugs of the streets that run through it.
    districts
        For each region its district.
    present_premises
        Premises found today in each region, shape (number of regions,). Top-coding uses the
        smaller of these and the published ones.
    listing
        Places shown openly with consent; they leave the counts, and their buildings the premises.
    lots
        The buildings with boxes that count together; see `box_lots`.
    watched
        season, region (number) and minutes of valid watching.
    watch_regions
        For each of the register's watches the number of the region most of it was in, or -1.
    config
        The town's settings.

    Raises
    ------
    InputError
        If no usable record has a date, so that the release would have none.
    """
    made_on = register.newest
    if made_on is None:
        raise InputError(
            Problem(
                "nothing-to-publish",
                "No usable record has a date, so there is nothing to publish.",
                "Put a first record into survey_data/, for example into survey_data/sightings/. If"
                " there are some, check lists what is wrong with their rows, and a build writes"
                " them into private/review/rows-to-fix.csv.",
            )
        )
    published = np.asarray(regions.premises, dtype=np.int64)
    premises = np.minimum(published, present_premises)
    if register.premises is not None and listing.buildings:
        homes = regions.region_of(*places_of(register.premises.iloc[sorted(listing.buildings)]))
        premises = premises - np.bincount(homes[homes >= 0], minlength=len(published))
    # Two releases together would undo the cap of a joined region: where one of its parts had no
    # nests, all of its count is the other's. So it is capped as the smallest of parts may be.
    least = config.privacy.minimum_premises
    premises = np.where(regions.joined, np.minimum(premises, least), premises)
    gate = Gate(register, regions, listing, watched, config, premises, districts, lots)
    seasons = register.seasons
    nests = {species: nest_counts(gate, species) for species in Species}
    answered = looked(gate)
    rule = Rule(
        minimum_premises=config.privacy.minimum_premises,
        cell_size_m=config.privacy.cell_size_m,
        bands=COUNT_BANDS,
        hour_bands=HOUR_BANDS,
        looked_hours=config.privacy.looked_hours,
        most_share=MOST_SHARE,
    )
    parties = party_counts(gate)
    standing = boxes_standing(gate)
    calendar = parties_of(gate)
    town_seasons = tuple(town_season(gate, season, nests, calendar) for season in seasons)
    return PublicRelease(
        town=config.town.name,
        made_on=made_on,
        crs=config.crs,
        has_map=bool(len(regions.ids)),
        rule=rule,
        regions=tuple(
            Region(
                id=name,
                cells=tuple(cells),
                premises=int(count),
                streets=region_streets.get(name, ()),
            )
            for name, cells, count in zip(regions.ids, regions.cells, published, strict=True)
        ),
        districts=tuple(
            District(
                id=name,
                regions=tuple(
                    region
                    for region, own in zip(regions.ids, districts, strict=True)
                    if own == name
                ),
            )
            for name in sorted(set(districts))
        ),
        seasons=tuple(str(season) for season in seasons),
        layers=Layers(
            nest_sites={
                species: _finding_layer(
                    gate, nests[species].counts, answered, nests[species].surest
                )
                for species in Species
            },
            screaming_parties=_finding_layer(gate, parties, answered),
            boxes=_count_layer(gate, standing, COUNT_BANDS),
            watching=_count_layer(gate, hours_watched(gate), HOUR_BANDS),
        ),
        town_figures=town_figures(gate, nests, calendar, town_seasons, watch_regions=watch_regions),
        town_seasons=town_seasons,
        open_sites=listing.open_sites,
    )


def _finding_layer(
    gate: Gate,
    counts: dict[str, Ints],
    looked: dict[str, npt.NDArray[np.bool_]],
    surest: dict[str, list[EvidenceClass | None]] | None = None,
) -> FindingLayer:
    """Return a layer with the three answers for every region and season."""
    layer: FindingLayer = {}
    for season, numbers in counts.items():
        figures = {}
        for position, name in enumerate(gate.regions.ids):
            ends = band(int(numbers[position]), COUNT_BANDS)
            if ends is None:
                state = State.LOOKED if looked[season][position] else State.NOT_LOOKED
                figures[name] = Finding(state=state)
            else:
                best = surest[season][position] if surest is not None else None
                figures[name] = Finding(state=State.SOME, low=ends[0], high=ends[1], surest=best)
        layer[season] = figures
    return layer


def _count_layer(
    gate: Gate, counts: dict[str, Ints], bands: Iterable[tuple[int, int | None]]
) -> CountLayer:
    """Return a layer of bands for every region and season."""
    edges = tuple(bands)
    layer: CountLayer = {}
    for season, numbers in counts.items():
        figures = {}
        for position, name in enumerate(gate.regions.ids):
            ends = band(int(numbers[position]), edges)
            figures[name] = (
                BandedCount() if ends is None else BandedCount(low=ends[0], high=ends[1])
            )
        layer[season] = figures
    return layer
