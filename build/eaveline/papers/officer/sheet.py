"""The publishable sheet: what the release says about a site's squares, and what is asked for.

It is made from the release, the public map and the council's own list. Nothing private can
reach it: this module imports nothing that could hold an exact place.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from eaveline.messages import day, number, together
from eaveline.messages import gettext as _
from eaveline.papers.officer.asks import asks
from eaveline.papers.officer.document import (
    Block,
    Document,
    bullets,
    facts,
    figure,
    heading,
    paragraph,
    signature,
    table,
)
from eaveline.papers.officer.site_map import Shade, site_map
from eaveline.public.maps.basemap import BaseMap
from eaveline.public.maps.layers import (
    ALL_SEASONS,
    NONE,
    NOT_LOOKED,
    MapLayer,
    layer_bands,
    layer_figures,
    region_name,
    region_number,
    step_cell,
    step_of,
)
from eaveline.public.maps.palette import LOOKED, ramp
from eaveline.public.maps.squares import region_polygon
from eaveline.public.records import PublicRelease, Region
from eaveline.public.town import PublicTown
from eaveline.public.words.law import LegalLine, NationLaw, nation_law, standards

AROUND_M = 100.0
"""Squares that come this near a site are shown as its surroundings (common practice)."""
_UNKNOWN = "#cdc8ba"
"""Grey for squares not watched enough; a number can be read on it."""


@dataclass(frozen=True)
class Application:
    """What the council itself publishes of an application."""

    reference: str
    address: str | None
    proposal: str | None
    work: str | None
    dwellings: int | None
    received: dt.date | None
    comments_due: dt.date | None
    shape: BaseGeometry


def touched_regions(
    shape: BaseGeometry, release: PublicRelease, *, within_m: float = 0.0
) -> tuple[Region, ...]:
    """Return the regions that a site touches, or that lie within a distance of it.

    A site that only meets a square's edge touches it.
    """
    size_m = release.rule.cell_size_m
    return tuple(
        region
        for region in release.regions
        if shapely.dwithin(region_polygon(region.cells, cell_size_m=size_m), shape, within_m)
    )


def anything_recorded(region: Region, release: PublicRelease) -> bool:
    """Return whether the release has any nest site, screaming party or box for a region."""
    return any(
        layer_figures(release, layer)[ALL_SEASONS][region.id].low is not None
        for layer in MapLayer
        if layer is not MapLayer.WATCHING
    )


def publishable_sheet(
    application: Application, release: PublicRelease, basemap: BaseMap, town: PublicTown
) -> Document:
    """Return the sheet for one application.

    Parameters
    ----------
    application
        From the council's list.
    release, basemap, town
        What is public anyway.
    """
    touching = touched_regions(application.shape, release)
    around = tuple(
        region
        for region in touched_regions(application.shape, release, within_m=AROUND_M)
        if region not in touching
    )
    blocks: list[Block] = [
        paragraph(
            _(
                "Draft by %(group)s, for a member to check and sign. It holds only what the group "
                "publishes and may go on the public file.",
                group=town.group,
            )
        ),
        *_invented(town),
        heading(_("The application")),
        application_facts(
            application,
            radius=_(
                "the squares that the site touches, and those within %(metres)s m of it",
                metres=number(AROUND_M, decimals=0),
            ),
            records_to=release.made_on,
        ),
        heading(_("What is on record for these squares")),
        _figures(touching, around, release),
        paragraph(
            _(
                "Figures are for whole squares, so they are the same wherever in a square a nest "
                "is. They are the lower ends of bands: there may be more."
            )
        ),
        *_absence(touching, release),
        *_map(application, (*touching, *around), release, basemap),
        heading(_("How it was found, and its limits")),
        *_method(touching, release),
        *law_blocks(nation_law(town.nation)),
        heading(_("What we ask for")),
        paragraph(
            _(
                "We ask the same for every application of this kind, whether or not a nest is "
                "on record for the site."
            )
        ),
        bullets(asks(dwellings=application.dwellings)),
        heading(_("Whom to ask")),
        contact(town, release),
        signature(),
    ]
    return Document(
        title=_(
            "Swifts and house martins: application %(reference)s", reference=application.reference
        ),
        made_on=release.made_on.isoformat(),
        blocks=tuple(blocks),
    )


def application_facts(application: Application, *, radius: str, records_to: dt.date) -> Block:
    """Return what identifies an application, and what was searched."""
    count = application.dwellings
    return facts(
        [
            (_("Reference"), application.reference),
            (_("Site"), application.address or _grid_words(application.shape)),
            (_("Proposal"), application.proposal or application.work or ""),
            (_("New dwellings"), "" if count is None else number(count)),
            (_("Received"), day(application.received) if application.received else ""),
            (_("Comments by"), day(application.comments_due) if application.comments_due else ""),
            (_("Searched"), radius),
            (_("Records up to"), day(records_to)),
        ]
    )


def law_blocks(law: NationLaw) -> list[Block]:
    """Return the nation's legal and policy lines, with sources and dates."""
    blocks = [heading(_("Law and policy")), bullets([sourced(line) for line in law.nest_law])]
    if law.policy:
        blocks.append(bullets([sourced(line) for line in law.policy]))
    common = standards()
    blocks.append(bullets([sourced(common.sufficient_information)]))
    blocks.append(paragraph(_("This is a summary by volunteers, not legal advice.")))
    return blocks


def contact(town: PublicTown, release: PublicRelease) -> Block:
    """Return whom to ask, and on what terms the figures may be used."""
    return facts(
        [
            (_("Group"), town.group),
            (_("E-mail"), town.email),
            (_("Map and figures"), town.site_url),
            (_("Licence of the figures"), town.licence),
            (_("Grid"), release.crs),
        ]
    )


def _invented(town: PublicTown) -> list[Block]:
    if not town.invented:
        return []
    words = _("%(town)s is an invented town, and so is everything in this paper.", town=town.name)
    return [paragraph(words)]


def sourced(line: LegalLine) -> str:
    """Return a line of law or policy with its source and the day somebody last looked."""
    return _(
        "%(line)s (%(source)s; looked up %(date)s)",
        line=line.text,
        source=line.source,
        date=day(line.checked_on),
    )


def _grid_words(shape: BaseGeometry) -> str:
    """Name the site's 100 m square: enough to know it by, beside the reference."""
    middle = shape.centroid
    east, north = (int(value // 100) * 100 for value in (middle.x, middle.y))
    return _(
        "in the 100 m square whose south-west corner is easting %(easting)s, northing %(northing)s",
        easting=str(east),
        northing=str(north),
    )


def _figures(
    touching: tuple[Region, ...], around: tuple[Region, ...], release: PublicRelease
) -> Block:
    rows = [
        *(
            (_("Touched: %(square)s", square=_name(region)), *_cells(region, release))
            for region in touching
        ),
        *(
            (_("Near: %(square)s", square=_name(region)), *_cells(region, release))
            for region in around
        ),
    ]
    header = (
        _("Square"),
        _("Swift nest sites"),
        _("House martin nest sites"),
        _("Screaming parties"),
        _("Nest boxes"),
        _("Hours watched"),
    )
    caption = _("All seasons together; squares that the site touches, and squares near it")
    return table(caption, header, rows)


def _name(region: Region) -> str:
    return region_name(region.id, cells=len(region.cells))


def _cells(region: Region, release: PublicRelease) -> list[str]:
    found = []
    for layer in MapLayer:
        figure_ = layer_figures(release, layer)[ALL_SEASONS][region.id]
        step = step_of(figure_, layer_bands(release, layer))
        found.append(step_cell(release, layer, step))
    return found


def _absence(touching: tuple[Region, ...], release: PublicRelease) -> list[Block]:
    """Say of each touched square what silence means there; never that there are no birds."""
    lines = []
    for region in touching:
        states = {
            step_of(
                layer_figures(release, layer)[ALL_SEASONS][region.id], layer_bands(release, layer)
            )
            for layer in (MapLayer.SWIFT_NESTS, MapLayer.MARTIN_NESTS)
        }
        if NOT_LOOKED in states:
            lines.append(
                _(
                    "%(square)s: where the table says 'not known', it has not been watched enough. "
                    "No inference of absence can be drawn.",
                    square=_name(region),
                )
            )
        if NONE in states:
            lines.append(_none_found(region, release))
    return [bullets(lines)] if lines else []


def _none_found(region: Region, release: PublicRelease) -> str:
    seasons = _watched(region, release)
    if not seasons:
        return _(
            "%(square)s: where the table says 'none found', no records are held. It was watched in "
            "no season for as long as an hour; nests are easily missed, so this is no proof that "
            "there are none.",
            square=_name(region),
        )
    return _(
        "%(square)s: where the table says 'none found', no records are held. It was watched in "
        "%(seasons)s; nests are easily missed, so this is no proof that there are none.",
        square=_name(region),
        seasons=together(seasons),
    )


def _watched(region: Region, release: PublicRelease) -> list[str]:
    watching = release.layers.watching
    return [season for season in release.seasons if watching[season][region.id].low is not None]


def _seasons(region: Region, release: PublicRelease) -> str:
    seasons = _watched(region, release)
    return _(
        "%(square)s: %(seasons)s",
        square=_name(region),
        seasons=together(seasons) if seasons else _("no season for as long as an hour"),
    )


def _method(touching: tuple[Region, ...], release: PublicRelease) -> list[Block]:
    rule = release.rule
    watched = "; ".join(_seasons(region, release) for region in touching)
    return [
        paragraph(
            _(
                "Members report nests, and watch streets at dusk for a stated time in dry weather "
                "with little wind. Rows sent twice are merged; rows that contradict themselves are "
                "held back until a member has put them right. Nobody outside the group has "
                "verified the records."
            )
        ),
        facts([(_("Watched in"), watched)]),
        paragraph(
            _(
                "A square counts as watched once %(hours)s hours of valid watching were spent in "
                "it in one season. Squares are joined until they hold at least %(premises)s "
                "premises, so a group of squares may reach beyond the site.",
                hours=number(rule.looked_hours),
                premises=number(rule.minimum_premises),
            )
        ),
    ]


def _map(
    application: Application,
    regions: tuple[Region, ...],
    release: PublicRelease,
    basemap: BaseMap,
) -> list[Block]:
    size_m = release.rule.cell_size_m
    layer = MapLayer.SWIFT_NESTS
    bands = layer_bands(release, layer)
    colours = ramp(layer, len(bands))
    shades = []
    for region in regions:
        step = step_of(layer_figures(release, layer)[ALL_SEASONS][region.id], bands)
        fill = _UNKNOWN if step == NOT_LOOKED else LOOKED if step == NONE else colours[step - 1]
        shape = region_polygon(region.cells, cell_size_m=size_m)
        shades.append(Shade(shape, fill, region_number(region.id)))
    svg, scale = site_map(application.shape, basemap=basemap, shades=shades)
    caption = _(
        "The site (thick line) and the squares by number, 1:%(scale)s when printed on A4, north "
        "up. White: watched, none found. Grey: not watched enough. Darker: more swift nest sites.",
        scale=number(scale),
    )
    alt = _(
        "Map of the site of application %(reference)s with the squares around it: %(squares)s. The "
        "table above says the same in words.",
        reference=application.reference,
        squares=together(map(_name, regions)),
    )
    return [heading(_("Map")), figure(caption, svg, alt)]
