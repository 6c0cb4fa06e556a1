"""The year's report for residents, funders and the council, from the release alone.

Nothing private goes in but the totals of what the group asked planning authorities for,
which name no site.
"""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from eaveline.papers.officer.document import (
    Block,
    Document,
    bullets,
    facts,
    figure,
    heading,
    paragraph,
    table,
)
from eaveline.papers.officer.site_map import Shade, area_map
from eaveline.papers.officer.typeset import to_html, to_pdf
from eaveline.public.basemap import BaseMap
from eaveline.public.layers import (
    ALL_SEASONS,
    NONE,
    NOT_LOOKED,
    MapLayer,
    layer_bands,
    layer_figures,
    step_of,
    step_words,
)
from eaveline.public.palette import LOOKED, ramp
from eaveline.public.records import PublicRelease, Species, TownSeason
from eaveline.public.squares import region_polygon
from eaveline.public.town import PublicTown
from eaveline.public.wording import amount, at_least, box_use, date, number

_SEASONS_SHOWN = 10
_UNKNOWN = "#cdc8ba"
_UNWATCHED = (
    "An unwatched square is no empty one. White squares were watched and nothing was found; grey "
    "ones were not watched enough to say."
)
_LIMITS = (
    "Counts of nest sites are sums of capped counts; the true number may be larger.",
    _UNWATCHED,
    "Differences between years may come from more watching as well as from more birds.",
)


def annual_papers(
    release: PublicRelease,
    basemap: BaseMap,
    town: PublicTown,
    *,
    planning: Sequence[Sequence[object]] = (),
) -> dict[str, bytes]:
    """Return the report as PDF and as a page, by their names below the private folder."""
    report = annual_report(release, basemap, town, planning=planning)
    return {"annual-report.pdf": to_pdf(report), "annual-report.html": to_html(report)}


def annual_report(
    release: PublicRelease,
    basemap: BaseMap,
    town: PublicTown,
    *,
    planning: Sequence[Sequence[object]] = (),
) -> Document:
    """Return the report on the latest season.

    Parameters
    ----------
    release, basemap, town
        What is public anyway.
    planning
        From `tally`: year, applications, boxes asked for, granted, drawn, fitted, photographed.
    """
    seasons = release.town_seasons
    latest = seasons[-1] if seasons else None
    year = latest.season if latest else str(release.made_on.year)
    blocks: list[Block] = [
        paragraph(
            f"From {town.group}. Records up to {date(release.made_on)}. Figures are for whole "
            "squares of the map, so no nest and no home can be found from this report; it may be "
            "passed on."
        ),
        *_invented(town),
        *(_season(latest) if latest else []),
        *_map(release, basemap),
        *_seasons(seasons),
        *_planning(planning),
        heading("Thank you"),
        paragraph(
            "To everybody who looked up, wrote it down, opened a garden gate, lent a ladder, "
            "built, fitted or paid for a box, or let one be put on their wall. We name nobody "
            "here, because most of you live beside the birds."
        ),
        heading("About these figures"),
        bullets(_LIMITS),
        facts(
            [
                ("Group", town.group),
                ("E-mail", town.email),
                ("Map and figures", town.site_url),
                ("Licence", town.licence),
            ]
        ),
    ]
    return Document(
        title=f"Swifts and house martins in {town.name}, {year}",
        made_on=release.made_on.isoformat(),
        blocks=tuple(blocks),
    )


def _invented(town: PublicTown) -> list[Block]:
    return [paragraph(f"{town.name} and its figures are invented.")] if town.invented else []


def _season(season: TownSeason) -> list[Block]:
    dates = [
        (f"{'First' if first else 'Last'} {species.value}", date(day))
        for species in Species
        for first, found in ((True, season.first_seen), (False, season.last_seen))
        if (day := found.get(species)) is not None
    ]
    sites = [
        (
            f"{species.value.capitalize()} nest sites",
            at_least(season.nest_sites_at_least.get(species, 0), "nest site", "nest sites"),
        )
        for species in Species
    ]
    return [
        heading(f"The season of {season.season}"),
        facts(
            [
                *dates,
                *sites,
                ("Screaming parties", number(season.screaming_parties)),
                ("Nest boxes standing", number(season.boxes_standing)),
                ("Use of boxes", box_use(season.box_use)),
                ("Watching", amount(season.hours_watched, "hour", "hours")),
                ("Records", number(season.records)),
            ]
        ),
    ]


def _map(release: PublicRelease, basemap: BaseMap) -> list[Block]:
    if not release.regions:
        return []
    layer = MapLayer.SWIFT_NESTS
    bands = layer_bands(release, layer)
    colours = ramp(layer, len(bands))
    figures = layer_figures(release, layer)[ALL_SEASONS]
    shades, told = [], {NOT_LOOKED: 0, NONE: 0}
    for region in release.regions:
        step = step_of(figures[region.id], bands)
        told[step] = told.get(step, 0) + 1
        fill = _UNKNOWN if step == NOT_LOOKED else LOOKED if step == NONE else colours[step - 1]
        shape = region_polygon(region.cells, cell_size_m=release.rule.cell_size_m)
        shades.append(Shade(shape, fill, ""))
    whole = shapely.union_all([shade.shape for shade in shades])
    svg, scale = area_map(whole, basemap=basemap, shades=shades)
    words = [
        f"{step_words(release, layer, step)}: {number(count)} squares or groups of squares"
        for step, count in sorted(told.items())
        if count
    ]
    caption = (
        f"Swift nest sites, all seasons together, 1:{scale:,} when printed on A4, north up. Darker "
        "means more. White: watched, none found. Grey: not watched enough."
    )
    return [
        heading("The map"),
        figure(caption, svg, f"Map of {release.town}. " + ". ".join(words) + "."),
        bullets(words),
    ]


def _seasons(seasons: Sequence[TownSeason]) -> list[Block]:
    if not seasons:
        return []
    rows = [
        (
            season.season,
            str(season.nest_sites_at_least.get(Species.SWIFT, 0)),
            str(season.nest_sites_at_least.get(Species.HOUSE_MARTIN, 0)),
            str(season.screaming_parties),
            str(season.boxes_standing),
            str(season.hours_watched),
        )
        for season in reversed(seasons[-_SEASONS_SHOWN:])
    ]
    header = ("Season", "Swift nest sites, at least", "House martin nest sites, at least")
    return [
        heading("Year by year"),
        table(
            "The town's figures, the latest season first",
            (*header, "Screaming parties", "Boxes standing", "Hours watched"),
            rows,
        ),
    ]


def _planning(planning: Sequence[Sequence[object]]) -> list[Block]:
    rows = [tuple(str(cell) for cell in row) for row in planning]
    if not rows:
        return []
    header = ("Year", "Applications", "Boxes asked for", "Granted", "On drawings", "Fitted")
    return [
        heading("Boxes in new buildings"),
        table(
            "What the group asked planning authorities for, and what came of it",
            (*header, "Photographed"),
            rows,
        ),
    ]
