"""Which pages the release makes, at which addresses, with what each template is given.

Facts of a region are rendered once and set into the page of every street that crosses it,
which keeps thousands of street pages quick.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from eaveline.errors import Problem
from eaveline.messages import gettext as _
from eaveline.public.maps.layers import MapLayer
from eaveline.public.maps.legends import MapKey, short_legend
from eaveline.public.maps.still_maps import StillMaps
from eaveline.public.maps.town_map import TownMap, town_map
from eaveline.public.pages.calendar_file import CALENDAR_PATH, calendar_file
from eaveline.public.pages.evenings import Evening, watch_evenings
from eaveline.public.pages.near_by import NearBy
from eaveline.public.pages.offer_streets import offer_streets
from eaveline.public.pages.page_charts import box_charts, newest_weeks, season_charts
from eaveline.public.pages.page_lines import foot_pages
from eaveline.public.pages.search_index import search_index_script
from eaveline.public.pages.site_views import (
    SquareView,
    StreetView,
    letters,
    square_views,
    street_views,
)
from eaveline.public.pages.social_cards import FOLDER, Card, card_of, social_cards
from eaveline.public.pages.social_cards import cards as section_cards
from eaveline.public.words import figure_words
from eaveline.public.words.law import NationLaw, nation_law
from eaveline.public.words.square_words import nothing_yet
from eaveline.public.words.wording import downloads, number

if TYPE_CHECKING:
    from pathlib import Path

    from jinja2 import Environment

    from eaveline.public.maps.basemap import BaseMap
    from eaveline.public.records import PublicRelease
    from eaveline.public.town import PublicTown

HOME_MAP_LIMIT = 60_000
"""Characters; a town whose still map is larger gets a link on the home page instead."""
_STILL_LAYER = MapLayer.SWIFT_NESTS
"""What the maps without scripts show."""
NEWS_ON_HOME = 3
EVENINGS_ON_STREET = 3
_ROOT_OF_STREETS = "../.."


@dataclass(frozen=True, slots=True)
class SitePage:
    """One page to write."""

    path: str
    """Below the site's top; always ends in a file name."""
    template: str
    """The template's name, without ``.html``."""
    values: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Place:
    """An entry of the menu."""

    name: str
    path: str


@dataclass(frozen=True, slots=True)
class Download:
    """A file in ``data/``."""

    name: str
    about: str
    size_bytes: int


def downloads_in(folder: Path) -> tuple[Download, ...]:
    """Return the files of a folder, in the order the data page explains them, others last."""
    about = downloads()
    order = list(about)
    files = sorted(
        (path for path in folder.iterdir() if path.is_file() and path.suffix != ".html"),
        key=lambda path: (
            order.index(path.name) if path.name in about else len(order),
            path.name,
        ),
    )
    return tuple(
        Download(path.name, about.get(path.name, ""), path.stat().st_size) for path in files
    )


def menu() -> tuple[Place, ...]:
    """Return the entries at the top of every page."""
    return (
        Place(_("Map"), "map/index.html"),
        Place(_("Streets"), "streets/index.html"),
        Place(_("Seasons"), "seasons/index.html"),
        Place(_("Boxes"), "boxes/index.html"),
        Place(_("Helping"), "helping/index.html"),
        Place(_("News"), "news/index.html"),
        Place(_("Search"), "search/index.html"),
    )


def foot_menu() -> tuple[Place, ...]:
    """Return the entries at the foot of every page."""
    return (
        Place(_("Boxes for your house"), "offers/index.html"),
        Place(_("Method and privacy"), "method/index.html"),
        Place(_("Figures to download"), "data/index.html"),
        Place(_("News feed"), "feeds/news.xml"),
    )


RESERVED = frozenset(
    {place.path.split("/")[0] for place in (*menu(), *foot_menu())}
    | {"theme", "images", "files", "planning", "index", "404", "sitemap", FOLDER}
)
"""First parts of addresses that a page of content/ cannot have."""


class SitePages:
    """The pages of one site.

    Parameters
    ----------
    release
        Every public figure.
    town
        The town's public face.
    basemap
        The public map layers; None where the release has no map.
    downloads
        The files that stand in ``data/``.
    centre_m
        Easting and northing of the town's centre; without it no watch evenings are proposed.
    """

    FEW_STREETS = 12
    """As many streets or fewer are listed at once, without letters to choose from."""

    def __init__(
        self,
        release: PublicRelease,
        *,
        town: PublicTown,
        basemap: BaseMap | None,
        downloads: tuple[Download, ...] = (),
        centre_m: tuple[float, float] | None = None,
    ) -> None:
        """Keep what the pages are made from."""
        self.release = release
        self.downloads = downloads
        self.town = town
        self._basemap = basemap
        self._legends: dict[MapKey, Markup] = {}
        self._centre_m = centre_m

    @cached_property
    def menu(self) -> tuple[Place, ...]:
        """The entries at the top of every page."""
        return menu()

    @cached_property
    def foot_menu(self) -> tuple[Place, ...]:
        """The entries at the foot of every page."""
        return foot_menu()

    @cached_property
    def law(self) -> NationLaw:
        """What the nation's law says of nests."""
        return nation_law(self.town.nation)

    @cached_property
    def evenings(self) -> tuple[Evening, ...]:
        """When to watch in the coming season."""
        if self._centre_m is None:
            return ()
        return watch_evenings(self.release, centre_m=self._centre_m, own=self.town.watch_evenings)

    @cached_property
    def has_map(self) -> bool:
        """Whether there are squares to show and a map to show them on."""
        return self._basemap is not None and self.release.has_map

    @cached_property
    def streets(self) -> tuple[StreetView, ...]:
        """Every street, in the order of a street index."""
        if self._basemap is None:
            return ()
        return street_views(self.release, self._basemap, self._squares)

    @cached_property
    def moving_map(self) -> TownMap | None:
        """The map of the map page."""
        return town_map(self.release, self._basemap) if self._basemap is not None else None

    @cached_property
    def still_maps(self) -> StillMaps | None:
        """The maps without scripts."""
        return StillMaps(self.release, self._basemap) if self._basemap is not None else None

    @cached_property
    def season_charts(self) -> dict[str, Markup]:
        """The charts of seasons, drawn once for all pages that show one."""
        return season_charts(self.release)

    @cached_property
    def box_charts(self) -> dict[str, Markup]:
        """The charts of boxes, drawn once for all pages that show one."""
        return box_charts(self.release)

    def files(self, *, articles: Sequence[Any], pages: Sequence[Any]) -> dict[str, bytes]:
        """Return files to write as they are, by path below the site's top.

        Parameters
        ----------
        articles, pages
            The group's news and its own pages, which the search page has to know.
        """
        made = {
            "search/index.js": search_index_script(self.streets, articles=articles, pages=pages)
        }
        if self.evenings:
            made[CALENDAR_PATH] = calendar_file(
                self.evenings, town=self.town, made_on=self.release.made_on
            )
        moving = dict(self.moving_map.files) if self.moving_map is not None else {}
        return {**moving, **made, **social_cards(self.release, self.town)}

    def card(self, path: str) -> Card:
        """Return the picture that stands for a page where its address is passed on."""
        return card_of(path, self._cards)

    @cached_property
    def _cards(self) -> dict[str, Card]:
        return section_cards(self.town)

    def pages(
        self, env: Environment, *, articles: Sequence[Any], pages: Sequence[Any]
    ) -> Iterator[SitePage]:
        """Yield every page that is made from the release.

        Parameters
        ----------
        env
            Renders the parts that many pages share.
        articles, pages
            The group's news, newest first, and its own pages, for lists of them.
        """
        index = letters(self.streets)
        about = foot_pages(pages)
        ways = [page for page in pages if page not in about]
        yield SitePage(
            "index.html",
            "home",
            {
                "news": articles[:NEWS_ON_HOME],
                "town_svg": self._home_map(),
                "legend": self._town_legend(env),
                "letters": index,
                "ways": ways,
            },
        )
        yield SitePage(
            "map/index.html", "map", {"moving_map": self.moving_map, "squares": self._squares}
        )
        yield SitePage("streets/index.html", "streets", {"letters": index})
        yield from self._street_pages(env)
        yield SitePage(
            "seasons/index.html",
            "seasons",
            {
                "tell": figure_words,
                "charts": self.season_charts,
                "newest": newest_weeks(self.release),
            },
        )
        yield SitePage(
            "boxes/index.html", "boxes", {"tell": figure_words, "charts": self.box_charts}
        )
        yield SitePage("offers/index.html", "offers", self._offers())
        yield SitePage("method/index.html", "method", {"tell": figure_words})
        yield SitePage("data/index.html", "data")
        yield SitePage("helping/index.html", "helping", {"ways": ways})
        yield SitePage("news/index.html", "news")
        yield SitePage("search/index.html", "search")
        yield SitePage("404.html", "404", {"SITEURL": self._absolute_root()})
        yield SitePage("sitemap.xml", "sitemap", {"addresses": self._addresses(articles, pages)})

    def address_problems(self, pages: Sequence[Any]) -> list[Problem]:
        """Return a problem for every page of content/ whose address is taken."""
        return [
            Problem(
                code="content-address-taken",
                what=f"The address {page.slug}/ belongs to a page that Eaveline makes.",
                next_step="Give the file another name.",
                file=f"content/{page.get_relative_source_path()}",
            )
            for page in pages
            if page.slug in RESERVED
        ]

    @cached_property
    def _squares(self) -> dict[str, SquareView]:
        return square_views(self.release)

    def _street_pages(self, env: Environment) -> Iterator[SitePage]:
        if self.still_maps is None:
            return
        square_card = _macro(env, "_square.html", "square_card")
        cards = {name: square_card(square) for name, square in self._squares.items()}
        evenings = (
            _macro(env, "_evenings.html", "evening_list")(self.evenings[:EVENINGS_ON_STREET])
            if self.evenings
            else Markup("")
        )
        size = number(self.release.rule.cell_size_m)
        note = _macro(env, "_street_parts.html", "figures_note")(_ROOT_OF_STREETS, size)
        deed = _macro(env, "_street_parts.html", "what_to_do")
        deeds = {no: deed(_ROOT_OF_STREETS, self.town.email, no) for no in (False, True)}
        near = NearBy(self.release, self.streets)
        for street in self.streets:
            known = [name for name in street.regions if not self._squares[name].nothing_known]
            quiet = [name for name in street.regions if self._squares[name].nothing_known]
            yield SitePage(
                f"streets/{street.slug}/index.html",
                "street",
                {
                    "street": street,
                    "cards": Markup("").join(cards[name] for name in known),
                    "quiet": nothing_yet(quiet) if quiet and known else "",
                    "svg": self.still_maps.street(street.slug, layer=_STILL_LAYER),
                    "legend": self._legend(
                        env, self.still_maps.street_key(street.slug, layer=_STILL_LAYER)
                    ),
                    "figures_note": note,
                    "what_to_do": deeds[street.nothing_known],
                    "evenings": evenings,
                    "near": near.streets(street),
                    "nearest": near.nearest_swifts(street),
                },
            )

    def _legend(self, env: Environment, key: MapKey) -> Markup:
        """Return a still map's legend; maps that show the same things share it."""
        if key not in self._legends:
            entries = short_legend(self.release, _STILL_LAYER, key)
            self._legends[key] = _macro(env, "_legend.html", "still_legend")(entries)
        return self._legends[key]

    def _offers(self) -> dict[str, Any]:
        found = offer_streets(self.release)
        return {
            "wanted": [street for street in self.streets if street.slug in found.boxes],
            "unwatched": [street for street in self.streets if street.slug in found.watch],
        }

    def _home_map(self) -> Markup:
        if self.still_maps is None:
            return Markup("")
        svg = self.still_maps.town(layer=_STILL_LAYER)
        return svg if len(svg) <= HOME_MAP_LIMIT else Markup("")

    def _town_legend(self, env: Environment) -> Markup:
        if self.still_maps is None:
            return Markup("")
        return self._legend(env, self.still_maps.town_key(layer=_STILL_LAYER))

    def _absolute_root(self) -> str:
        """Return where links of the 404 page start: it is shown at any depth of addresses."""
        if not self.town.site_url:
            return "."
        path = self.town.site_url.split("://", 1)[1].partition("/")[2]
        return f"/{path}" if path else ""

    def _addresses(self, articles: Sequence[Any], pages: Sequence[Any]) -> list[str]:
        made = ["index.html", *(place.path for place in (*self.menu, *self.foot_menu))]
        made += [f"streets/{street.slug}/index.html" for street in self.streets]
        written = [item.url for item in (*pages, *articles)]
        return sorted({address for address in (*made, *written) if address.endswith(".html")})


def _macro(env: Environment, template: str, name: str) -> Callable[..., Markup]:
    """Return a template's macro as a function."""
    macro: Callable[..., Markup] = getattr(env.get_template(template).module, name)
    return macro
