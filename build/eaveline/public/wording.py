"""The sentences with numbers in them, in British English for neighbours.

Templates call these with figures of the release and hold no number of their own. Plain
functions of their arguments, so that a message file can take their place one day.
"""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from eaveline.public.layers import (
    LAYER_TEXT,
    NONE,
    NOT_LOOKED,
    MapLayer,
    layer_bands,
    region_name,
    season_words,
    step_words,
)
from eaveline.public.records import Species

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from eaveline.public.records import BoxUse, DistrictUse, PublicRelease, Region, TownSeason

__all__ = [
    "MapLayer",
    "Species",
    "amount",
    "at_least",
    "at_least_short",
    "bands",
    "box_use",
    "boxes_standing",
    "cell_words",
    "clock",
    "date",
    "day",
    "extent",
    "largest_party",
    "layer_title",
    "number",
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
    "weekday",
    "widest_region",
    "years",
]

MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
"""Spelt out here, because strftime would follow the machine's locale."""
DOWNLOADS = {
    "release.json": "Every public figure, as this site was made from it.",
    "release.schema.json": "The JSON Schema that release.json follows.",
    "squares.geojson": "The squares with their figures, for a map program (RFC 7946).",
    "figures.csv": "Every square's figures by layer and season, for a spreadsheet.",
    "regions.csv": "The squares and groups of squares, with their premises.",
    "streets.csv": "Which squares each street runs through.",
    "seasons.csv": "The whole town's figures by season.",
    "colony.gpkg": "The squares for a geographic information system, with styles and a layer that "
    "says where to consult us (GeoPackage).",
    "darwin-core.zip": "Watching and findings for biodiversity databases (Darwin Core Archive).",
    "datapackage.json": "What each column means, as a Data Package descriptor.",
}
"""What a downloaded file holds, by name."""


def number(value: int) -> str:
    """Return a whole number with a comma at each thousand.

    >>> number(3512)
    '3,512'
    """
    return f"{value:,}"


def amount(value: int, one: str, many: str) -> str:
    """Return a number with its noun.

    >>> amount(1, "hour", "hours"), amount(0, "hour", "hours")
    ('1 hour', 'no hours')
    """
    return f"{number(value) if value else 'no'} {one if value == 1 else many}"


def at_least(value: int, one: str, many: str) -> str:
    """Return a count that was capped before it was published.

    >>> at_least(3, "nest site", "nest sites"), at_least(0, "nest site", "nest sites")
    ('at least 3 nest sites', 'no nest sites known')
    """
    noun = one if value == 1 else many
    return f"at least {number(value)} {noun}" if value else f"no {many} known"


def at_least_short(counts: Mapping[Species, int], species: Species) -> str:
    """Return a species' capped count as a figure to stand alone.

    >>> at_least_short({Species.SWIFT: 41}, Species.SWIFT), at_least_short({}, Species.SWIFT)
    ('at least 41', 'none known')
    """
    value = counts.get(species, 0)
    return f"at least {number(value)}" if value else "none known"


def date(value: dt.date) -> str:
    """Return a date in full.

    >>> date(dt.date(2026, 8, 14))
    '14 August 2026'
    """
    return f"{day(value)} {value.year}"


def day(value: dt.date) -> str:
    """Return a date without its year.

    >>> day(dt.date(2026, 5, 3))
    '3 May'
    """
    return f"{value.day} {MONTHS[value.month - 1]}"


def clock(value: dt.datetime) -> str:
    """Return a time of day.

    >>> clock(dt.datetime(2026, 6, 6, 9, 5))
    '9.05 am'
    """
    hour = (value.hour + 11) % 12 + 1
    return f"{hour}.{value.minute:02d} {'am' if value.hour < 12 else 'pm'}"  # noqa: PLR2004 - noon


def weekday(value: dt.date) -> str:
    """Return a date with its day of the week.

    >>> weekday(dt.date(2026, 6, 6))
    'Saturday 6 June'
    """
    return f"{WEEKDAYS[value.weekday()]} {day(value)}"


def share(part: int, whole: int) -> str:
    """Return a share as a whole percentage; one that is neither all nor nothing never reads so.

    >>> share(3, 4), share(1999, 2000), share(0, 0)
    ('75%', 'over 99%', 'none')
    """
    if part == 0 or whole == 0:
        return "none"
    percent = round(100 * part / whole)
    if percent == 100 and part < whole:  # noqa: PLR2004 - a percentage
        return "over 99%"
    return f"{percent}%" if percent else "under 1%"


def span(low: int, high: int | None) -> str:
    """Return a band in words.

    >>> span(3, 5), span(2, 2), span(11, None)
    ('3 to 5', '2', '11 or more')
    """
    if high is None:
        return f"{number(low)} or more"
    return number(low) if low == high else f"{number(low)} to {number(high)}"


def bands(release: PublicRelease, layer: MapLayer) -> str:
    """Return a layer's bands in one phrase: ``1 to 2, 3 to 5, 6 or more``."""
    return ", ".join(span(low, high) for low, high in layer_bands(release, layer))


def years(seasons: Sequence[str]) -> str:
    """Return the seasons that records cover.

    >>> years(("2024", "2025", "2026")), years(("2026",)), years(())
    ('2024 to 2026', '2026', 'no season yet')
    """
    if not seasons:
        return "no season yet"
    return seasons[0] if len(seasons) == 1 else f"{seasons[0]} to {seasons[-1]}"


def layer_title(layer: MapLayer) -> str:
    """Return a layer's title."""
    return LAYER_TEXT[layer].title


def cell_words(release: PublicRelease, layer: MapLayer, step: int) -> str:
    """Return what a step means in as few words as a table's cell has room for."""
    if step == NOT_LOOKED:
        return "not watched enough"
    if step == NONE:
        return {MapLayer.BOXES: "none known", MapLayer.WATCHING: "none"}.get(layer, "none found")
    low, high = layer_bands(release, layer)[step - 1]
    if layer in (MapLayer.BOXES, MapLayer.WATCHING):
        return span(low, high)
    return f"at least {number(low)}"


def extent(region: Region, *, cell_size_m: int) -> str:
    """Return how large a region is: squares, and the dwelling-sized buildings in them."""
    squares = (
        f"one square of {cell_size_m} m by {cell_size_m} m"
        if len(region.cells) == 1
        else f"{number(len(region.cells))} squares of {cell_size_m} m by {cell_size_m} m together"
    )
    return f"{squares}, with {number(region.premises)} homes and other premises"


def streets_squares(name: str, *, found: int, looked: int, unknown: int) -> str:
    """Return what is known of swift nests along a street, as a count of its squares.

    The counts are of squares, never of nests: figures are not added up along a street.
    """
    total = found + looked + unknown
    if total == 0:
        return f"{name} runs through no square of the map."
    opening = f"{name} runs through {_squares(total)} of the map."
    parts = []
    if found:
        parts.append(f"Swift nest sites have been found in {_of(found, total)}.")
    if looked:
        parts.append(f"Watching has found none so far in {_of(looked, total)}.")
    if unknown:
        parts.append(_unwatched(unknown, total))
    return " ".join([opening, *parts])


def box_use(use: BoxUse | DistrictUse | None) -> str:
    """Return what is known of the use of boxes, without a bare percentage."""
    if use is None:
        return "too few buildings checked to say"
    checked = amount(use.buildings_checked, "building", "buildings")
    if use.used_at_least == 0:
        return f"no swifts seen using the boxes at the {checked} checked"
    return (
        f"swifts used boxes at no fewer than {number(use.used_at_least)} of the {checked} checked"
    )


def boxes_standing(count: int, town: str) -> str:
    """Return the sentence that opens the page of boxes."""
    if count == 0:
        return f"We know of no nest box for swifts or house martins in {town} yet."
    verb = "is" if count == 1 else "are"
    boxes = amount(count, "nest box", "nest boxes")
    return f"There {verb} {boxes} for swifts or house martins in {town}."


def street_mark(kind: str) -> str:
    """Return what a street's mark in the index means, for those who hear the page."""
    return {
        "some": "swift nest sites found in at least one of its squares",
        "none": "watched, none found",
    }.get(kind, "not watched enough to say")


def largest_party(season: TownSeason) -> str:
    """Return the largest screaming party's size."""
    if season.largest_party is None:
        return "not recorded"
    return amount(season.largest_party, "bird", "birds")


def smallest_region(release: PublicRelease) -> int:
    """Return the premises in the smallest region that is shown."""
    return min((region.premises for region in release.regions if region.premises), default=0)


def smallest_words(release: PublicRelease) -> str:
    """Return the sentence that says how small the smallest region is."""
    smallest = smallest_region(release)
    if smallest == 0:
        return ""
    return (
        f"The smallest that is shown holds {number(smallest)} of them, and "
        f"{single_share(release)} of all homes and premises lie in a square that needed no joining."
    )


def size(size_bytes: int) -> str:
    """Return a file's size.

    >>> size(900), size(15_300), size(2_400_000)
    ('1 kB', '15 kB', '2.4 MB')
    """
    if size_bytes >= 1_000_000:  # noqa: PLR2004 - bytes in a megabyte
        return f"{size_bytes / 1e6:.1f} MB"
    return f"{max(1, round(size_bytes / 1000))} kB"


def widest_region(release: PublicRelease) -> int:
    """Return the squares in the largest region."""
    return max((len(region.cells) for region in release.regions), default=0)


def single_share(release: PublicRelease) -> str:
    """Return the share of premises that lie in a region of a single square."""
    whole = sum(region.premises for region in release.regions)
    single = sum(region.premises for region in release.regions if len(region.cells) == 1)
    return share(single, whole)


def _unwatched(unknown: int, total: int) -> str:
    if unknown == total:
        subject = "It has not" if total == 1 else "None of them has"
        return f"{subject} been watched enough to say."
    verb = "has" if unknown == 1 else "have"
    return f"{_of(unknown, total).capitalize()} {verb} not been watched enough to say."


def _squares(count: int) -> str:
    return "one square" if count == 1 else f"{number(count)} squares"


def _of(part: int, whole: int) -> str:
    if part == whole:
        return {1: "it", 2: "both of them"}.get(whole, f"all {number(whole)} of them")
    return f"{number(part)} of them" if part > 1 else "one of them"
