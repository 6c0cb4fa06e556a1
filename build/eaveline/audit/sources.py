"""A file of the group's own that a part of the site was made from."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

_PARAGRAPH = re.compile(r"(?:[^\n]*\S[^\n]*(?:\n|$))+")
_TEXTS = frozenset({".md"})


@dataclass(frozen=True, slots=True)
class Source:
    """A file by the name that people know it by, such as ``content/news/up.md``."""

    name: str
    path: Path

    def paragraphs(self) -> Iterator[tuple[int, str]]:
        """Yield the paragraphs of a text, each with its first line's number, from 1.

        A file of another kind, or one that is gone or cannot be read, has none.
        """
        if self.path.suffix.casefold() not in _TEXTS:
            return
        try:
            text = self.path.read_text(encoding="utf-8-sig", errors="replace")
        except OSError:
            return
        for found in _PARAGRAPH.finditer(text):
            yield text.count("\n", 0, found.start()) + 1, found.group()
