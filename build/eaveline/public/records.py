"""The public release: frozen records that cannot hold an exact place.

Everything published is computed from one `PublicRelease`. Its leaves are region and cell
ids, slugs, seasons, dates, whole numbers and closed enumerations. There is no free text, no table
and no geometry: a square is drawn from its cell id alone, so nothing hidden can ride along.

Vocabulary follows statistical disclosure control (minimum count, top-coding) and
Darwin Core (`dataGeneralizations`).
"""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import Annotated, Any, ClassVar, Literal, NamedTuple, Self

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, model_validator

RegionId = Annotated[str, Field(pattern=r"^R[0-9]{3,5}$", description="A region's id.")]
Slug = Annotated[
    str,
    Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=80, description="A street's id."),
]
Season = Annotated[str, Field(pattern=r"^(19|20)[0-9]{2}$", description="A calendar year.")]
SeasonOrAll = Annotated[
    str,
    Field(pattern=r"^((19|20)[0-9]{2}|all)$", description="A season, or all seasons together."),
]
DistrictId = Annotated[str, Field(pattern=r"^D[0-9]{2,3}$", description="A district's id.")]
Count = Annotated[int, Field(ge=0, le=1_000_000)]
PositiveCount = Annotated[int, Field(ge=1, le=1_000_000)]
Percent = Annotated[int, Field(ge=-100, le=10_000)]
CellIndex = Annotated[int, Field(ge=0, le=13_000)]
"""Cells of 100 m or more: an easting in metres is far above this, so it cannot pose as one."""


class Record(BaseModel):
    """A frozen public record; unknown fields are refused."""

    model_config: ClassVar[ConfigDict] = ConfigDict(frozen=True, extra="forbid")


class Species(StrEnum):
    """The two birds the group watches."""

    SWIFT = "swift"
    HOUSE_MARTIN = "house martin"


class Nation(StrEnum):
    """The nation whose law and grid apply."""

    ENGLAND = "England"
    SCOTLAND = "Scotland"
    WALES = "Wales"
    NORTHERN_IRELAND = "Northern Ireland"


class State(StrEnum):
    """The three answers: an empty square is never called empty unless somebody looked."""

    SOME = "some"
    LOOKED = "looked, none found"
    NOT_LOOKED = "not looked"


class EvidenceClass(StrEnum):
    """EBCC breeding atlas classes (codes 1-2, 3-9, 10-16)."""

    POSSIBLE = "possible"
    PROBABLE = "probable"
    CONFIRMED = "confirmed"


class Cell(NamedTuple):
    """One square of the national grid: eastings size * i to size * (i + 1), northings by j.

    Written to JSON as the pair ``[i, j]``.
    """

    i: CellIndex
    j: CellIndex


class Rule(Record):
    """The rule the release was made by."""

    minimum_premises: Annotated[int, Field(ge=3, le=1000)]
    cell_size_m: Annotated[int, Field(ge=100, le=1000)]
    bands: tuple[tuple[Count, Count | None], ...]
    """Bands for counts, both ends included; the last may be open."""
    hour_bands: tuple[tuple[Count, Count | None], ...]
    """Bands for whole hours watched."""
    looked_hours: PositiveCount
    """Hours of valid watching in a region and season that make 'none found' an answer."""
    most_share: PositiveCount = 3
    """A capped count is at most one in so many."""


class Region(Record):
    """A square, or a group of squares, with at least the minimum number of premises."""

    id: RegionId
    cells: tuple[Cell, ...]
    premises: Count
    streets: tuple[Slug, ...]


class Finding(Record):
    """What one layer says of one region in one season.

    `low` and `high` are the ends of the band that holds the count after top-coding; the
    real count may be larger, so pages say 'at least `low`'.
    """

    state: State
    low: PositiveCount | None = None
    high: PositiveCount | None = None
    surest: EvidenceClass | None = None
    """Nest sites only: the highest evidence class in the region that season.

    The season in which a nest was last confirmed in a region, which pages tell, is read off
    these and has no field of its own. So it is safe as they are: a function of what all the
    region's buildings have together, which a swap of two of them leaves alone, and nothing
    where the top-coded count is nought.
    """

    @model_validator(mode="after")
    def _band_only_when_some(self) -> Self:
        if (self.state is State.SOME) != (self.low is not None):
            msg = "a band goes with the state 'some', and with no other"
            raise ValueError(msg)
        return self


class BandedCount(Record):
    """A count's band; both ends None means none known. An open band has no `high`."""

    low: PositiveCount | None = None
    high: PositiveCount | None = None


FindingLayer = dict[SeasonOrAll, dict[RegionId, Finding]]
CountLayer = dict[SeasonOrAll, dict[RegionId, BandedCount]]


class Layers(Record):
    """Every layer lists every region in every season and in 'all'."""

    nest_sites: dict[Species, FindingLayer]
    screaming_parties: FindingLayer
    """Swifts only."""
    boxes: CountLayer
    """Boxes standing. They can be seen from the street; their use is a town figure."""
    watching: CountLayer
    """Hours of valid watching, in `Rule.hour_bands`."""


class District(Record):
    """A part of the town, of whole regions, for figures that need many premises."""

    id: DistrictId
    regions: tuple[RegionId, ...]


class DistrictUse(Record):
    """How many of a district's buildings with boxes held swifts, top-coded."""

    buildings_checked: PositiveCount
    """Those in full lots; see `protect.counts.lots`."""
    used_at_least: Count


class BoxUse(Record):
    """How many buildings with boxes held swifts, top-coded; only where enough were checked."""

    buildings_checked: PositiveCount
    used_at_least: Count
    """The sum of the capped counts of the districts below, if there are any."""
    may_be_more: bool = False
    """Whether any count that it adds up reached its cap."""
    districts: dict[DistrictId, DistrictUse] = {}
    """Those in which enough buildings were checked; none in a town of one district."""


class BoxWait(Record):
    """How soon boxes were used, by building and top-coded; only where enough were followed."""

    seasons: PositiveCount
    """Within so many seasons of the building's first box."""
    buildings: PositiveCount
    """Buildings whose first box has stood so long, and was looked at meanwhile."""
    used_at_least: Count
    """The lower end of the band that holds the capped count."""


class CallsVerdict(StrEnum):
    """What comparing boxes with and without calls came to."""

    TOO_FEW = "too few to say"
    NO_CLEAR_DIFFERENCE = "no clear difference"
    SOONER = "sooner with calls"
    LATER = "later with calls"


class BoxCalls(Record):
    """Boxes with calls against boxes without, as far from squares with known nests."""

    verdict: CallsVerdict
    buildings_with: PositiveCount | None = None
    buildings_without: PositiveCount | None = None
    """Both None where too few to say."""


class Trend(Record):
    """The yearly change of the most swifts seen at once on a watch, over squares."""

    squares: PositiveCount
    """Squares, or groups of them, watched in more than one season."""
    first_season: Season
    last_season: Season
    percent: Percent
    low: Percent
    high: Percent
    """Ends of the 95% interval, rounded outwards."""


class WeekOfParties(Record):
    """Screaming parties seen in one week, away from calls being played."""

    monday: dt.date
    parties: PositiveCount


class SunsetBand(Record):
    """Screaming parties by how long before sunset they were seen."""

    from_minutes: Count | None
    """Minutes before sunset; None in the first band, which has no start."""
    to_minutes: Count | None
    """None in the last band, which is after sunset."""
    parties: Count


class TownSeason(Record):
    """The whole town's figures for one season."""

    season: Season
    records: Count
    """Records used, of every kind, after merging; of nests as many as are published."""
    first_seen: dict[Species, dt.date]
    last_seen: dict[Species, dt.date]
    nest_sites_at_least: dict[Species, Count]
    """A sum of capped regional counts, never the register's own total."""
    lost_at_least: Count
    """Sites found lost this season: a town figure, without place or cause."""
    screaming_parties: Count
    largest_party: PositiveCount | None = None
    parties_near_calls: Count = 0
    """Those seen while calls were played in the same square; out of the figures below."""
    days_with_parties: Count = 0
    median_daily_peak: PositiveCount | None = None
    """The middle of the daily largest parties; None where no day has one with a number."""
    weeks: tuple[WeekOfParties, ...] = ()
    """Oldest first; weeks in which none was seen, or nobody looked, are left out."""
    boxes_standing: Count
    box_use: BoxUse | None = None
    """None where fewer buildings than the minimum count were checked."""
    hours_watched: Count


class TownFigures(Record):
    """Figures for the whole town over all seasons."""

    records: Count
    premises: Count
    nest_sites_at_least: dict[Species, Count]
    boxes_standing: Count
    hours_watched: Count
    screaming_parties: Count
    parties_by_sunset: tuple[SunsetBand, ...] = ()
    trend: Trend | None = None
    """None where there are too few to say."""
    box_wait: BoxWait | None = None
    box_calls: BoxCalls = BoxCalls(verdict=CallsVerdict.TOO_FEW)


class OpenSite(Record):
    """A place whose owner agreed that it is shown."""

    name: Annotated[str, Field(max_length=120)] | None = None
    """Only the name of a public building that town.toml lists; else None."""
    what: Literal["swift nest", "house martin nest", "swift box", "house martin box"]
    cell: Cell
    since: Season


class PublicRelease(Record):
    """All that is published, and nothing else."""

    format: Literal["eaveline-release/1"] = "eaveline-release/1"
    town: Annotated[str, Field(max_length=80)]
    made_on: dt.date
    """The date of the newest record, never the clock's."""
    crs: Literal["EPSG:27700", "EPSG:29903"]
    has_map: bool
    """False where no premises list was given: town figures only."""
    rule: Rule
    regions: tuple[Region, ...]
    districts: tuple[District, ...] = ()
    seasons: tuple[Season, ...]
    """Oldest first."""
    layers: Layers
    town_figures: TownFigures
    town_seasons: tuple[TownSeason, ...]
    """One for each of `seasons`, in the same order."""
    open_sites: tuple[OpenSite, ...]

    @model_validator(mode="after")
    def _every_region_in_every_layer(self) -> Self:
        ids = {region.id for region in self.regions}
        wanted = {*self.seasons, "all"}
        layers: list[FindingLayer | CountLayer] = [
            *self.layers.nest_sites.values(),
            self.layers.screaming_parties,
            self.layers.boxes,
            self.layers.watching,
        ]
        for layer in layers:
            if set(layer) != wanted or any(set(figures) != ids for figures in layer.values()):
                msg = "a layer leaves out a region or a season"
                raise ValueError(msg)
        return self


def release_to_json(release: PublicRelease) -> str:
    """Return the release as JSON text: sorted keys, cells as pairs, a newline at the end."""
    # The standard library's encoder takes three times as long once it has to indent.
    data = _sorted(release.model_dump(mode="json"))
    return TypeAdapter(Any).dump_json(data, indent=1).decode() + "\n"


def _sorted(value: Any) -> Any:
    """Return plain data with the keys of every object in order."""
    if isinstance(value, dict):
        return {key: _sorted(value[key]) for key in sorted(value)}
    return [_sorted(each) for each in value] if isinstance(value, list) else value


def release_from_json(text: str) -> PublicRelease:
    """Return the release that `release_to_json` wrote.

    Raises
    ------
    pydantic.ValidationError
        If the text does not follow the format.
    """
    return PublicRelease.model_validate_json(text)
