"""What the map can show, in readers' words.

A figure becomes a step: `NOT_LOOKED`, `NONE`, or 1, 2, 3 ... for the bands of the release's
rule. The moving map, the still maps, the tables and the squares' file all speak through
these steps, so they cannot disagree.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

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


@dataclass(frozen=True, slots=True)
class LayerText:
    """A layer's words."""

    title: str
    one: str
    """What is counted, singular."""
    many: str


LAYER_TEXT = {
    MapLayer.SWIFT_NESTS: LayerText("Swift nest sites", "swift nest site", "swift nest sites"),
    MapLayer.MARTIN_NESTS: LayerText(
        "House martin nest sites", "house martin nest site", "house martin nest sites"
    ),
    MapLayer.PARTIES: LayerText("Screaming parties", "screaming party", "screaming parties"),
    MapLayer.BOXES: LayerText("Nest boxes", "nest box", "nest boxes"),
    MapLayer.WATCHING: LayerText("Hours of watching", "hour", "hours"),
}


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
    text = LAYER_TEXT[layer]
    if step == NOT_LOOKED:
        return "Not watched enough to say"
    if step == NONE:
        return {
            MapLayer.BOXES: "No nest box known",
            MapLayer.WATCHING: "Not watched",
        }.get(layer, f"Watched, no {text.one} found")
    low, high = layer_bands(release, layer)[step - 1]
    noun = text.one if (high or low) == 1 else text.many
    if layer is MapLayer.WATCHING:
        return f"Watched for {_span(low, high)} {noun}"
    if layer is MapLayer.BOXES:
        return f"{_span(low, high)} {noun}"
    return f"At least {low} {text.one if low == 1 else text.many}"


def evidence_words(surest: EvidenceClass | None) -> str:
    """Return the surest evidence in words, or nothing."""
    return f"surest evidence: {surest.value} breeding" if surest else ""


def region_number(region_id: str) -> str:
    """Return a region's number for readers: ``17`` for ``R017``."""
    return str(int(region_id[1:]))


def region_name(region_id: str, *, cells: int) -> str:
    """Return a region's name for readers: ``Square 17``, or ``Group of squares 17``."""
    kind = "Square" if cells == 1 else "Group of squares"
    return f"{kind} {region_number(region_id)}"


def seasons_shown(release: PublicRelease) -> tuple[str, ...]:
    """Return what can be chosen: all seasons together, then each, newest first."""
    return (ALL_SEASONS, *reversed(release.seasons))


def season_words(season: str) -> str:
    """Return a season for readers: its year, or ``all seasons``."""
    return "all seasons" if season == ALL_SEASONS else season


def _span(low: int, high: int | None) -> str:
    if high is None:
        return f"{low} or more"
    if high == low + 1:
        return f"{low} or {high}"
    return str(low) if low == high else f"{low} to {high}"


def step_label(release: PublicRelease, layer: MapLayer, step: int) -> str:
    """Return a step short enough to stand in a square: ``3+``, or ``3-5`` for boxes."""
    if step <= NONE:
        return ""
    low, high = layer_bands(release, layer)[step - 1]
    if high is None or layer not in {MapLayer.BOXES, MapLayer.WATCHING}:
        return f"{low}+"
    # An en dash, as ranges have it in print.
    return str(low) if low == high else f"{low}\N{EN DASH}{high}"


def step_cell(release: PublicRelease, layer: MapLayer, step: int) -> str:
    """Return a step for a cell of a table whose heading names the layer."""
    if step == NOT_LOOKED:
        return "not known"
    if step == NONE:
        return {MapLayer.BOXES: "none known", MapLayer.WATCHING: "none"}.get(layer, "none found")
    low, high = layer_bands(release, layer)[step - 1]
    if layer in {MapLayer.BOXES, MapLayer.WATCHING}:
        return _span(low, high)
    return f"at least {low}"
