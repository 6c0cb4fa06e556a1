"""The year's report for residents, funders and the council, from the release alone.

Nothing private goes in but the totals of what the group asked planning authorities for,
which name no site.
"""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from eaveline.messages import day, ngettext, number
from eaveline.messages import gettext as _
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
from eaveline.public.maps.basemap import BaseMap
from eaveline.public.maps.layers import (
    ALL_SEASONS,
    NONE,
    NOT_LOOKED,
    MapLayer,
    layer_bands,
    layer_figures,
    step_of,
    step_words,
)
from eaveline.public.maps.palette import LOOKED, ramp
from eaveline.public.maps.squares import region_polygon
from eaveline.public.records import PublicRelease, Species, TownSeason
from eaveline.public.town import PublicTown
from eaveline.public.words.wording import box_use, hours, records

_SEASONS_SHOWN = 10
_UNKNOWN = "#cdc8ba"


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
            _(
                "From %(group)s. Records up to %(date)s. Figures are for whole squares of the map, "
                "so no nest and no home can be found from this report; it may be passed on.",
                group=town.group,
                date=day(release.made_on),
            )
        ),
        *_invented(town),
        *(_season(latest) if latest else []),
        *_map(release, basemap),
        *_seasons(seasons),
        *_planning(planning),
        heading(_("Thank you")),
        paragraph(
            _(
                "To everybody who looked up, wrote it down, opened a garden gate, lent a ladder, "
                "built, fitted or paid for a box, or let one be put on their wall. We name nobody "
                "here, because most of you live beside the birds."
            )
        ),
        heading(_("About these figures")),
        bullets(
            [
                _("Counts of nest sites are sums of capped counts; the true number may be larger."),
                _(
                    "An unwatched square is no empty one. White squares were watched and nothing "
                    "was found; grey ones were not watched enough to say."
                ),
                _(
                    "Differences between years may come from more watching as well as from more "
                    "birds."
                ),
            ]
        ),
        facts(
            [
                (_("Group"), town.group),
                (_("E-mail"), town.email),
                (_("Map and figures"), town.site_url),
                (_("Licence"), town.licence),
            ]
        ),
    ]
    return Document(
        title=_("Swifts and house martins in %(town)s, %(year)s", town=town.name, year=year),
        made_on=release.made_on.isoformat(),
        blocks=tuple(blocks),
    )


def _invented(town: PublicTown) -> list[Block]:
    if not town.invented:
        return []
    return [paragraph(_("%(town)s and its figures are invented.", town=town.name))]


def _season(season: TownSeason) -> list[Block]:
    swift, martin = Species.SWIFT, Species.HOUSE_MARTIN
    dates = [
        (name, day(when))
        for name, when in (
            (_("First swift"), season.first_seen.get(swift)),
            (_("Last swift"), season.last_seen.get(swift)),
            (_("First house martin"), season.first_seen.get(martin)),
            (_("Last house martin"), season.last_seen.get(martin)),
        )
        if when is not None
    ]
    sites = [
        (name, _at_least(season.nest_sites_at_least.get(species, 0)))
        for species, name in (
            (swift, _("Swift nest sites")),
            (martin, _("House martin nest sites")),
        )
    ]
    return [
        heading(_("The season of %(season)s", season=season.season)),
        facts(
            [
                *dates,
                *sites,
                (_("Screaming parties"), number(season.screaming_parties)),
                (_("Nest boxes standing"), number(season.boxes_standing)),
                (_("Use of boxes"), box_use(season.box_use)),
                (_("Watching"), hours(season.hours_watched)),
                (_("Records"), records(season.records)),
            ]
        ),
    ]


def _at_least(sites: int) -> str:
    if not sites:
        return _("no nest sites known")
    return ngettext("at least %(num)s nest site", "at least %(num)s nest sites", sites)


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
        ngettext(
            "%(what)s: %(num)s square or group of squares",
            "%(what)s: %(num)s squares or groups of squares",
            count,
            what=step_words(release, layer, step),
        )
        for step, count in sorted(told.items())
        if count
    ]
    caption = _(
        "Swift nest sites, all seasons together, 1:%(scale)s when printed on A4, north up. Darker "
        "means more. White: watched, none found. Grey: not watched enough.",
        scale=number(scale),
    )
    return [
        heading(_("The map")),
        figure(
            caption,
            svg,
            _("Map of %(town)s. %(words)s.", town=release.town, words=". ".join(words)),
        ),
        bullets(words),
    ]


def _seasons(seasons: Sequence[TownSeason]) -> list[Block]:
    if not seasons:
        return []
    rows = [
        (
            season.season,
            number(season.nest_sites_at_least.get(Species.SWIFT, 0)),
            number(season.nest_sites_at_least.get(Species.HOUSE_MARTIN, 0)),
            number(season.screaming_parties),
            number(season.boxes_standing),
            number(season.hours_watched),
        )
        for season in reversed(seasons[-_SEASONS_SHOWN:])
    ]
    header = (
        _("Season"),
        _("Swift nest sites, at least"),
        _("House martin nest sites, at least"),
        _("Screaming parties"),
        _("Boxes standing"),
        _("Hours watched"),
    )
    caption = _("The town's figures, the latest season first")
    return [heading(_("Year by year")), table(caption, header, rows)]


def _planning(planning: Sequence[Sequence[object]]) -> list[Block]:
    rows = [tuple(str(cell) for cell in row) for row in planning]
    if not rows:
        return []
    header = (
        _("Year"),
        _("Applications"),
        _("Boxes asked for"),
        _("Granted"),
        _("On drawings"),
        _("Fitted"),
        _("Photographed"),
    )
    caption = _("What the group asked planning authorities for, and what came of it")
    return [heading(_("Boxes in new buildings")), table(caption, header, rows)]
