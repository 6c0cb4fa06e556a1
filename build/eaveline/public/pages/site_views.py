"""What a page says of a square or a street, worked out before a template sees it."""

from __future__ import annotations

import unicodedata
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from markupsafe import Markup, escape

from eaveline.public.maps.layers import (
    ALL_SEASONS,
    NONE,
    NOT_LOOKED,
    MapLayer,
    layer_bands,
    layer_figures,
    region_name,
    region_number,
    season_words,
    step_of,
    steps,
)
from eaveline.public.maps.legends import swatches
from eaveline.public.records import EvidenceClass, Species
from eaveline.public.words.square_words import Sentence, homes, square_sentences
from eaveline.public.words.wording import cell_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from eaveline.public.maps.basemap import BaseMap
    from eaveline.public.records import OpenSite, PublicRelease

NO_LETTER = "0–9"
_KINDS = {NOT_LOOKED: "unknown", NONE: "none"}
_WITHOUT_LOOKING = {MapLayer.BOXES, MapLayer.WATCHING}
"""Layers whose none does not say that anybody looked."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One of the three answers, for one layer and season, in a table's cell."""

    short: Markup
    kind: Markup
    """``some``, ``none`` or ``unknown``."""
    tells: bool
    """Whether anything was found, or looked for long enough."""


@dataclass(frozen=True, slots=True)
class SquareView:
    """A region as pages show it."""

    id: str
    name: str
    number: str
    swatch: Markup
    """Its shade on the still map of swift nest sites."""
    homes: str
    sentences: tuple[Sentence, ...]
    """All seasons together, in words."""
    overall: tuple[Answer, ...]
    """All seasons together, one for each layer."""
    seasons: tuple[tuple[str, tuple[Answer, ...]], ...]
    """Newest first; a season in which nothing was found and little watched is left out."""
    listed: tuple[OpenSite, ...]
    """Places in it whose owners agreed to be shown."""
    nothing_known: bool


@dataclass(frozen=True, slots=True)
class StreetView:
    """A street as pages show it. It has no figure of its own, only its squares'."""

    slug: str
    name: str
    regions: tuple[str, ...]
    """Ids of the regions it runs through."""
    found: int
    """How many of them have swift nest sites."""
    looked: int
    """How many were watched, with none found."""
    unknown: int
    """How many were not watched enough to say."""
    nothing_known: bool
    """True if no layer has anything in any of its squares."""

    @property
    def kind(self) -> str:
        """The street's mark in the index."""
        if self.found:
            return "some"
        return "none" if self.looked and not self.unknown else "unknown"


def square_views(release: PublicRelease) -> dict[str, SquareView]:
    """Return every region by id."""
    seasons = (ALL_SEASONS, *reversed(release.seasons))
    answers = {season: _answers(release, season) for season in seasons}
    sentences = square_sentences(release, confirmed=last_confirmed(release))
    shades = swatches(release, MapLayer.SWIFT_NESTS)
    shown = steps(release, MapLayer.SWIFT_NESTS)
    return {
        region.id: SquareView(
            id=region.id,
            name=region_name(region.id, cells=len(region.cells)),
            number=region_number(region.id),
            swatch=shades[shown[region.id]],
            homes=homes(region),
            sentences=sentences[region.id],
            overall=answers[ALL_SEASONS][region.id],
            seasons=tuple(
                (season_words(season), answers[season][region.id])
                for season in reversed(release.seasons)
                if any(answer.tells for answer in answers[season][region.id])
            ),
            listed=tuple(site for site in release.open_sites if site.cell in region.cells),
            nothing_known=all(answer.kind != "some" for answer in answers[ALL_SEASONS][region.id]),
        )
        for region in release.regions
    }


def last_confirmed(release: PublicRelease) -> dict[str, dict[Species, str]]:
    """Return for each region the last season in which a nest of each species was confirmed.

    It is read off the surest evidence that the release gives for each region and season, so
    it tells nothing that is not public already.
    """
    found: dict[str, dict[Species, str]] = {}
    for species in Species:
        layer = release.layers.nest_sites[species]
        for season in release.seasons:  # oldest first, so that the newest stays
            for region, finding in layer[season].items():
                if finding.surest is EvidenceClass.CONFIRMED:
                    found.setdefault(region, {})[species] = season
    return found


def street_views(
    release: PublicRelease, basemap: BaseMap, squares: Mapping[str, SquareView]
) -> tuple[StreetView, ...]:
    """Return every street of the base map, in the order of a street index."""
    nests = steps(release, MapLayer.SWIFT_NESTS)
    quiet = {name for name, square in squares.items() if square.nothing_known}
    crossed: defaultdict[str, list[str]] = defaultdict(list)
    for region in release.regions:
        for slug in region.streets:
            crossed[slug].append(region.id)
    views = []
    for street in basemap.streets:
        regions = tuple(sorted(crossed[street.slug]))
        found = sum(nests[region_id] > NONE for region_id in regions)
        looked = sum(nests[region_id] == NONE for region_id in regions)
        views.append(
            StreetView(
                slug=street.slug,
                name=street.name,
                regions=regions,
                found=found,
                looked=looked,
                unknown=len(regions) - found - looked,
                nothing_known=quiet.issuperset(regions),
            )
        )
    return tuple(sorted(views, key=lambda street: (_sort_key(street.name), street.slug)))


def letters(streets: Iterable[StreetView]) -> tuple[tuple[str, tuple[StreetView, ...]], ...]:
    """Return the streets by first letter, in order."""
    groups: defaultdict[str, list[StreetView]] = defaultdict(list)
    for street in streets:
        first = _sort_key(street.name)[:1].upper()
        groups[first if first.isalpha() else NO_LETTER].append(street)
    return tuple((letter, tuple(groups[letter])) for letter in sorted(groups))


def _answers(release: PublicRelease, season: str) -> dict[str, tuple[Answer, ...]]:
    """Return a season's answers by region, one for each layer; equal steps share one answer."""
    columns: list[Sequence[Answer]] = []
    for layer in MapLayer:
        bands = layer_bands(release, layer)
        figures = layer_figures(release, layer)[season]
        made: dict[int, Answer] = {}
        column = []
        for region in release.regions:
            step = step_of(figures[region.id], bands)
            if step not in made:
                made[step] = _answer(release, layer, step)
            column.append(made[step])
        columns.append(column)
    rows = zip(*columns, strict=True)
    return {region.id: row for region, row in zip(release.regions, rows, strict=True)}


def _answer(release: PublicRelease, layer: MapLayer, step: int) -> Answer:
    return Answer(
        # Escaped once here and not again in each of thousands of cells.
        short=escape(cell_words(release, layer, step)),
        kind=Markup(_KINDS.get(step, "some")),  # noqa: S704 - one of our own three words
        tells=step > NONE or (step == NONE and layer not in _WITHOUT_LOOKING),
    )


def _sort_key(name: str) -> str:
    """Return a name's letters and digits without accents, for ordering as an index does."""
    plain = unicodedata.normalize("NFKD", name).casefold()
    return "".join(char for char in plain if char.isalnum() or char == " ").strip()
