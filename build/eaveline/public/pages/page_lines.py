"""The lines that may stand above the text of a page of content/."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

KNOWN_LINES = ("title", "date", "modified", "summary", "slug", "status", "category", "show")
SHOW_AT_FOOT = "foot"
"""What the line Show says above a page that is about the group, and no way to help."""
KNOWN_SHOWS = ("law", SHOW_AT_FOOT)
"""What the line Show can ask for: the nation's law below the text, a link at every page's foot."""


def foot_pages(pages: Sequence[Any]) -> list[Any]:
    """Return the pages that ask to be linked at every page's foot."""
    return [page for page in pages if page.metadata.get("show") == SHOW_AT_FOOT]
