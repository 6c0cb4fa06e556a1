"""What a hand-written page may not do to its readers, checked in the finished HTML.

The site promises to ask no other host for anything and to run no script in the page. Markdown
lets raw HTML through, so that promise is checked and not assumed.
"""

from __future__ import annotations

from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path, PurePosixPath
from urllib.parse import unquote, urlsplit

from eaveline.errors import Problem

_LOADING = {
    "img": ("src", "srcset"),
    "source": ("src", "srcset"),
    "video": ("src", "poster"),
    "audio": ("src",),
    "track": ("src",),
    "link": ("href",),
    "image": ("href", "xlink:href"),
    "use": ("href", "xlink:href"),
    "input": ("src",),
}
"""Attributes whose address a browser fetches unasked."""
_FORBIDDEN = frozenset(
    {"script", "iframe", "frame", "object", "embed", "form", "style", "base", "meta", "applet"}
)


_PICTURES = frozenset({".jpg", ".jpeg", ".png", ".webp", ".gif", ".svg"})


class _Reader(HTMLParser):
    """Lists the elements, in order, with their attributes."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, {name: value or "" for name, value in attrs}))


def content_problems(html: str, *, file: str, page: Path, out: Path) -> list[Problem]:
    """Return what is wrong with one page of content/.

    Parameters
    ----------
    html
        The page's own part, as written into the site.
    file
        Its source, as messages name it.
    page
        Where it stands below `out`.
    out
        The finished site, in which links inside the site have to lead somewhere.
    """
    reader = _Reader()
    reader.feed(html)
    problems: dict[Problem, None] = {}
    for tag, attributes in reader.found:
        for problem in _element_problems(tag, attributes, file=file, page=page, out=out):
            problems[problem] = None
    return list(problems)


def _element_problems(
    tag: str, attributes: dict[str, str], *, file: str, page: Path, out: Path
) -> Iterator[Problem]:
    if tag in _FORBIDDEN:
        yield Problem(
            code="content-forbidden-element",
            what=f"The page uses <{tag}>, which could run a script or load something "
            "from elsewhere.",
            next_step="Say it in plain Markdown, or link to the other page instead.",
            file=file,
        )
        return
    for name, value in attributes.items():
        if (
            name.startswith("on")
            or name == "style"
            or value.strip().lower().startswith("javascript:")
        ):
            yield Problem(
                code="content-inline-script",
                what=f"The element <{tag}> has the attribute {name}, which readers' browsers will "
                "refuse under the site's security policy.",
                next_step="Remove the attribute.",
                file=file,
            )
    if tag == "h1":
        yield Problem(
            code="content-second-title",
            what="The text has a first-level heading, but the line Title already makes one.",
            next_step="Begin headings in the text with two hashes: ## Like this.",
            file=file,
        )
    for name in _LOADING.get(tag, ()):
        for address in _addresses(attributes.get(name, ""), name=name):
            if _leaves_site(address):
                yield Problem(
                    code="content-loads-from-elsewhere",
                    what=f"The page loads a file for <{tag}> from another host, which would learn "
                    "who reads it.",
                    next_step="Save the file in content/images/ and use it from there: "
                    "![what it shows]({static}/images/name.jpg).",
                    file=file,
                )
            else:
                yield from _broken_link(address, file=file, page=page, out=out)
    if tag == "a" and "href" in attributes and not _leaves_site(attributes["href"]):
        yield from _broken_link(attributes["href"], file=file, page=page, out=out)


def _addresses(value: str, *, name: str) -> list[str]:
    """Split a ``srcset`` into its addresses; another attribute holds one or none."""
    if name != "srcset":
        return [value] if value else []
    return [part.split()[0] for part in value.split(",") if part.split()]


def _leaves_site(address: str) -> bool:
    parts = urlsplit(address)
    return bool(parts.scheme or parts.netloc)


def _broken_link(address: str, *, file: str, page: Path, out: Path) -> Iterator[Problem]:
    """Yield a problem if a link inside the site is not relative or leads to no file."""
    path = unquote(urlsplit(address).path)
    if not path:
        return
    if path.startswith("/"):
        yield Problem(
            code="content-rooted-link",
            what=f"The link {path} begins with a slash, so it breaks in a site that stands in "
            "a folder.",
            next_step="Write {filename}/pages/name.md for a page of content/, or "
            "../map/index.html for another.",
            file=file,
        )
        return
    target = out.joinpath(*page.parent.parts, *PurePosixPath(path).parts)
    if not target.is_file():
        yield Problem(
            code="content-broken-link",
            what=f"The link {path} leads nowhere"
            + (" (folders need index.html at the end)." if target.is_dir() else "."),
            next_step="Check the spelling; a picture beside the page is {static}name.jpg."
            if target.suffix.casefold() in _PICTURES
            else "Check the spelling, or add the page.",
            file=file,
        )
