"""Figures, maps and charts that a hand-written page asks for: ``{{ figures.hours_watched }}``.

They are set in while the page is read, so every build shows today's figures.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import partial
from typing import TYPE_CHECKING

from markdown import Extension
from markdown.preprocessors import Preprocessor
from markupsafe import escape
from rapidfuzz.process import extractOne

from eaveline.messages import gettext as _
from eaveline.public.maps.layers import MapLayer
from eaveline.public.pages.build_log import ContentError
from eaveline.public.pages.told_charts import told_charts
from eaveline.public.records import Species
from eaveline.public.words.wording import date, number

if TYPE_CHECKING:
    from markdown import Markdown

    from eaveline.public.pages.site_pages import SitePages
    from eaveline.public.pages.site_views import StreetView
    from eaveline.public.records import PublicRelease

_ASKED = re.compile(r"\{\{\s*([^{}]*?)\s*\}\}")
_BEFORE_THE_LINES_ABOVE_A_PAGE_ARE_TAKEN_OFF = 28
"""Priority, between Markdown's own 30 (line ends) and 27 (metadata): lines keep their numbers."""
_SUGGESTED = 60
"""Likeness in percent below which no name is suggested (common practice, no source)."""

Value = Callable[[], str]
"""Makes what is set in; only what a page asks for is made."""


def figure_words(release: PublicRelease) -> dict[str, str]:
    """Return the town's figures in words, by the name under which a page asks for them."""
    figures = release.town_figures
    words = {
        "records": number(figures.records),
        "premises": number(figures.premises),
        "swift_nest_sites": number(figures.nest_sites_at_least.get(Species.SWIFT, 0)),
        "house_martin_nest_sites": number(figures.nest_sites_at_least.get(Species.HOUSE_MARTIN, 0)),
        "boxes_fitted": number(figures.boxes_standing),
        "hours_watched": number(figures.hours_watched),
        "screaming_parties": number(figures.screaming_parties),
        "squares": number(len(release.regions)),
        "seasons": number(len(release.seasons)),
        "newest_record": date(release.made_on),
    }
    if release.seasons:
        words |= {"first_season": release.seasons[0], "latest_season": release.seasons[-1]}
    return words


class LiveFigures(Extension):
    """Markdown with ``{{ figures.name }}``, ``{{ charts.name }}`` and ``{{ maps.town }}``.

    Parameters
    ----------
    site
        The pages' own figures and maps; ``{{ maps.street-name }}`` is a street's.
    """

    def __init__(self, site: SitePages) -> None:
        """Name what can be asked for."""
        super().__init__()
        self._values: dict[str, Value] = {
            f"figures.{name}": partial(str, words)
            for name, words in figure_words(site.release).items()
        }
        self._drawn: dict[str, Value] = {"maps.town": partial(_town_map, site)}
        self._drawn |= {f"charts.{name}": draw for name, draw in told_charts(site).items()}
        for street in site.streets:
            self._drawn[f"maps.{street.slug}"] = partial(_street_map, site, street)

    def extendMarkdown(self, md: Markdown) -> None:  # noqa: N802 - Markdown's name
        """Set the values in before anything else reads the page."""
        md.preprocessors.register(
            _SetIn(md, self._values, self._drawn),
            "live_figures",
            _BEFORE_THE_LINES_ABOVE_A_PAGE_ARE_TAKEN_OFF,
        )


class _SetIn(Preprocessor):
    def __init__(self, md: Markdown, values: dict[str, Value], drawn: dict[str, Value]) -> None:
        super().__init__(md)
        self._markdown = md
        self._values = values
        self._drawn = drawn

    def run(self, lines: list[str]) -> list[str]:
        """Return the lines with every value set in.

        Raises
        ------
        ContentError
            With line and nearest name of each name that is not known.
        """
        unknown = [
            self._unknown(number, asked)
            for number, line in enumerate(lines, start=1)
            for asked in _ASKED.findall(line)
            if asked not in self._values and asked not in self._drawn
        ]
        if unknown:
            raise ContentError(
                " ".join(unknown),
                code="content-unknown-figure",
                next_step="Correct the name. There are "
                + ", ".join([*self._values, *_without_streets(self._drawn)])
                + ", and maps. with a street’s folder name.",
            )
        return [_ASKED.sub(lambda found: self._value(found.group(1)), line) for line in lines]

    def _value(self, name: str) -> str:
        if name in self._values:
            return self._values[name]()
        # Held back from Markdown and put in at the end, as it is.
        return str(self._markdown.htmlStash.store(self._drawn[name]()))

    def _unknown(self, line: int, asked: str) -> str:
        known = [*self._values, *self._drawn]
        nearest = extractOne(asked, known, score_cutoff=_SUGGESTED)
        hint = f" (did you mean {nearest[0]}?)" if nearest else ""
        return f"Line {line} asks for {asked or 'nothing'}, which is not known{hint}."


def _without_streets(names: Iterable[str]) -> list[str]:
    """Return names of maps and charts, without the many of single streets."""
    return [name for name in names if name == "maps.town" or not name.startswith("maps.")]


def _town_map(site: SitePages) -> str:
    if site.still_maps is None:
        return _paragraph(_("There is no map yet."))
    return _figure(
        site.still_maps.town(layer=MapLayer.SWIFT_NESTS), _("Swift nest sites, all seasons.")
    )


def _street_map(site: SitePages, street: StreetView) -> str:
    title = _("Map of %(street)s and the squares it runs through.", street=street.name)
    svg = (
        site.still_maps.street(street.slug, layer=MapLayer.SWIFT_NESTS, title=title)
        if site.still_maps
        else ""
    )
    if not svg:
        return _paragraph(_("No square of the map has this street."))
    return _figure(svg, _("Swift nest sites in the squares the street runs through, all seasons."))


def _paragraph(words: str) -> str:
    return f"<p>{escape(words)}</p>"


def _figure(svg: str, caption: str) -> str:
    return f'<figure class="map-figure">{svg}<figcaption>{escape(caption)}</figcaption></figure>'
