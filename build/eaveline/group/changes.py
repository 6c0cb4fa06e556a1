"""What a reader of the site will find changed since it was last published, in plain words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from eaveline.public.records import CountLayer, FindingLayer, PublicRelease, Species
from eaveline.public.words.phrases import date

_SECTIONS = {
    "streets": ("street page", "street pages"),
    "news": ("news page", "news pages"),
    "data": ("download", "downloads"),
    "images": ("picture", "pictures"),
}
_BEHIND_THE_SCENES = ("theme/", "map/", "feeds/", "search/")
"""Their files change with the pages, or with the look alone."""


@dataclass(frozen=True)
class Published:
    """A site as it was handed over."""

    files: Mapping[str, str]
    """SHA-256 of every file, by path."""
    release: PublicRelease


def amount(value: int, one: str, many: str) -> str:
    """Return a number with its noun, for the terminal, which speaks English.

    >>> amount(1, "page", "pages"), amount(0, "page", "pages")
    ('1 page', 'no pages')
    """
    return f"{value:,} {one if value == 1 else many}" if value else f"no {many}"


def describe_changes(old: Published | None, new: Published) -> list[str]:
    """Return one sentence for each thing that changed.

    Parameters
    ----------
    old
        The site as last published, or None if it never was.
    new
        The site as it is now.
    """
    if old is None:
        pages = sum(name.endswith(".html") for name in new.files)
        made_from = amount(new.release.town_figures.records, "record", "records")
        told = f"{amount(pages, 'page', 'pages')}, made from {made_from}"
        return [f"This is the first time: {told} up to {date(new.release.made_on)}."]
    if old.files == new.files:
        return ["Nothing has changed since last time."]
    return [
        *_figure_changes(old.release, new.release),
        *_square_changes(old.release, new.release),
        *_page_changes(old.files, new.files),
    ] or ["Only the look or a word here and there has changed."]


def _figure_changes(old: PublicRelease, new: PublicRelease) -> list[str]:
    said = []
    if old.made_on != new.made_on:
        said.append(
            f"The newest record is of {date(new.made_on)}; last time of {date(old.made_on)}."
        )
    before, now = old.town_figures, new.town_figures
    figures = [
        ("Records used", before.records, now.records),
        *(
            (
                f"{species.value.capitalize()} nest sites, at least",
                before.nest_sites_at_least.get(species, 0),
                now.nest_sites_at_least.get(species, 0),
            )
            for species in Species
        ),
        ("Screaming parties", before.screaming_parties, now.screaming_parties),
        ("Boxes standing", before.boxes_standing, now.boxes_standing),
        ("Hours watched", before.hours_watched, now.hours_watched),
        ("Homes counted", before.premises, now.premises),
        ("Places shown because their owners agreed", len(old.open_sites), len(new.open_sites)),
    ]
    said += [
        f"{name}: {new_value:,} (last time {old_value:,})."
        for name, old_value, new_value in figures
        if old_value != new_value
    ]
    seasons = [season for season in new.seasons if season not in old.seasons]
    if seasons:
        said.append(f"New {'season' if len(seasons) == 1 else 'seasons'}: {', '.join(seasons)}.")
    return said


def _square_changes(old: PublicRelease, new: PublicRelease) -> list[str]:
    before, now = _by_square(old), _by_square(new)
    said = []
    different = sum(before[square] != now[square] for square in before.keys() & now.keys())
    if different:
        verb = "says" if different == 1 else "say"
        said.append(f"{amount(different, 'square', 'squares')} of the map {verb} something new.")
    gone, come = before.keys() - now.keys(), now.keys() - before.keys()
    if gone:
        said.append(
            f"{amount(len(gone), 'square', 'squares')} went into a neighbour, which no later "
            "release can undo."
        )
    if come:
        said.append(f"{amount(len(come), 'square', 'squares')} of the map are new.")
    return said


def _by_square(release: PublicRelease) -> dict[str, list[object]]:
    """Return everything the map says of each square, in a fixed order."""
    layers: list[FindingLayer | CountLayer] = [
        *(release.layers.nest_sites[species] for species in sorted(release.layers.nest_sites)),
        release.layers.screaming_parties,
        release.layers.boxes,
        release.layers.watching,
    ]
    return {
        region.id: [
            (season, figures[region.id]) for layer in layers for season, figures in layer.items()
        ]
        for region in release.regions
    }


def _page_changes(old: Mapping[str, str], new: Mapping[str, str]) -> list[str]:
    changed = {name for name in old.keys() & new.keys() if old[name] != new[name]}
    return [
        sentence
        for opening, names in (
            ("New", new.keys() - old.keys()),
            ("Gone", old.keys() - new.keys()),
            ("Changed", changed),
        )
        if (sentence := _list_pages(opening, names))
    ]


def _list_pages(opening: str, names: set[str]) -> str:
    """Return a sentence on some files: counts of the many, addresses of the few."""
    counts: dict[str, int] = {}
    pages = []
    for name in sorted(names):
        section, below, _ = name.partition("/")
        if below and section in _SECTIONS and name != f"{section}/index.html":
            counts[section] = counts.get(section, 0) + 1
        elif name.endswith("index.html") or not name.startswith(_BEHIND_THE_SCENES):
            pages.append(name.removesuffix("index.html") or "the home page")
    parts = [amount(number, *_SECTIONS[section]) for section, number in counts.items()]
    return f"{opening}: {', '.join([*parts, *pages])}." if parts or pages else ""
