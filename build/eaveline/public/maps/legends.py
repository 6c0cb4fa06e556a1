"""What the shades and marks of a map mean, for those who see it or hear it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from markupsafe import Markup

from eaveline.messages import gettext as _
from eaveline.messages import number
from eaveline.public.maps import palette
from eaveline.public.maps.layers import (
    NONE,
    NOT_LOOKED,
    MapLayer,
    layer_bands,
    region_name,
    step_words,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from eaveline.public.records import PublicRelease, Region

_NAMED_REGIONS = 8
"""More regions than this are summed up in a map's description."""
MARK_PATH = "M-7 7v-9l7-6 7 6v9z"
"""The mark of a place whose owner agreed to be shown: a gable, 14 units wide."""


class MapKey(NamedTuple):
    """What is drawn on a map, for a legend that explains no more than that."""

    steps: frozenset[int]
    """The shades that occur."""
    listed: bool
    """Whether a place whose owner agreed to be shown is marked."""


@dataclass(frozen=True, slots=True)
class LegendEntry:
    """One line of a legend."""

    swatch: Markup
    words: str


def step_colours(release: PublicRelease, layer: MapLayer) -> dict[int, str]:
    """Return the fill of each step of a layer; `NOT_LOOKED` is hatched in the colour given."""
    colours = palette.ramp(layer, len(layer_bands(release, layer)))
    return {NOT_LOOKED: palette.HATCH, NONE: palette.LOOKED} | dict(enumerate(colours, start=1))


def swatches(release: PublicRelease, layer: MapLayer) -> dict[int, Markup]:
    """Return the small square of each of a layer's steps, lowest first."""
    edge = palette.outline(layer)
    return {
        step: _swatch(colour, edge=edge, hatched=step == NOT_LOOKED)
        for step, colour in step_colours(release, layer).items()
    }


def full_legend(release: PublicRelease, layer: MapLayer) -> tuple[LegendEntry, ...]:
    """Return every shade that a layer can have."""
    three_answers = layer not in {MapLayer.BOXES, MapLayer.WATCHING}
    lowest = NOT_LOOKED if three_answers else NONE
    return tuple(
        LegendEntry(drawn, step_words(release, layer, step))
        for step, drawn in swatches(release, layer).items()
        if step >= lowest
    )


def short_legend(release: PublicRelease, layer: MapLayer, key: MapKey) -> tuple[LegendEntry, ...]:
    """Return what is drawn on one still map, its marks last."""
    entries = [
        LegendEntry(drawn, step_words(release, layer, step))
        for step, drawn in swatches(release, layer).items()
        if step in key.steps
    ]
    if key.listed:
        entries.append(
            LegendEntry(
                mark(), _("A place whose owner agreed to be shown, somewhere in its square")
            )
        )
    return tuple(entries)


def map_in_words(
    release: PublicRelease, regions: Sequence[Region], layer: MapLayer, steps: Mapping[str, int]
) -> str:
    """Tell a map in words: each region if they are few, else how many are of each kind."""
    if len(regions) <= _NAMED_REGIONS:
        return " ".join(
            _(
                "%(square)s: %(answer)s.",
                square=region_name(region.id, cells=len(region.cells)),
                answer=step_words(release, layer, steps[region.id]),
            )
            for region in regions
        )
    tally = Counter(steps[region.id] for region in regions)
    kinds = "; ".join(
        _(
            "%(answer)s: %(squares)s",
            answer=step_words(release, layer, step),
            squares=number(tally[step]),
        )
        for step in sorted(tally)
    )
    return _("Squares and groups of squares. %(kinds)s.", kinds=kinds)


def mark() -> Markup:
    """Return the mark of a listed place, as an ``svg`` element."""
    return Markup(
        '<svg class="swatch" viewBox="-10 -11 20 20" width="16" height="16" aria-hidden="true">'
        '<path d="{}" fill="#fff" stroke="{}" stroke-width="1.6"/></svg>'
    ).format(MARK_PATH, palette.INK)


def _swatch(colour: str, *, edge: str, hatched: bool) -> Markup:
    """Return a small square, as an ``svg`` element that prints like the map."""
    inside = (
        Markup('<path d="M1 8 8 1M1 15 15 1M8 15l7-7" stroke="{}" stroke-width="2"/>').format(
            colour
        )
        if hatched
        else Markup("")
    )
    return Markup(
        '<svg class="swatch" viewBox="0 0 16 16" width="16" height="16" aria-hidden="true">'
        '<path d="M1 1h14v14H1z" fill="{}" stroke="{}"/>{}</svg>'
    ).format(palette.GROUND if hatched else colour, edge, inside)
