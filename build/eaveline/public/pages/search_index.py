"""The index that the search page looks through, written as a script.

A script and no JSON, because a page opened from a folder may load scripts but not fetch files;
for the same reason, and because their WebAssembly would need a weaker security policy, the
ready-made search engines for static sites are not used. A town's index is small: a line for
each street, and the words of a few dozen pages.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from eaveline.messages import language
from eaveline.public.words.script_words import search_words

if TYPE_CHECKING:
    from eaveline.public.pages.site_views import StreetView

_LONGEST_SUMMARY = 160
_DRAWN = re.compile(r"<svg\b.*?</svg>", re.DOTALL)
"""A map's own words would find every page that shows one."""


def search_index_script(
    streets: Iterable[StreetView], *, articles: Sequence[Any], pages: Sequence[Any]
) -> bytes:
    """Return the script that holds the index.

    Parameters
    ----------
    streets
        Every street that has a page.
    articles, pages
        The hand-written news and pages.

    Returns
    -------
    bytes
        JavaScript: one assignment to ``window.eavelineSearch``, an object with ``streets``
        (pairs of name and folder), ``pages`` (address, title, summary, other words), the
        ``language`` and the script's own ``words``.
    """
    index = {
        "streets": [[street.name, street.slug] for street in streets],
        "pages": [_page(item) for item in (*pages, *articles)],
        "language": language().html,
        "words": search_words(),
    }
    text = json.dumps(index, ensure_ascii=False, separators=(",", ":"))
    # JSON is JavaScript, but for these two line ends in old engines.
    text = text.replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
    return f"window.eavelineSearch = {text};\n".encode()


def _page(item: Any) -> list[str]:
    title = _words(item.title)
    summary = _words(item.metadata.get("summary", ""))[:_LONGEST_SUMMARY]
    told = {word.casefold() for word in _split(f"{title} {summary}")}
    # Each other word once: enough to find the page by, and half as long as the text.
    others = {word.casefold() for word in _split(_words(item.content))} - told
    return [item.url, title, summary, " ".join(sorted(others))]


def _words(html: str) -> str:
    html = _DRAWN.sub(" ", html)
    return str(Markup(html).striptags())  # noqa: S704 - shown as text, never as HTML


def _split(text: str) -> list[str]:
    return re.findall(r"[^\W\d_][\w’'-]+", text)
