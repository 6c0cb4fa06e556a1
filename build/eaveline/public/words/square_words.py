"""What is known of one square, in a few plain sentences.

What was found comes first, then how long the square was watched, then what watching has not
found or cannot tell yet. Equal figures are put into words once.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from eaveline.messages import gettext as _
from eaveline.messages import ngettext, number, together
from eaveline.public.maps.layers import (
    ALL_SEASONS,
    NONE,
    NOT_LOOKED,
    MapLayer,
    layer_bands,
    layer_figures,
    region_number,
    step_of,
    step_words,
)
from eaveline.public.records import EvidenceClass, Finding, Species

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from eaveline.public.records import PublicRelease, Region

_NESTS = {MapLayer.SWIFT_NESTS: Species.SWIFT, MapLayer.MARTIN_NESTS: Species.HOUSE_MARTIN}


class Kind(StrEnum):
    """What a sentence is about: nests told by one of the three answers, or something else."""

    SOME = "some"
    NONE = "none"
    UNKNOWN = "unknown"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence of a square."""

    words: str
    kind: Kind


def square_sentences(
    release: PublicRelease, *, confirmed: Mapping[str, Mapping[Species, str]]
) -> dict[str, tuple[Sentence, ...]]:
    """Return what is known of every region over all seasons, by region id.

    Parameters
    ----------
    release
        The public figures; nothing else goes in.
    confirmed
        For each region the last season in which a nest of each species was confirmed.
    """
    figures = {layer: layer_figures(release, layer)[ALL_SEASONS] for layer in MapLayer}
    bands = {layer: layer_bands(release, layer) for layer in MapLayer}
    made: dict[tuple[object, ...], tuple[Sentence, ...]] = {}
    told = {}
    for region in release.regions:
        steps = {layer: step_of(figures[layer][region.id], bands[layer]) for layer in MapLayer}
        sure = {}
        for layer, species in _NESTS.items():
            figure = figures[layer][region.id]
            surest = figure.surest if isinstance(figure, Finding) else None
            sure[layer] = (surest, confirmed.get(region.id, {}).get(species))
        key = (*steps.values(), *sure.values())
        if key not in made:
            made[key] = _sentences(release, steps, sure)
        told[region.id] = made[key]
    return told


def homes(region: Region) -> str:
    """Return how many homes a region holds, and of how many squares it is made if of several."""
    if len(region.cells) == 1:
        return ngettext(
            "%(num)s home or other premises", "%(num)s homes and other premises", region.premises
        )
    return ngettext(
        "%(num)s square together: %(premises)s homes and other premises",
        "%(num)s squares together: %(premises)s homes and other premises",
        len(region.cells),
        premises=number(region.premises),
    )


def nothing_yet(region_ids: Iterable[str]) -> str:
    """Return the one sentence for all the regions of a street that hold nothing at all."""
    numbers = [region_number(region_id) for region_id in region_ids]
    return ngettext(
        "Nothing is known yet of square %(squares)s: too little watching, and no reports.",
        "Nothing is known yet of squares %(squares)s: too little watching, and no reports.",
        len(numbers),
        squares=together(numbers),
    )


def _sentences(
    release: PublicRelease,
    steps: Mapping[MapLayer, int],
    sure: Mapping[MapLayer, tuple[EvidenceClass | None, str | None]],
) -> tuple[Sentence, ...]:
    found = []
    for layer in MapLayer:
        if steps[layer] > NONE:
            answer = step_words(release, layer, steps[layer])
            kind = Kind.SOME if layer in _NESTS else Kind.OTHER
            found.append(Sentence(_found(answer, *sure.get(layer, (None, None))), kind))
    return (*found, *_not_found(steps))


def _found(answer: str, surest: EvidenceClass | None, confirmed: str | None) -> str:
    match surest:
        case EvidenceClass.CONFIRMED if confirmed:
            return _(
                "%(answer)s; a nest was last confirmed in %(season)s.",
                answer=answer,
                season=confirmed,
            )
        case EvidenceClass.PROBABLE:
            return _("%(answer)s, none confirmed yet: probable at best.", answer=answer)
        case EvidenceClass.POSSIBLE:
            return _("%(answer)s, none confirmed yet: possible at best.", answer=answer)
        case _other:
            return _("%(answer)s.", answer=answer)


def _not_found(steps: Mapping[MapLayer, int]) -> list[Sentence]:
    """Say what was looked for in vain, then what nobody can say yet."""
    swifts, martins = steps[MapLayer.SWIFT_NESTS], steps[MapLayer.MARTIN_NESTS]
    none = []
    match swifts == NONE, martins == NONE:
        case True, True:
            none.append(_("No nest of swifts or house martins found by watching."))
        case True, False:
            none.append(_("No swift nest found by watching."))
        case False, True:
            none.append(_("No house martin nest found by watching."))
    if steps[MapLayer.PARTIES] == NONE:
        none.append(_("No screaming party seen on watches."))
    unknown = []
    match swifts == NOT_LOOKED, martins == NOT_LOOKED:
        case True, True:
            unknown.append(
                _("Not watched enough to say whether swifts or house martins nest here.")
            )
        case True, False:
            unknown.append(_("Not watched enough to say whether swifts nest here."))
        case False, True:
            unknown.append(_("Not watched enough to say whether house martins nest here."))
    return [
        *(Sentence(words, Kind.NONE) for words in none),
        *(Sentence(words, Kind.UNKNOWN) for words in unknown),
    ]
