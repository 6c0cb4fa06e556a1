"""What a page says of a square or a street, worked out before a template sees it."""

from __future__ import annotations

import unicodedata
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from markupsafe import Markup, escape

from eaveline.messages import gettext as _
from eaveline.public.maps import palette
from eaveline.public.maps.layers import (
    ALL_SEASONS,
    NONE,
    NOT_LOOKED,
    MapLayer,
    evidence_words,
    layer_bands,
    layer_figures,
    region_name,
    region_number,
    season_words,
    step_of,
    step_words,
    steps,
)
from eaveline.public.maps.still_maps import step_colours, swatch
from eaveline.public.records import EvidenceClass, Finding, Species
from eaveline.public.words.wording import cell_words, extent

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from eaveline.public.maps.basemap import BaseMap
    from eaveline.public.records import BandedCount, OpenSite, PublicRelease

NO_LETTER = "0–9"
_KINDS = {NOT_LOOKED: "unknown", NONE: "none"}


@dataclass(frozen=True, slots=True)
class Answer:
    """One of the three answers, for one layer and season."""

    words: Markup
    """A sentence's worth."""
    short: Markup
    """As much as a table's cell holds."""
    kind: Markup
    """``some``, ``none`` or ``unknown``."""


@dataclass(frozen=True, slots=True)
class SquareView:
    """A region as pages show it."""

    id: str
    name: str
    number: str
    extent: str
    overall: tuple[Answer, ...]
    """All seasons together, one for each layer."""
    seasons: tuple[tuple[str, tuple[Answer, ...]], ...]
    """Newest first."""
    listed: tuple[OpenSite, ...]
    """Places in it whose owners agreed to be shown."""
    nothing_known: bool
    confirmed: tuple[str, ...]
    """When a nest of each species was last confirmed in it, in words; a species without one
    is left out."""


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


@dataclass(frozen=True, slots=True)
class LegendEntry:
    """A shade of a still map, and its meaning."""

    swatch: Markup
    words: str


def legend(release: PublicRelease, layer: MapLayer) -> tuple[LegendEntry, ...]:
    """Return a still map's legend."""
    edge = palette.outline(layer)
    return tuple(
        LegendEntry(
            swatch(colour, edge=edge, hatched=step == NOT_LOOKED), step_words(release, layer, step)
        )
        for step, colour in step_colours(release, layer).items()
    )


def square_views(release: PublicRelease) -> dict[str, SquareView]:
    """Return every region by id."""
    seasons = (ALL_SEASONS, *reversed(release.seasons))
    answers = {season: _answers(release, season) for season in seasons}
    confirmed = last_confirmed(release)
    return {
        region.id: SquareView(
            id=region.id,
            name=region_name(region.id, cells=len(region.cells)),
            number=region_number(region.id),
            extent=extent(region, cell_size_m=release.rule.cell_size_m),
            overall=answers[ALL_SEASONS][region.id],
            seasons=tuple(
                (season_words(season), answers[season][region.id])
                for season in reversed(release.seasons)
            ),
            listed=tuple(site for site in release.open_sites if site.cell in region.cells),
            nothing_known=all(answer.kind != "some" for answer in answers[ALL_SEASONS][region.id]),
            confirmed=tuple(
                _confirmed_words(species, season)
                for species, season in confirmed.get(region.id, {}).items()
            ),
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


def _confirmed_words(species: Species, season: str) -> str:
    if species is Species.SWIFT:
        return _("A swift nest was last confirmed here in %(season)s.", season=season)
    return _("A house martin nest was last confirmed here in %(season)s.", season=season)


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
    """Return a season's answers by region, one for each layer; equal figures share one answer."""
    columns: list[Sequence[Answer]] = []
    for layer in MapLayer:
        bands = layer_bands(release, layer)
        figures = layer_figures(release, layer)[season]
        made: dict[tuple[object, ...], Answer] = {}
        column = []
        for region in release.regions:
            figure = figures[region.id]
            key = (figure.low, getattr(figure, "state", None), getattr(figure, "surest", None))
            if key not in made:
                made[key] = _answer(release, layer, figure, step_of(figure, bands))
            column.append(made[key])
        columns.append(column)
    rows = zip(*columns, strict=True)
    return {region.id: row for region, row in zip(release.regions, rows, strict=True)}


def _answer(
    release: PublicRelease, layer: MapLayer, figure: Finding | BandedCount, step: int
) -> Answer:
    answer = step_words(release, layer, step)
    surest = evidence_words(figure.surest) if isinstance(figure, Finding) else ""
    return Answer(
        # Escaped once here and not again in each of thousands of cells.
        words=escape(
            _("%(answer)s; %(evidence)s", answer=answer, evidence=surest) if surest else answer
        ),
        short=escape(cell_words(release, layer, step)),
        kind=Markup(_KINDS.get(step, "some")),  # noqa: S704 - one of our own three words
    )


def _sort_key(name: str) -> str:
    """Return a name's letters and digits without accents, for ordering as an index does."""
    plain = unicodedata.normalize("NFKD", name).casefold()
    return "".join(char for char in plain if char.isalnum() or char == " ").strip()
