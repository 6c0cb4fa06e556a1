"""The sentences with numbers in them, for neighbours.

Templates call these with figures of the release and hold no number of their own. A message is a
whole sentence; where one holds two counts, each is a phrase of its own that it names.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from eaveline.messages import ENGLISH, language, ngettext, number, pgettext
from eaveline.messages import gettext as _
from eaveline.public.maps.layers import (
    NONE,
    NOT_LOOKED,
    MapLayer,
    at_least_cell,
    layer_bands,
    layer_title,
    none_cell,
    region_name,
    season_words,
    step_words,
)
from eaveline.public.records import Nation, Species
from eaveline.public.words.listed_words import listed_place
from eaveline.public.words.phrases import (
    birds,
    buildings,
    cells,
    clock,
    date,
    day,
    day_short,
    hours,
    parties,
    percentage,
    premises,
    records,
    share,
    size,
    span,
    weekday,
    years,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from eaveline.public.records import (
        BoxUse,
        DistrictUse,
        PublicRelease,
        TownSeason,
    )

__all__ = [
    "MapLayer",
    "Species",
    "at_least_short",
    "bands",
    "birds",
    "box_use",
    "boxes_standing",
    "buildings",
    "cell_words",
    "cells",
    "clock",
    "counted_short",
    "date",
    "day",
    "day_short",
    "downloads",
    "english_only",
    "hours",
    "lang",
    "largest_party",
    "law_heading",
    "layer_title",
    "listed_place",
    "lost",
    "nearest_square",
    "number",
    "number_or_none",
    "parties",
    "percentage",
    "premises",
    "records",
    "region_name",
    "season_words",
    "share",
    "single_share",
    "size",
    "smallest_region",
    "smallest_words",
    "span",
    "step_words",
    "street_mark",
    "streets_squares",
    "used_short",
    "weekday",
    "widest_region",
    "years",
]

_BOTH = 2


def downloads() -> dict[str, str]:
    """Return what each downloaded file holds, by name, in the order to show them."""
    return {
        "release.json": _("Every public figure, as this site was made from it."),
        "release.schema.json": _("The JSON Schema that release.json follows."),
        "squares.geojson": _("The squares with their figures, for a map program (RFC 7946)."),
        "figures.csv": _("Every square's figures by layer and season, for a spreadsheet."),
        "regions.csv": _("The squares and groups of squares, with their premises."),
        "streets.csv": _("Which squares each street runs through."),
        "seasons.csv": _("The whole town's figures by season."),
        "colony.gpkg": _(
            "The squares for a geographic information system, with styles and a layer that says "
            "where to consult us (GeoPackage)."
        ),
        "darwin-core.zip": _(
            "Watching and findings for biodiversity databases (Darwin Core Archive)."
        ),
        "datapackage.json": _("What each column means, as a Data Package descriptor."),
    }


def lang() -> str:
    """Return the language of the pages, as HTML and feeds name it."""
    return language().html


def english_only() -> str:
    """Return the language of words that have no other: ``en-GB``, or nothing on English pages."""
    return "" if language().locale.language == "en" else ENGLISH.html


def law_heading(nation: Nation) -> str:
    """Return the heading above a nation's law."""
    match nation:
        case Nation.ENGLAND:
            return _("What the law says in England")
        case Nation.WALES:
            return _("What the law says in Wales")
        case Nation.SCOTLAND:
            return _("What the law says in Scotland")
        case Nation.NORTHERN_IRELAND:
            return _("What the law says in Northern Ireland")


def at_least_short(counts: Mapping[Species, int], species: Species) -> str:
    """Return a species' capped count as a figure to stand alone.

    >>> at_least_short({Species.SWIFT: 41}, Species.SWIFT), at_least_short({}, Species.SWIFT)
    ('at least 41', 'none known')
    """
    value = counts.get(species, 0)
    layer = {Species.SWIFT: MapLayer.SWIFT_NESTS, Species.HOUSE_MARTIN: MapLayer.MARTIN_NESTS}
    return at_least_cell(layer[species], value) if value else pgettext("nest sites", "none known")


def counted_short(counts: Mapping[Species, int], species: Species) -> str:
    """Return a species' capped count for a column whose heading says that it is the least."""
    return (
        number(value) if (value := counts.get(species, 0)) else pgettext("nest sites", "none known")
    )


def number_or_none(count: int) -> str:
    """Return a count as a figure to stand alone, where none so far is no finding.

    >>> number_or_none(1200), number_or_none(0)
    ('1,200', 'none yet')
    """
    return number(count) if count else _("none yet")


def lost(count: int | None) -> str:
    """Return the capped count of lost sites as a figure to stand alone."""
    if not count:
        return pgettext("nest sites", "none known")
    return pgettext("nest sites", "at least %(number)s", number=number(count))


def bands(release: PublicRelease, layer: MapLayer) -> str:
    """Return a layer's bands in one phrase: ``1 to 2, 3 to 5, 6 or more``."""
    return ", ".join(span(low, high) for low, high in layer_bands(release, layer))


def cell_words(release: PublicRelease, layer: MapLayer, step: int) -> str:
    """Return what a step means in as few words as a table's cell has room for."""
    if step == NOT_LOOKED:
        return _("not watched enough")
    if step == NONE:
        return none_cell(layer)
    low, high = layer_bands(release, layer)[step - 1]
    if layer in (MapLayer.BOXES, MapLayer.WATCHING):
        return span(low, high)
    return at_least_cell(layer, low)


def streets_squares(name: str, *, found: int, looked: int, unknown: int) -> str:
    """Return what is known of swift nests along a street, as a count of its squares.

    The counts are of squares, never of nests: figures are not added up along a street.
    """
    total = found + looked + unknown
    if total == 0:
        return _("%(street)s runs through no square of the map.", street=name)
    opening = ngettext(
        "%(street)s runs through one square of the map.",
        "%(street)s runs through %(num)s squares of the map.",
        total,
        street=name,
    )
    sentences = [opening]
    if found:
        sentences.append(_found(found, total))
    if looked:
        sentences.append(_looked_too(looked) if found else _looked(looked, total))
    if unknown:
        sentences.append(_unwatched(unknown, total))
    return " ".join(sentences)


def box_use(use: BoxUse | DistrictUse | None) -> str:
    """Return what is known of the use of boxes, without a bare percentage."""
    if use is None:
        return _("too few buildings checked to say")
    checked = buildings(use.buildings_checked)
    if use.used_at_least == 0:
        return _("no swifts seen using the boxes at the %(buildings)s checked", buildings=checked)
    return _(
        "swifts used boxes at no fewer than %(used)s of the %(buildings)s checked",
        used=number(use.used_at_least),
        buildings=checked,
    )


def used_short(count: int) -> str:
    """Return at how many buildings swifts used boxes, for a column that says it is the least."""
    return number(count) if count else pgettext("buildings", "none known")


def boxes_standing(count: int, town: str) -> str:
    """Return the sentence that opens the page of boxes."""
    if count == 0:
        return _("We know of no nest box for swifts or house martins in %(town)s yet.", town=town)
    return ngettext(
        "There is %(num)s nest box for swifts or house martins in %(town)s.",
        "There are %(num)s nest boxes for swifts or house martins in %(town)s.",
        count,
        town=town,
    )


def nearest_square(square: str, *, joined: bool, distance_m: int) -> str:
    """Return the sentence that names the nearest square, or group, with swift nest sites."""
    values = {"number": square, "distance": number(distance_m)}
    if joined:
        return _(
            "The nearest square with swift nest sites is group of squares %(number)s, about "
            "%(distance)s m away.",
            **values,
        )
    return _(
        "The nearest square with swift nest sites is square %(number)s, about %(distance)s m away.",
        **values,
    )


def street_mark(kind: str) -> str:
    """Return what a street's mark in the index means, for those who hear the page."""
    match kind:
        case "some":
            return _("swift nest sites found in at least one of its squares")
        case "none":
            return _("watched, none found")
        case _other:
            return _("not watched enough to say")


def largest_party(season: TownSeason) -> str:
    """Return the largest screaming party's size."""
    if season.largest_party is None:
        return _("not recorded")
    return birds(season.largest_party)


def smallest_region(release: PublicRelease) -> int:
    """Return the premises in the smallest region that is shown."""
    return min((region.premises for region in release.regions if region.premises), default=0)


def smallest_words(release: PublicRelease) -> str:
    """Return the sentence that says how small the smallest region is."""
    smallest = smallest_region(release)
    if smallest == 0:
        return ""
    return _(
        "The smallest that is shown holds %(premises)s of them, and %(share)s of all homes and "
        "premises lie in a square that needed no joining.",
        premises=number(smallest),
        share=single_share(release),
    )


def widest_region(release: PublicRelease) -> int:
    """Return the squares in the largest region."""
    return max((len(region.cells) for region in release.regions), default=0)


def single_share(release: PublicRelease) -> str:
    """Return the share of premises that lie in a region of a single square."""
    whole = sum(region.premises for region in release.regions)
    single = sum(region.premises for region in release.regions if len(region.cells) == 1)
    return share(single, whole)


def _found(part: int, whole: int) -> str:
    if part < whole:
        return ngettext(
            "Swift nest sites have been found in one of them.",
            "Swift nest sites have been found in %(num)s of them.",
            part,
        )
    if whole == _BOTH:
        return _("Swift nest sites have been found in both of them.")
    return ngettext(
        "Swift nest sites have been found in it.",
        "Swift nest sites have been found in all %(num)s of them.",
        whole,
    )


def _looked(part: int, whole: int) -> str:
    if part < whole:
        return ngettext(
            "Watching has found none so far in one of them.",
            "Watching has found none so far in %(num)s of them.",
            part,
        )
    if whole == _BOTH:
        return _("Watching has found none so far in both of them.")
    return ngettext(
        "Watching has found none so far in it.",
        "Watching has found none so far in all %(num)s of them.",
        whole,
    )


def _looked_too(part: int) -> str:
    """Return the same after other squares with nest sites have been told of."""
    return ngettext(
        "In one more, watching has found none so far.",
        "In %(num)s more, watching has found none so far.",
        part,
    )


def _unwatched(part: int, whole: int) -> str:
    if part < whole:
        return ngettext(
            "The other has not been watched enough to say.",
            "The other %(num)s have not been watched enough to say.",
            part,
        )
    return ngettext(
        "It has not been watched enough to say.",
        "None of them has been watched enough to say.",
        whole,
    )
