"""What stands about every page: its head with the menu, its foot; made once for each depth."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from eaveline.public.pages.page_lines import foot_pages

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from jinja2 import Environment
    from markupsafe import Markup

    from eaveline.public.pages.site_pages import SitePages


class Frame:
    """The parts of pages that hardly differ from page to page.

    Parameters
    ----------
    env
        Renders them, from ``_frame.html``.
    site
        Whose pages they are.
    pages
        Gives the group's own pages, which are read after this is made.
    """

    def __init__(
        self, env: Environment, site: SitePages, *, pages: Callable[[], Sequence[Any]]
    ) -> None:
        """Take the parts from the template."""
        parts = env.get_template("_frame.html").module
        self._top: Callable[..., Markup] = parts.top  # type: ignore[attr-defined]  # a macro
        self._foot: Callable[..., Markup] = parts.foot  # type: ignore[attr-defined]  # a macro
        self._site = site
        self._pages = pages
        self._in_menu = frozenset(place.path for place in site.menu)
        # A site has a handful of depths and entries of the menu, and thousands of pages.
        self.head_of = cache(self._head_of)
        self.foot = cache(self._foot_at)

    def head(self, root: str, page: str) -> Markup:
        """Return a page's head.

        Parameters
        ----------
        root
            The relative way to the site's top.
        page
            The page's path from there.
        """
        return self.head_of(root, page if page in self._in_menu else "")

    def _head_of(self, root: str, here: str) -> Markup:
        return self._top(self._site, root, here)

    def _foot_at(self, root: str) -> Markup:
        return self._foot(self._site, root, foot_pages(self._pages()))
