"""Which streets the group would like to hear from, by the squares they run through.

Made from the release alone, so the answer is the same wherever in a square the birds are.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from eaveline.public.records import PublicRelease, Species, State

RECENT_SEASONS = 3
"""Older signs no longer say that swifts are about."""


@dataclass(frozen=True, slots=True)
class OfferStreets:
    """Slugs of streets, each in order of its slug.

    Attributes
    ----------
    boxes
        They run through a square with signs of swifts: boxes stand a chance there.
    watch
        None of their squares has signs, and at least one was not watched enough to say.
    """

    boxes: tuple[str, ...]
    watch: tuple[str, ...]


def offer_streets(release: PublicRelease) -> OfferStreets:
    """Return the streets by what their squares show of the last seasons.

    Parameters
    ----------
    release
        Every public figure.
    """
    recent = release.seasons[-RECENT_SEASONS:]
    near = {
        region.id
        for region in release.regions
        if _states(release, region.id, recent) & {State.SOME}
    }
    unknown = {
        region.id
        for region in release.regions
        if _states(release, region.id, recent) <= {State.NOT_LOOKED}
    }
    crossed: defaultdict[str, set[str]] = defaultdict(set)
    for region in release.regions:
        for slug in region.streets:
            crossed[slug].add(region.id)
    boxes = tuple(sorted(slug for slug, regions in crossed.items() if regions & near))
    watch = tuple(
        sorted(
            slug for slug, regions in crossed.items() if not regions & near and regions & unknown
        )
    )
    return OfferStreets(boxes, watch)


def _states(release: PublicRelease, region: str, seasons: Sequence[str]) -> set[State]:
    layers = (release.layers.nest_sites[Species.SWIFT], release.layers.screaming_parties)
    return {layer[season][region].state for layer in layers for season in seasons}
