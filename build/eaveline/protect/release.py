"""The gate: the only function that takes exact tables and returns the public release.

The promise it keeps: take any two buildings in one region and swap every nest and sighting
recorded at them, and not one byte of what is published changes. It holds because every
figure here is a function of totals over regions, regions are made from premises alone, and
counts of occupied buildings are top-coded before anything is added up. There is no option
that lets more through.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.config import Config
from eaveline.errors import InputError, Problem
from eaveline.private.register import Register
from eaveline.private.vocabulary import NEST_EVIDENCE_CODE
from eaveline.protect.bands import band, cap
from eaveline.protect.consent import Listing
from eaveline.protect.regions import Regions
from eaveline.protect.watching import hours
from eaveline.public.records import (
    BandedCount,
    BoxUse,
    CountLayer,
    EvidenceClass,
    Finding,
    FindingLayer,
    Layers,
    PublicRelease,
    Region,
    Rule,
    Species,
    State,
    TownFigures,
    TownSeason,
)

Ints = npt.NDArray[np.int64]

COUNT_BANDS: tuple[tuple[int, int | None], ...] = (
    (1, 2),
    (3, 5),
    (6, 10),
    (11, 20),
    (21, 50),
    (51, None),
)
HOUR_BANDS: tuple[tuple[int, int | None], ...] = ((1, 3), (4, 8), (9, 20), (21, 50), (51, None))
SCREAMING_CODE = 5
CONFIRMED_CODE = 10
ALL = "all"


@dataclass(frozen=True, repr=False)
class _Gate:
    """What every figure below is made from."""

    register: Register
    regions: Regions
    listing: Listing
    minutes: pd.DataFrame
    config: Config
    premises: Ints
    """For each region its premises for top-coding: published or present, whichever is less,
    without the listed ones."""

    @property
    def minimum(self) -> int:
        return self.config.privacy.minimum_premises

    def __repr__(self) -> str:
        return "<_Gate>"


def make_release(
    register: Register,
    *,
    regions: Regions,
    region_streets: dict[str, tuple[str, ...]],
    present_premises: Ints,
    listing: Listing,
    watched: pd.DataFrame,
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
    present_premises
        Premises found today in each region, shape (number of regions,). Top-coding uses the
        smaller of these and the published ones.
    listing
        Places shown openly with consent; their buildings leave every count.
    watched
        season, region (number) and minutes of valid watching.
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
                "Look at private/review/rows-to-fix.csv, mend the rows and build again.",
            )
        )
    published = np.asarray(regions.premises, dtype=np.int64)
    premises = np.minimum(published, present_premises)
    if register.premises is not None and listing.buildings:
        homes = regions.region_of(*_places(register.premises.iloc[sorted(listing.buildings)]))
        premises = premises - np.bincount(homes[homes >= 0], minlength=len(published))
    gate = _Gate(register, regions, listing, watched, config, premises)
    seasons = register.seasons
    nests = {species: _nest_counts(gate, species) for species in Species}
    looked = _looked(gate)
    rule = Rule(
        minimum_premises=config.privacy.minimum_premises,
        cell_size_m=config.privacy.cell_size_m,
        bands=COUNT_BANDS,
        hour_bands=HOUR_BANDS,
        looked_hours=config.privacy.looked_hours,
    )
    parties = _party_counts(gate)
    standing = _boxes_standing(gate)
    town_seasons = tuple(_town_season(gate, season, nests) for season in seasons)
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
        seasons=tuple(str(season) for season in seasons),
        layers=Layers(
            nest_sites={
                species: _finding_layer(gate, nests[species].counts, looked, nests[species].surest)
                for species in Species
            },
            screaming_parties=_finding_layer(gate, parties, looked),
            boxes=_count_layer(gate, standing, COUNT_BANDS),
            watching=_count_layer(gate, _hours_watched(gate), HOUR_BANDS),
        ),
        town_figures=_town_figures(gate, nests, town_seasons),
        town_seasons=town_seasons,
        open_sites=listing.open_sites,
    )


def _places(table: pd.DataFrame) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    return table["easting"].to_numpy(dtype=np.float64), table["northing"].to_numpy(dtype=np.float64)


def _region_of(gate: _Gate, table: pd.DataFrame) -> Ints:
    """Return the region of each row's building, else of its own place; -1 for the town only.

    A place vaguer than its region counts for the town alone.
    """
    east, north = _places(table)
    if "building" in table and gate.register.premises is not None:
        building = table["building"].to_numpy(dtype=np.int64)
        at_home = building >= 0
        homes = gate.register.premises
        east, north = east.copy(), north.copy()
        east[at_home] = homes["easting"].to_numpy()[building[at_home]]
        north[at_home] = homes["northing"].to_numpy()[building[at_home]]
    else:
        at_home = np.zeros(len(table), dtype=bool)
    region: Ints = gate.regions.region_of(east, north)
    if not len(gate.regions.ids):
        return region
    reach = _half_diagonals(gate)
    vague = ~at_home & (
        table["uncertainty_m"].to_numpy(dtype=np.float64) > reach[np.maximum(region, 0)]
    )
    region[vague] = -1
    return region


def _half_diagonals(gate: _Gate) -> npt.NDArray[np.float64]:
    """Return half the diagonal of each region's bounding box, in metres."""
    size = gate.config.privacy.cell_size_m
    spans = np.array(
        [
            (
                max(c.i for c in cells) - min(c.i for c in cells) + 1,
                max(c.j for c in cells) - min(c.j for c in cells) + 1,
            )
            for cells in gate.regions.cells
        ],
        dtype=np.float64,
    )
    return np.hypot(spans[:, 0], spans[:, 1]) * size / 2 + 0.5


@dataclass(frozen=True, repr=False)
class _Nests:
    """Top-coded counts and the surest evidence for one species, by season (and 'all')."""

    counts: dict[str, Ints]
    surest: dict[str, list[EvidenceClass | None]]
    lost: dict[str, Ints]

    def __repr__(self) -> str:
        return "<_Nests>"


def _nest_counts(gate: _Gate, species: Species) -> _Nests:
    sites = gate.register.sites
    own = sites[
        (sites["species"] == species.value) & ~sites["building"].isin(gate.listing.buildings)
    ]
    evidence = gate.register.evidence
    evidence = evidence[evidence["site"].isin(own.index)]
    region = pd.Series(_region_of(gate, own), index=own.index)
    table = evidence.assign(
        region=evidence["site"].map(region).astype(np.int64),
        building=evidence["site"].map(own["building"]).astype(np.int64),
        lost=(evidence["status"] == "lost"),
        occupied=(evidence["atlas_code"] >= NEST_EVIDENCE_CODE) & (evidence["status"] != "lost"),
    )
    table = table[table["region"] >= 0]
    counts: dict[str, Ints] = {}
    surest: dict[str, list[EvidenceClass | None]] = {}
    lost: dict[str, Ints] = {}
    for season in (*gate.register.seasons, ALL):
        part = table if season == ALL else table[table["season"] == season]
        occupied = part[part["occupied"]]
        counts[str(season)] = _capped_buildings(gate, occupied)
        surest[str(season)] = _surest(gate, occupied)
        # Lost and occupied buildings are disjoint classes: their sum is under the same cap.
        either = _capped_buildings(gate, part[part["occupied"] | part["lost"]])
        lost[str(season)] = np.minimum(
            _distinct_buildings(gate, part[part["lost"]]),
            np.maximum(either - counts[str(season)], 0),
        )
    return _Nests(counts, surest, lost)


def _distinct_buildings(gate: _Gate, table: pd.DataFrame) -> Ints:
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


def _capped_buildings(gate: _Gate, table: pd.DataFrame) -> Ints:
    return cap(_distinct_buildings(gate, table), gate.premises, minimum_premises=gate.minimum)


def _surest(gate: _Gate, table: pd.DataFrame) -> list[EvidenceClass | None]:
    best = table.groupby("region")["atlas_code"].max()
    classes: list[EvidenceClass | None] = [None] * len(gate.regions.ids)
    for region, code in best.items():
        classes[int(str(region))] = (
            EvidenceClass.CONFIRMED if code >= CONFIRMED_CODE else EvidenceClass.PROBABLE
        )
    return classes


def _party_counts(gate: _Gate) -> dict[str, Ints]:
    """Return merged screaming parties of swifts by season and region."""
    parties = gate.register.sightings
    parties = parties[
        (parties["atlas_code"] == SCREAMING_CODE) & (parties["species"] == Species.SWIFT.value)
    ]
    return _counts_by_season(gate, parties["season"], _region_of(gate, parties))


def _counts_by_season(gate: _Gate, season: pd.Series, region: Ints) -> dict[str, Ints]:
    count = len(gate.regions.ids)
    years = season.to_numpy(dtype=np.int64)
    placed = region >= 0
    found = {
        str(year): np.bincount(region[placed & (years == year)], minlength=count)
        for year in gate.register.seasons
    }
    found[ALL] = np.bincount(region[placed], minlength=count)
    return found


def _standing_between(boxes: pd.DataFrame, season: int) -> npt.NDArray[np.bool_]:
    """Return which boxes stood for at least a part of a season (May to July)."""
    up = boxes["first_season"].to_numpy(dtype=np.int64) <= season
    down = boxes["removed_on"].notna() & (
        boxes["removed_on"] < pd.Timestamp(year=season, month=5, day=1)
    )
    return up & ~down.to_numpy(dtype=bool)


def _dated_boxes(gate: _Gate) -> pd.DataFrame:
    """Return the boxes that count, each with its first season.

    A box without a date is taken to stand from its first check, or from the newest season.
    """
    boxes = gate.register.boxes
    boxes = boxes[~boxes["building"].isin(gate.listing.buildings)]
    first_check = gate.register.checks.groupby("title")["season"].min()
    newest = max(gate.register.seasons, default=0)
    fixed = boxes["fixed_on"].dt.year.fillna(boxes["title"].map(first_check)).fillna(newest)
    return boxes.assign(first_season=fixed.astype(np.int64), region=_region_of(gate, boxes))


def _boxes_standing(gate: _Gate) -> dict[str, Ints]:
    boxes = _dated_boxes(gate)
    count = len(gate.regions.ids)
    found: dict[str, Ints] = {}
    ever = np.zeros(len(boxes), dtype=bool)
    for season in gate.register.seasons:
        standing = _standing_between(boxes, season)
        ever |= standing
        regions = boxes["region"].to_numpy(dtype=np.int64)[standing]
        found[str(season)] = np.bincount(regions[regions >= 0], minlength=count)
    regions = boxes["region"].to_numpy(dtype=np.int64)[ever]
    found[ALL] = np.bincount(regions[regions >= 0], minlength=count)
    return found


def _hours_watched(gate: _Gate) -> dict[str, Ints]:
    count = len(gate.regions.ids)
    found: dict[str, Ints] = {}
    for season in (*gate.register.seasons, ALL):
        part = gate.minutes if season == ALL else gate.minutes[gate.minutes["season"] == season]
        per_region = np.zeros(count, dtype=np.int64)
        for region, whole in hours(part.groupby("region")["minutes"].sum()).items():
            per_region[region] = whole
        found[str(season)] = per_region
    return found


def _looked(gate: _Gate) -> dict[str, npt.NDArray[np.bool_]]:
    """Return in which regions enough valid watching makes 'none found' an answer."""
    least = gate.config.privacy.looked_hours
    by_season = _hours_watched(gate)
    found = {str(season): by_season[str(season)] >= least for season in gate.register.seasons}
    found[ALL] = (
        np.logical_or.reduce(list(found.values()))
        if found
        else np.zeros(len(gate.regions.ids), dtype=bool)
    )
    return found


def _finding_layer(
    gate: _Gate,
    counts: dict[str, Ints],
    looked: dict[str, npt.NDArray[np.bool_]],
    surest: dict[str, list[EvidenceClass | None]] | None = None,
) -> FindingLayer:
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
    gate: _Gate, counts: dict[str, Ints], bands: Iterable[tuple[int, int | None]]
) -> CountLayer:
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


def _town_season(gate: _Gate, season: int, nests: dict[Species, _Nests]) -> TownSeason:
    register = gate.register
    sightings = register.sightings[register.sightings["season"] == season]
    swift_parties = sightings[
        (sightings["atlas_code"] == SCREAMING_CODE) & (sightings["species"] == Species.SWIFT.value)
    ]
    biggest = swift_parties["birds"].max() if len(swift_parties) else np.nan
    dates = sightings.groupby("species")["date"].agg(["min", "max"])
    boxes = _dated_boxes(gate)
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
        boxes_standing=int(_standing_between(boxes, season).sum()),
        box_use=_box_use(gate, season),
        hours_watched=int(
            register.watches.loc[register.watches["season"] == season, "valid_minutes"].sum() // 60
        ),
    )


def _box_use(gate: _Gate, season: int) -> BoxUse | None:
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


def _town_figures(
    gate: _Gate, nests: dict[Species, _Nests], town_seasons: tuple[TownSeason, ...]
) -> TownFigures:
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
