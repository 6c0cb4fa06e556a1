"""What the map can show, in readers' words.

A figure becomes a step: `NOT_LOOKED`, `NONE`, or 1, 2, 3 ... for the bands of the release's
rule. The moving map, the still maps, the tables and the squares' file all speak through
these steps, so they cannot disagree.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

from eaveline.messages import gettext as _
from eaveline.messages import ngettext, number, pgettext
from eaveline.public.records import (
    BandedCount,
    CountLayer,
    EvidenceClass,
    Finding,
    FindingLayer,
    PublicRelease,
    Species,
    State,
)

ALL_SEASONS = "all"
NOT_LOOKED = -1
NONE = 0

_Band = tuple[int, int | None]


class MapLayer(StrEnum):
    """A layer of the map; the value is its name in files and forms."""

    SWIFT_NESTS = "swift-nests"
    MARTIN_NESTS = "martin-nests"
    PARTIES = "parties"
    BOXES = "boxes"
    WATCHING = "watching"


def layer_title(layer: MapLayer) -> str:
    """Return a layer's title, to stand alone."""
    match layer:
        case MapLayer.SWIFT_NESTS:
            return _("Swift nest sites")
        case MapLayer.MARTIN_NESTS:
            return _("House martin nest sites")
        case MapLayer.PARTIES:
            return _("Screaming parties")
        case MapLayer.BOXES:
            return _("Nest boxes")
        case MapLayer.WATCHING:
            return _("Hours of watching")


def layer_name(layer: MapLayer) -> str:
    """Return a layer's name within a line of words."""
    match layer:
        case MapLayer.SWIFT_NESTS:
            return _("swift nest sites")
        case MapLayer.MARTIN_NESTS:
            return _("house martin nest sites")
        case MapLayer.PARTIES:
            return _("screaming parties")
        case MapLayer.BOXES:
            return _("nest boxes")
        case MapLayer.WATCHING:
            return _("hours of watching")


def layer_figures(release: PublicRelease, layer: MapLayer) -> FindingLayer | CountLayer:
    """Return a layer's figures by season (or ``all``), then by region."""
    layers = release.layers
    match layer:
        case MapLayer.SWIFT_NESTS:
            return layers.nest_sites[Species.SWIFT]
        case MapLayer.MARTIN_NESTS:
            return layers.nest_sites[Species.HOUSE_MARTIN]
        case MapLayer.PARTIES:
            return layers.screaming_parties
        case MapLayer.BOXES:
            return layers.boxes
        case MapLayer.WATCHING:
            return layers.watching


def layer_bands(release: PublicRelease, layer: MapLayer) -> tuple[_Band, ...]:
    """Return the bands a layer's figures fall in, lowest first, without a band for none."""
    bands = release.rule.hour_bands if layer is MapLayer.WATCHING else release.rule.bands
    return tuple(band for band in bands if band[0] > 0)


def step_of(figure: Finding | BandedCount, bands: Sequence[_Band]) -> int:
    """Return a figure's step: `NOT_LOOKED`, `NONE`, or the number of its band, from 1.

    Top-coding may leave a `low` inside a band, so the band is the last that starts no higher.
    """
    if figure.low is None:
        looked = not isinstance(figure, Finding) or figure.state is State.LOOKED
        return NONE if looked else NOT_LOOKED
    starting = [number for number, (low, _) in enumerate(bands, start=1) if low <= figure.low]
    return starting[-1] if starting else 1


def steps(release: PublicRelease, layer: MapLayer, *, season: str = ALL_SEASONS) -> dict[str, int]:
    """Return every region's step in one layer and season, by region id."""
    bands = layer_bands(release, layer)
    figures = layer_figures(release, layer)[season]
    return {region.id: step_of(figures[region.id], bands) for region in release.regions}


def step_words(release: PublicRelease, layer: MapLayer, step: int) -> str:
    """Return what a step means, for a legend, a table or a tooltip.

    Nest sites and screaming parties are told as 'at least', because their counts are
    capped before they are banded.
    """
    if step == NOT_LOOKED:
        return _("Not watched enough to say")
    if step == NONE:
        return _none_words(layer)
    return _band_words(layer, *layer_bands(release, layer)[step - 1])


def _band_words(layer: MapLayer, low: int, high: int | None) -> str:
    most = low + 1 if high is None else high
    match layer:
        case MapLayer.SWIFT_NESTS:
            return ngettext(
                "At least %(num)s swift nest site", "At least %(num)s swift nest sites", low
            )
        case MapLayer.MARTIN_NESTS:
            return ngettext(
                "At least %(num)s house martin nest site",
                "At least %(num)s house martin nest sites",
                low,
            )
        case MapLayer.PARTIES:
            return ngettext(
                "At least %(num)s screaming party", "At least %(num)s screaming parties", low
            )
        case MapLayer.BOXES:
            return ngettext("%(span)s nest box", "%(span)s nest boxes", most, span=span(low, high))
        case MapLayer.WATCHING:
            return ngettext(
                "Watched for %(span)s hour",
                "Watched for %(span)s hours",
                most,
                span=span(low, high),
            )


def _none_words(layer: MapLayer) -> str:
    match layer:
        case MapLayer.SWIFT_NESTS:
            return _("Watched, no swift nest site found")
        case MapLayer.MARTIN_NESTS:
            return _("Watched, no house martin nest site found")
        case MapLayer.PARTIES:
            return _("Watched, no screaming party found")
        case MapLayer.BOXES:
            return _("No nest box known")
        case MapLayer.WATCHING:
            return _("Not watched")


def evidence_words(surest: EvidenceClass | None) -> str:
    """Return the surest evidence in words, or nothing."""
    match surest:
        case EvidenceClass.POSSIBLE:
            return _("surest evidence: possible breeding")
        case EvidenceClass.PROBABLE:
            return _("surest evidence: probable breeding")
        case EvidenceClass.CONFIRMED:
            return _("surest evidence: confirmed breeding")
        case None:
            return ""


def region_number(region_id: str) -> str:
    """Return a region's number for readers: ``17`` for ``R017``."""
    return str(int(region_id[1:]))


def region_name(region_id: str, *, cells: int) -> str:
    """Return a region's name for readers: ``Square 17``, or ``Group of squares 17``."""
    own = region_number(region_id)
    if cells == 1:
        return _("Square %(number)s", number=own)
    return _("Group of squares %(number)s", number=own)


def seasons_shown(release: PublicRelease) -> tuple[str, ...]:
    """Return what can be chosen: all seasons together, then each, newest first."""
    return (ALL_SEASONS, *reversed(release.seasons))


def season_words(season: str) -> str:
    """Return a season for readers: its year, or ``all seasons``."""
    return _("all seasons") if season == ALL_SEASONS else season


def span(low: int, high: int | None) -> str:
    """Return a band in words.

    >>> span(1, 2), span(3, 5), span(2, 2), span(11, None)
    ('1 or 2', '3 to 5', '2', '11 or more')
    """
    if high is None:
        return _("%(low)s or more", low=number(low))
    if low == high:
        return number(low)
    if high == low + 1:
        return _("%(low)s or %(high)s", low=number(low), high=number(high))
    return _("%(low)s to %(high)s", low=number(low), high=number(high))


def step_label(release: PublicRelease, layer: MapLayer, step: int) -> str:
    """Return a step short enough to stand in a square: ``3+``, or ``3-5`` for boxes."""
    if step <= NONE:
        return ""
    low, high = layer_bands(release, layer)[step - 1]
    if high is None or layer not in {MapLayer.BOXES, MapLayer.WATCHING}:
        return f"{number(low)}+"
    # An en dash, as ranges have it in print.
    return number(low) if low == high else f"{number(low)}\N{EN DASH}{number(high)}"


def step_cell(release: PublicRelease, layer: MapLayer, step: int) -> str:
    """Return a step for a cell of a table whose heading names the layer."""
    if step == NOT_LOOKED:
        return _("not known")
    if step == NONE:
        return none_cell(layer)
    low, high = layer_bands(release, layer)[step - 1]
    if layer in {MapLayer.BOXES, MapLayer.WATCHING}:
        return span(low, high)
    return at_least_cell(layer, low)


def none_cell(layer: MapLayer) -> str:
    """Return that there are none, for a cell of a table whose heading names the layer."""
    match layer:
        case MapLayer.SWIFT_NESTS | MapLayer.MARTIN_NESTS:
            return pgettext("nest sites", "none found")
        case MapLayer.PARTIES:
            return pgettext("screaming parties", "none found")
        case MapLayer.BOXES:
            return pgettext("nest boxes", "none known")
        case MapLayer.WATCHING:
            return pgettext("hours of watching", "none")


def at_least_cell(layer: MapLayer, low: int) -> str:
    """Return a capped count for a cell of a table whose heading names the layer."""
    if layer is MapLayer.PARTIES:
        return pgettext("screaming parties", "at least %(number)s", number=number(low))
    return pgettext("nest sites", "at least %(number)s", number=number(low))
