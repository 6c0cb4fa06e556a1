"""An invented language that shows what was not translated.

Every message stands between ⟦ and ⟧ with its Latin letters changed for Cyrillic ones; names to fill
in and HTML stay. Whatever Latin letters a page of that language shows are therefore data, or words
that no translator can reach.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from html.parser import HTMLParser
from pathlib import Path

from babel.messages.pofile import read_po, write_po

from make_messages import POT

TAG = "de"
"""The language whose dates, numbers and plurals it borrows: they differ from the English ones."""
_LATIN = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
_LETTERS = str.maketrans(
    _LATIN, "".join(chr(0x410 + place % 26 + 32 * (place // 26)) for place in range(len(_LATIN)))
)
_KEPT = re.compile(r"(%\(\w+\)s|%%|<[^<>]+>)")
_SHOWN = ("alt", "title", "aria-label", "aria-description", "placeholder", "label", "summary")
_DESCRIPTIONS = ("description", "og:title", "og:description", "og:image:alt")
_VOID = frozenset({"meta", "link", "input", "br", "img", "hr", "source", "wbr"})


def pseudo(message: str) -> str:
    """Return a message in the invented language."""
    parts = _KEPT.split(message)
    changed = (part if place % 2 else part.translate(_LETTERS) for place, part in enumerate(parts))
    return f"⟦{''.join(changed)}⟧"


def write_catalogue(folder: Path) -> Path:
    """Write every English message in the invented language, and return the file."""
    with POT.open("rb") as file:
        catalogue = read_po(file, locale=TAG)
    for message in catalogue:
        if not message.id:
            continue
        if isinstance(message.id, str):
            message.string = pseudo(message.id)
        else:
            message.string = tuple(pseudo(each) for each in message.id)
    catalogue.fuzzy = False
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{TAG}.po"
    with path.open("wb") as file:
        write_po(file, catalogue)
    return path


class Shown(HTMLParser):
    """Gathers what a page shows or says: texts, and attributes that are read out.

    What is marked as being in another language is left out, but for the page as a whole.
    """

    def __init__(self, html: str, *, own: str = TAG) -> None:
        """Read a page."""
        super().__init__()
        self.found: list[tuple[str, str]] = []
        """Where a text stands, and the text."""
        self._own = own
        self._open: list[tuple[str, bool]] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take the attributes."""
        own = dict(attrs)
        left_out = self._left_out or own.get("lang") not in {None, self._own}
        if tag not in _VOID:
            self._open.append((tag, left_out or tag in {"script", "style"}))
        if left_out:
            return
        self.found += [(f"{tag}[{name}]", own[name] or "") for name in _SHOWN if name in own]
        if (name := own.get("name") or own.get("property")) in _DESCRIPTIONS:
            self.found.append((f"{tag}[{name}]", own.get("content") or ""))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take the attributes of an element of SVG that closes itself."""
        self.handle_starttag(tag, attrs)
        if tag not in _VOID:
            self._open.pop()

    def handle_endtag(self, tag: str) -> None:
        """Leave an element, and those in it that need no end."""
        names = [name for name, _ in self._open]
        if tag in names:
            del self._open[len(names) - 1 - names[::-1].index(tag) :]

    def handle_data(self, data: str) -> None:
        """Take a text."""
        if data.strip() and not self._left_out:
            where = self._open[-1][0] if self._open else ""
            self.found.append((where, data))

    @property
    def _left_out(self) -> bool:
        return bool(self._open) and self._open[-1][1]


def untranslated(texts: Iterable[tuple[str, str]], *, data: Iterable[str]) -> Iterator[str]:
    """Yield every text that has Latin letters beside the data.

    Parameters
    ----------
    texts
        Where each stands, and the text.
    data
        What may be shown in any language: names, addresses, files. Whole words only.
    """
    # The longest first: "Mill Lane" must not leave " Lane" behind.
    names = "|".join(re.escape(each) for each in sorted(data, key=len, reverse=True))
    known = re.compile(rf"(?<![A-Za-z])(?:{names})(?![A-Za-z])")
    for where, text in texts:
        if re.search(r"[A-Za-z]", known.sub(" ", text)):
            yield f"{where}: {' '.join(text.split())}"
