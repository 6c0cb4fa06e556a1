"""The tables offered for download, with the meaning of every column.

Each is a CSV in UTF-8 with a Table Schema (Data Package version 2), from which spreadsheets and
statistics programs learn what the columns hold. None has a figure for a street: a street lists
the squares it runs through.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from eaveline.public.maps.layers import MapLayer, layer_figures, seasons_shown
from eaveline.public.records import (
    BandedCount,
    EvidenceClass,
    Finding,
    PublicRelease,
    Species,
    State,
    TownSeason,
)

if TYPE_CHECKING:
    from eaveline.public.maps.basemap import BaseMap

Cell = str | int | None

LAYER_COLUMN = {
    MapLayer.SWIFT_NESTS: "swift_nest_sites",
    MapLayer.MARTIN_NESTS: "house_martin_nest_sites",
    MapLayer.PARTIES: "screaming_parties",
    MapLayer.BOXES: "boxes",
    MapLayer.WATCHING: "hours_watched",
}
"""A layer's name in files for other programs."""
NONE_KNOWN = "none known"
"""The state of boxes and watching where there are none; those two have no third answer."""


@dataclass(frozen=True, slots=True)
class Table:
    """One table: its file, what it is, its columns and rows.

    Parameters
    ----------
    name
        The file's name without ``.csv``.
    title, description
        For people.
    fields
        Table Schema field descriptors, in the order of the columns.
    key
        The columns that together name a row.
    rows
        The cells; None is an empty cell.
    references
        Column of this table to (table, column) that its values come from.
    """

    name: str
    title: str
    description: str
    fields: tuple[dict[str, Any], ...]
    key: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    references: Mapping[str, tuple[str, str]]

    @property
    def schema(self) -> dict[str, Any]:
        """The Table Schema."""
        schema: dict[str, Any] = {"fields": list(self.fields), "primaryKey": list(self.key)}
        if self.references:
            schema["foreignKeys"] = [
                {"fields": [column], "reference": {"resource": table, "fields": [other]}}
                for column, (table, other) in self.references.items()
            ]
        return schema

    def to_csv(self) -> str:
        """Return the table as CSV with a header and Unix line ends."""
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow([field["name"] for field in self.fields])
        writer.writerows(self.rows)
        return out.getvalue()


def tables(release: PublicRelease, basemap: BaseMap | None) -> tuple[Table, ...]:
    """Return every table.

    Parameters
    ----------
    release
        The public release.
    basemap
        Gives the streets' names; None where there is no map, and then no street is listed.
    """
    return (
        _regions(release),
        _figures(release),
        _streets(release, basemap),
        _seasons(release),
    )


def _regions(release: PublicRelease) -> Table:
    return Table(
        name="regions",
        title="Squares and groups of squares",
        description="The regions that all figures are for. Their outlines are in squares.geojson.",
        fields=(
            _field("region", "string", "The region's id."),
            _field(
                "cells",
                "string",
                f"Its grid squares of {release.rule.cell_size_m} m as i/j pairs, separated by "
                "spaces: a pair covers eastings from i times the size, and northings from j times "
                "the size.",
            ),
            _field("premises", "integer", "Dwelling-sized buildings in it.", minimum=0),
        ),
        key=("region",),
        rows=tuple(
            (region.id, " ".join(f"{i}/{j}" for i, j in region.cells), region.premises)
            for region in release.regions
        ),
        references={},
    )


def _figures(release: PublicRelease) -> Table:
    states = [*(state.value for state in State), NONE_KNOWN]
    return Table(
        name="figures",
        title="Figures by region, layer and season",
        description="What is known of every region in every season. 'low' and 'high' are the ends "
        "of the band that holds the figure. Counts of nest sites and screaming parties are "
        "capped before they are put into a band, so the true count may be larger than 'high'.",
        fields=(
            _field("region", "string", "The region's id."),
            _field("layer", "string", "What is counted.", enum=[LAYER_COLUMN[x] for x in MapLayer]),
            _field("season", "string", "A year, or 'all' for all seasons together."),
            _field(
                "state",
                "string",
                "'not looked' is no zero: nobody has watched there enough to say.",
                enum=states,
            ),
            _field("low", "integer", "The band's lower end.", required=False, minimum=1),
            _field(
                "high", "integer", "Its upper end; empty if it has none.", required=False, minimum=1
            ),
            _field(
                "surest_evidence",
                "string",
                "The highest class of breeding evidence (EBCC), for nest sites.",
                required=False,
                enum=[kind.value for kind in EvidenceClass],
            ),
        ),
        key=("region", "layer", "season"),
        rows=tuple(_figure_rows(release)),
        references={"region": ("regions", "region")},
    )


def _figure_rows(release: PublicRelease) -> Iterator[tuple[Cell, ...]]:
    for region in release.regions:
        for layer in MapLayer:
            figures = layer_figures(release, layer)
            for season in seasons_shown(release):
                yield (
                    region.id,
                    LAYER_COLUMN[layer],
                    season,
                    *_figure_cells(figures[season][region.id]),
                )


def _figure_cells(figure: Finding | BandedCount) -> tuple[Cell, ...]:
    if isinstance(figure, Finding):
        surest = figure.surest.value if figure.surest else None
        return figure.state.value, figure.low, figure.high, surest
    state = NONE_KNOWN if figure.low is None else State.SOME.value
    return state, figure.low, figure.high, None


def _streets(release: PublicRelease, basemap: BaseMap | None) -> Table:
    on_street: dict[str, list[str]] = {}
    for region in release.regions:
        for slug in region.streets:
            on_street.setdefault(slug, []).append(region.id)
    streets = basemap.streets if basemap is not None else ()
    return Table(
        name="streets",
        title="Streets and the regions they run through",
        description="A street has no figures of its own; those of its regions are for every "
        "building in them, whatever its street.",
        fields=(
            _field("street", "string", "The street's id, as in the address of its page."),
            _field("name", "string", "Its name."),
            _field(
                "regions",
                "string",
                "Ids of the regions it runs through, separated by spaces.",
                required=False,
            ),
        ),
        key=("street",),
        rows=tuple(
            (street.slug, street.name, " ".join(on_street.get(street.slug, [])))
            for street in streets
        ),
        references={},
    )


def _seasons(release: PublicRelease) -> Table:
    dates = [
        _field(f"{_word(species)}_{which}_seen", "date", text, required=False)
        for species in Species
        for which, text in (("first", "The first sighting."), ("last", "The last sighting."))
    ]
    sites = [
        _field(
            f"{_word(species)}_nest_sites_at_least",
            "integer",
            "A sum of capped counts of the regions; the true number may be larger.",
            required=False,
            minimum=0,
        )
        for species in Species
    ]
    return Table(
        name="seasons",
        title="The town's figures by season",
        description="Figures of the whole town for each season, oldest first.",
        fields=(
            _field("season", "string", "The year."),
            _count(
                "records",
                "Records of every kind, after those sent twice were merged; of nests as many as"
                " are counted here.",
            ),
            *dates,
            *sites,
            _count("lost_at_least", "Nest sites found lost."),
            _count("screaming_parties", "Screaming parties seen."),
            _count("largest_party", "Birds in the largest of them.", required=False),
            _count(
                "parties_near_calls",
                "Parties seen while calls were played in the same square; they are left out of"
                " the four columns that follow.",
            ),
            _count("days_with_parties", "Days on which parties were seen."),
            _count(
                "median_daily_peak",
                "The largest party of each day, and of those the middle one.",
                required=False,
            ),
            _field(
                "busiest_week",
                "date",
                "The Monday of the week with the most parties, the earliest of equals.",
                required=False,
            ),
            _count("busiest_week_parties", "Parties seen in that week.", required=False),
            _count("boxes_standing", "Nest boxes standing."),
            _count(
                "box_buildings_checked",
                "Buildings whose boxes were checked; empty if too few to say.",
                required=False,
            ),
            _count("box_buildings_used_at_least", "Those used by swifts.", required=False),
            _count("hours_watched", "Hours of watching in fit weather."),
        ),
        key=("season",),
        rows=tuple(_season_row(season) for season in release.town_seasons),
        references={},
    )


def _season_row(season: TownSeason) -> tuple[Cell, ...]:
    dates = [
        day.isoformat() if day else None
        for species in Species
        for day in (season.first_seen.get(species), season.last_seen.get(species))
    ]
    use = season.box_use
    # Weeks come oldest first, and max takes the first of equals.
    busiest = max(season.weeks, key=lambda week: week.parties, default=None)
    return (
        season.season,
        season.records,
        *dates,
        *(season.nest_sites_at_least.get(species) for species in Species),
        season.lost_at_least,
        season.screaming_parties,
        season.largest_party,
        season.parties_near_calls,
        season.days_with_parties,
        season.median_daily_peak,
        busiest.monday.isoformat() if busiest else None,
        busiest.parties if busiest else None,
        season.boxes_standing,
        use.buildings_checked if use else None,
        use.used_at_least if use else None,
        season.hours_watched,
    )


def _field(
    name: str,
    kind: str,
    description: str,
    *,
    required: bool = True,
    enum: Sequence[str] = (),
    minimum: int | None = None,
) -> dict[str, Any]:
    """Return a Table Schema field descriptor."""
    limits: dict[str, Any] = {"required": True} if required else {}
    if enum:
        limits["enum"] = list(enum)
    if minimum is not None:
        limits["minimum"] = minimum
    field: dict[str, Any] = {"name": name, "type": kind, "description": description}
    return field | ({"constraints": limits} if limits else {})


def _count(name: str, description: str, *, required: bool = True) -> dict[str, Any]:
    return _field(name, "integer", description, required=required, minimum=0)


def _word(species: Species) -> str:
    return species.value.replace(" ", "_")
