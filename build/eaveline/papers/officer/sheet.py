"""The publishable sheet: what the release says about a site's squares, and what is asked for.

It is made from the release, the public map and the council's own list. Nothing private can
reach it: this module imports nothing that could hold an exact place.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

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
from eaveline.public.basemap import BaseMap
from eaveline.public.law import LegalLine, NationLaw, nation_law, standards
from eaveline.public.layers import (
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
from eaveline.public.palette import LOOKED, ramp
from eaveline.public.records import PublicRelease, Region
from eaveline.public.squares import region_polygon
from eaveline.public.town import PublicTown
from eaveline.public.wording import date

AROUND_M = 100.0
"""Squares that come this near a site are shown as its surroundings (common practice)."""
_UNKNOWN = "#cdc8ba"
"""Grey for squares not watched enough; a number can be read on it."""
_SQUARE_ONLY = (
    "Figures are for whole squares, so they are the same wherever in a square a nest is. They are "
    "the lower ends of bands: there may be more."
)


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
            f"Draft by {town.group}, for a member to check and sign. It holds only what the group "
            "publishes and may go on the public file."
        ),
        *_invented(town),
        heading("The application"),
        application_facts(
            application,
            radius=f"the squares that the site touches, and those within {AROUND_M:.0f} m of it",
            records_to=release.made_on,
        ),
        heading("What is on record for these squares"),
        _figures(touching, around, release),
        paragraph(_SQUARE_ONLY),
        *_absence(touching, release),
        *_map(application, (*touching, *around), release, basemap),
        heading("How it was found, and its limits"),
        *_method(touching, release),
        *law_blocks(nation_law(town.nation)),
        heading("What we ask for"),
        paragraph(
            "We ask the same for every application of this kind, whether or not a nest is "
            "on record for the site."
        ),
        bullets(asks(dwellings=application.dwellings)),
        heading("Whom to ask"),
        contact(town, release),
        signature(),
    ]
    return Document(
        title=f"Swifts and house martins: application {application.reference}",
        made_on=release.made_on.isoformat(),
        blocks=tuple(blocks),
    )


def application_facts(application: Application, *, radius: str, records_to: dt.date) -> Block:
    """Return what identifies an application, and what was searched."""
    count = application.dwellings
    return facts(
        [
            ("Reference", application.reference),
            ("Site", application.address or _grid_words(application.shape)),
            ("Proposal", application.proposal or application.work or ""),
            ("New dwellings", "" if count is None else str(count)),
            ("Received", date(application.received) if application.received else ""),
            ("Comments by", date(application.comments_due) if application.comments_due else ""),
            ("Searched", radius),
            ("Records up to", date(records_to)),
        ]
    )


def law_blocks(law: NationLaw) -> list[Block]:
    """Return the nation's legal and policy lines, with sources and dates."""
    blocks = [heading("Law and policy"), bullets([_sourced(line) for line in law.nest_law])]
    if law.policy:
        blocks.append(bullets([_sourced(line) for line in law.policy]))
    common = standards()
    blocks.append(bullets([_sourced(common.sufficient_information)]))
    blocks.append(paragraph("This is a summary by volunteers, not legal advice."))
    return blocks


def contact(town: PublicTown, release: PublicRelease) -> Block:
    """Return whom to ask, and on what terms the figures may be used."""
    return facts(
        [
            ("Group", town.group),
            ("E-mail", town.email),
            ("Map and figures", town.site_url),
            ("Licence of the figures", town.licence),
            ("Grid", release.crs),
        ]
    )


def _invented(town: PublicTown) -> list[Block]:
    if not town.invented:
        return []
    return [paragraph(f"{town.name} is an invented town, and so is everything in this paper.")]


def _sourced(line: LegalLine) -> str:
    return f"{line.text} ({line.source}; looked up {date(line.checked_on)})"


def _grid_words(shape: BaseGeometry) -> str:
    """Name the site's 100 m square: enough to know it by, beside the reference."""
    middle = shape.centroid
    east, north = (int(value // 100) * 100 for value in (middle.x, middle.y))
    return f"in the 100 m square whose south-west corner is easting {east}, northing {north}"


def _figures(
    touching: tuple[Region, ...], around: tuple[Region, ...], release: PublicRelease
) -> Block:
    rows = [
        (f"{where}{region_name(region.id, cells=len(region.cells))}", *_cells(region, release))
        for where, regions in (("Touched: ", touching), ("Near: ", around))
        for region in regions
    ]
    header = ("Square", "Swift nest sites", "House martin nest sites", "Screaming parties")
    return table(
        "All seasons together; squares that the site touches, and squares near it",
        (*header, "Nest boxes", "Hours watched"),
        rows,
    )


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
        name = region_name(region.id, cells=len(region.cells))
        states = {
            step_of(
                layer_figures(release, layer)[ALL_SEASONS][region.id], layer_bands(release, layer)
            )
            for layer in (MapLayer.SWIFT_NESTS, MapLayer.MARTIN_NESTS)
        }
        if NOT_LOOKED in states:
            lines.append(
                f"{name}: where the table says 'not known', it has not been watched enough. No "
                "inference of absence can be drawn."
            )
        if NONE in states:
            lines.append(
                f"{name}: where the table says 'none found', no records are held. It was watched "
                f"in {_years(region, release)}; nests are easily missed, so this is no proof that "
                "there are none."
            )
    return [bullets(lines)] if lines else []


def _years(region: Region, release: PublicRelease) -> str:
    watching = release.layers.watching
    seasons = [season for season in release.seasons if watching[season][region.id].low is not None]
    return ", ".join(seasons) if seasons else "no season for as long as an hour"


def _method(touching: tuple[Region, ...], release: PublicRelease) -> list[Block]:
    rule = release.rule
    last = [
        f"{region_name(region.id, cells=len(region.cells))}: {_years(region, release)}"
        for region in touching
    ]
    return [
        paragraph(
            "Members report nests, and watch streets at dusk for a stated time in dry weather with "
            "little wind. Rows sent twice are merged; rows that contradict themselves are held "
            "back until a member has put them right. Nobody outside the group has verified "
            "the records."
        ),
        facts([("Watched in", "; ".join(last))]),
        paragraph(
            f"A square counts as watched once {rule.looked_hours} hours of valid watching were "
            f"spent in it in one season. Squares are joined until they hold at least "
            f"{rule.minimum_premises} premises, so a group of squares may reach beyond the site."
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
    caption = (
        f"The site (thick line) and the squares by number, 1:{scale:,} when printed on A4, north "
        "up. White: watched, none found. Grey: not watched enough. Darker: more swift nest sites."
    )
    alt = (
        f"Map of the site of application {application.reference} with the squares around it: "
        + ", ".join(region_name(region.id, cells=len(region.cells)) for region in regions)
        + ". The table above says the same in words."
    )
    return [heading("Map"), figure(caption, svg, alt)]
