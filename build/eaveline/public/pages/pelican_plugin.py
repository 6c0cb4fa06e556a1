"""The plugin that teaches Pelican the pages made from the release.

Pelican reads the hand-written Markdown; `ReleaseGenerator` hands it the rest as objects, which
is some ten times as fast as a Markdown file for every street.
"""

from __future__ import annotations

import datetime as dt
import os
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from pelican import signals
from pelican.generators import Generator, PagesGenerator
from pelican.readers import MarkdownReader

from eaveline.public.pages.build_log import BuildLog, ContentError
from eaveline.public.pages.content_check import content_problems
from eaveline.public.pages.feeds import write_news_feed
from eaveline.public.pages.frame import Frame
from eaveline.public.pages.page_lines import KNOWN_LINES, KNOWN_SHOWS
from eaveline.public.site import HOME_PAGE

if TYPE_CHECKING:
    from pelican.contents import Content
    from pelican.writers import Writer

    from eaveline.public.pages.site_pages import SitePages


class CarefulMarkdownReader(MarkdownReader):  # type: ignore[misc]  # Pelican has no types
    """Reads Markdown, but no date that could be read two ways."""

    file_extensions: ClassVar[list[str]] = ["md"]

    def process_metadata(self, name: str, value: str) -> Any:
        """Turn one line above a page's text into a value.

        Raises
        ------
        ContentError
            If the line's name is not known (often a first sentence with a colon in it), if an
            address has other signs than plain ones, if a page asks to show what does not exist, or
            if a date is not written year first: 3/6/2026 is June to some and March to others.
        """
        if name not in KNOWN_LINES:
            known = ", ".join(line.title() for line in KNOWN_LINES)
            msg = (
                f"The lines above a page's text can be {known}, and one of them is something else."
            )
            raise ContentError(msg)
        if name == "slug" and not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", value.strip()):
            msg = "The line Slug can hold small letters, digits and single hyphens: boxes-are-up."
            raise ContentError(msg)
        if name == "show" and value.strip() not in KNOWN_SHOWS:
            msg = f"The line Show can be {' or '.join(KNOWN_SHOWS)}."
            raise ContentError(msg)
        if name not in ("date", "modified"):
            return super().process_metadata(name, value)
        try:
            day = dt.date.fromisoformat(value.strip())
        except ValueError:
            msg = f"The line {name.title()} has to give the date as year-month-day: 2026-06-03."
            raise ContentError(msg) from None
        return dt.datetime.combine(day, dt.time(), tzinfo=dt.UTC)


class ReleaseGenerator(Generator):  # type: ignore[misc]  # Pelican has no types
    """Writes every page that is made from the release."""

    @property
    def site(self) -> SitePages:
        """The pages to write."""
        pages: SitePages = self.settings["SITE"]
        return pages

    def generate_context(self) -> None:
        """Check the hand-written pages' addresses, and give every template the same names."""
        self.context["site"] = self.site
        self.context["town"] = self.site.town
        self.context["release"] = self.site.release
        self.context["frame"] = Frame(self.env, self.site, pages=self._pages)

    def generate_output(self, writer: Writer) -> None:
        """Write the pages, the feed, the site map and the moving map's files."""
        for page in self.site.pages(
            self.env, articles=self.context["articles"], pages=self._pages()
        ):
            writer.write_file(
                page.path,
                self.get_template(page.template),
                self.context,
                relative_urls=True,
                **page.values,
            )
        out = Path(self.output_path)
        write_news_feed(
            self.context["articles"],
            town=self.site.town,
            made_on=self.site.release.made_on,
            path=out / "feeds" / "news.xml",
        )
        files = self.site.files(articles=self.context["articles"], pages=self._pages())
        for name, data in files.items():
            path = out / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)

    def _pages(self) -> list[Content]:
        pages: list[Content] = self.context["pages"]
        return pages


class SitePlugin:
    """Connects the generator and the checks; handed to Pelican as an object."""

    def __init__(self, log: BuildLog) -> None:
        """Keep the log that takes what is found in content pages."""
        self._log = log
        self._items: list[Content] = []
        self._home: Content | None = None

    def register(self) -> None:
        """Connect to Pelican's signals, which hold bound methods weakly: Pelican keeps us alive."""
        signals.get_generators.connect(self._generators)
        signals.article_generator_finalized.connect(_drop_drafts)
        signals.page_generator_finalized.connect(_drop_drafts)
        signals.page_generator_finalized.connect(self._take_home_page)
        signals.all_generators_finalized.connect(self._stop_early)
        signals.page_generator_write_page.connect(self._note_page)
        signals.article_generator_write_article.connect(self._note_page)
        signals.finalized.connect(self._check_content)
        if os.linesep != "\n":
            signals.content_written.connect(_write_unix_lines)

    def _generators(self, _pelican: object) -> type[ReleaseGenerator]:
        return ReleaseGenerator

    def _take_home_page(self, generator: PagesGenerator) -> None:
        """Move the home page's text out of the pages and into the context."""
        self._home = next((page for page in generator.pages if page.slug == HOME_PAGE), None)
        if self._home is not None:
            generator.pages.remove(self._home)
        generator.context["home_page"] = self._home

    def _stop_early(self, generators: list[Generator]) -> None:
        """Tell of pages that cannot be read, and of addresses already taken, before writing."""
        context = generators[0].context
        site: SitePages = context["SITE"]
        for problem in site.address_problems([*context["pages"], *context["hidden_pages"]]):
            self._log.add(problem)
        self._log.raise_if_any()

    def _note_page(self, _generator: Generator, content: Content) -> None:
        self._log.page = content.source_path
        self._items.append(content)

    def _check_content(self, pelican: Any) -> None:
        """Look at the written pages of content/: what they load, and where their links lead."""
        written = [(item, Path(item.save_as)) for item in self._items]
        if self._home is not None:
            written.append((self._home, Path("index.html")))
        for item, page in written:
            for problem in content_problems(
                item.get_content(_root_of(page)),
                file=f"content/{item.get_relative_source_path()}",
                page=page,
                out=Path(pelican.output_path),
            ):
                self._log.add(problem)


def _drop_drafts(generator: Generator) -> None:
    """Forget drafts, which Pelican would write into the site, if unlinked."""
    for name in ("drafts", "drafts_translations", "draft_pages", "draft_translations"):
        if hasattr(generator, name):
            setattr(generator, name, [])
            generator.context[name] = []


def _root_of(page: Path) -> str:
    """Return the way from a page up to the site's top: ``../..`` for ``news/x/index.html``."""
    return "/".join([".."] * (len(page.parts) - 1)) or "."


def _write_unix_lines(path: str, context: dict[str, Any]) -> None:
    """Undo Windows' line ends, so that every system writes the same bytes."""
    del context
    file = Path(path)
    file.write_bytes(file.read_bytes().replace(b"\r\n", b"\n"))
