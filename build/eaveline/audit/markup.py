"""Reads HTML, XML or SVG so that every character ends up in some fragment."""

from __future__ import annotations

import re
from functools import lru_cache

from eaveline.audit.fragments import Fragment, Kind
from eaveline.audit.text import CELL, decoded, word_set

# Own tokens rather than a parser: a parser drops what it finds malformed, an audit must not.
# Possessive repeats (*+) keep an unbalanced quotation mark from costing quadratic time.
_TAG = r"<[/!?a-zA-Z](?:\"[^\"]*\"|'[^']*'|[^>])*+(?:>|\Z)"
_TOKEN = re.compile(
    r"(?P<comment><!--.*?(?:-->|\Z))"
    r"|(?P<cdata><!\[CDATA\[.*?(?:\]\]>|\Z))"
    r"|(?P<open><(?P<raw>script|style)\b(?:\"[^\"]*\"|'[^']*'|[^>])*+>)"
    r"(?P<code>.*?)(?P<close></(?P=raw)\s*>|\Z)"
    rf"|(?P<tag>{_TAG})",
    re.DOTALL | re.IGNORECASE,
)
_NAME = re.compile(r"<(/?)\s*([a-zA-Z][\w:.-]*)")
_HOLDS_MORE = re.compile(r"[\s=]")
_MAY_ESCAPE = re.compile(r"<|&|\\u003|%(?:25)*3")
_LOOKS_MARKED_UP = re.compile(r"<(?:[a-zA-Z/!?][^<>]*>|!--)")

_INLINE = word_set(
    "a abbr b bdi bdo big cite code data del dfn em font i img ins kbd label mark q rp rt ruby s"
    " samp small span strong sub sup time tspan tt u var wbr"
)
_CELLS = word_set("td th dt dd option text")
_BLOCKS = word_set(
    "address article aside blockquote body button caption circle col colgroup defs desc details"
    " dialog div dl ellipse fieldset figcaption figure footer form g h1 h2 h3 h4 h5 h6 head header"
    " hr html iframe input legend li line link main meta metadata nav noscript object ol p path"
    " picture polygon polyline pre rect script section select source style summary svg symbol table"
    " tbody textarea tfoot thead title tr ul use video entry item url"
)
_HEADINGS = word_set("h1 h2 h3 h4 h5 h6")
_LONGEST_HEADING = 60
_NUMBER_ALONE = re.compile(
    r"\s*\d{1,4}[A-Za-z]?(?:\s?(?:[-/,&]|\band\b)\s?\d{1,4}[A-Za-z]?)*\s*(?:$|[-,;\u2013\u2014(]\s)"
    r"|.*\b(?:numbers?|nos?)\b\.?\s?\d|\s*#\s?\d",
    re.IGNORECASE | re.DOTALL,
)
"""A house below the name of its street."""
_JOIN = "\x00"
_BLANK = f" \n\t\r{CELL}{_JOIN}"
_SPACES = re.compile(r" {2,}")
_DEEPEST = 4
_HOUSE_HEADER = re.compile(
    r"\s*(?:house|door|building|property|flat|nr|no|num|number|paon|saon)\b", re.IGNORECASE
)


def markup_fragments(text: str, where: str = "", *, depth: int = 0) -> list[Fragment]:
    """Return visible text by blocks, tags with their attributes, comments, scripts, styles.

    Parameters
    ----------
    text
        The file's text.
    where
        The place of the text, if it is itself part of a file.
    depth
        How many layers of escaped markup this text was wrapped in.
    """
    reader = _Reader(where, depth)
    reader.read(text)
    return reader.fragments


def text_fragments(
    text: str, where: str, *, line: int | None = None, kind: Kind = Kind.DATA, depth: int = 0
) -> list[Fragment]:
    """Return a text as it stands and, if markup is escaped in it, what that markup shows."""
    fragments = [Fragment(text, kind, where, line)]
    if depth < _DEEPEST and _MAY_ESCAPE.search(text):
        inner = decoded(text)
        if _LOOKS_MARKED_UP.search(inner, 1 if kind is Kind.TAG else 0):
            fragments += markup_fragments(inner, where, depth=depth + 1)
    return fragments


def keyed_row(headers: list[str], cells: list[str]) -> str:
    """Return a table's row as fields, so that a house's number finds its street."""
    return f" {CELL} ".join(
        f"{header}: {cell}" for header, cell in zip(headers, cells, strict=False)
    )


def has_house_column(headers: list[str]) -> bool:
    """Return whether a table has a column for houses; a column of counts is none."""
    return any(_HOUSE_HEADER.match(header.replace("_", " ")) for header in headers)


@lru_cache(maxsize=1024)
def _anatomy(tag: str) -> tuple[str, bool, bool]:
    """Return a tag's name, whether it opens, whether it holds more than its name."""
    match = _NAME.match(tag)
    opens = match is None or not match[1]
    return match[2].lower() if match else "", opens, _HOLDS_MORE.search(tag) is not None


class _Reader:
    """Gathers text between the tags of one document."""

    def __init__(self, where: str, depth: int) -> None:
        self.where = where
        self.depth = depth
        self.fragments: list[Fragment] = []
        self.block: list[str] = []
        self.block_line = 1
        self.headers: list[str] = []
        self.row_has_header = False
        self.heading = ""
        self.in_heading = False

    def _add(self, text: str, kind: Kind, place: str, line: int) -> None:
        place = f"{self.where}, {place}" if self.where else place
        self.fragments.append(Fragment(text, kind, place, line))

    def _add_with_inner(self, text: str, kind: Kind, line: int) -> None:
        place = f"{self.where}, {kind}" if self.where else kind
        self.fragments += text_fragments(text, place, line=line, kind=kind, depth=self.depth)

    def _add_inner(self, text: str) -> None:
        place = f"{self.where}, text" if self.where else "text"
        self.fragments += markup_fragments(text, place, depth=self.depth + 1)

    def read(self, text: str) -> None:
        at, line = 0, 1
        for match in _TOKEN.finditer(text):
            start, end = match.span()
            if start > at:
                self._text(text[at:start], line)
                line += text.count("\n", at, start)
            self._token(match, line)
            line += text.count("\n", start, end)
            at = end
        self._text(text[at:], line)
        self._flush()

    def _token(self, match: re.Match[str], line: int) -> None:
        if match["tag"]:
            self._tag(match["tag"], line)
        elif match["comment"]:
            self._add_with_inner(match["comment"][4:], Kind.COMMENT, line)
        elif match["cdata"]:
            inner = match["cdata"][9:].removesuffix("]]>")
            if _LOOKS_MARKED_UP.search(inner):
                self._flush()
                self._add_inner(inner)
            else:
                self._text(inner, line)
        else:
            self._flush()
            name = match["raw"].lower()
            kind = Kind.STYLE if name == "style" else Kind.SCRIPT
            self._add(match["open"], Kind.TAG, "tag", line)
            self._add(match["code"], kind, name, line)

    def _text(self, text: str, line: int) -> None:
        if not text or (not self.block and text.isspace()):
            return
        if not self.block:
            self.block_line = line
        self.block.append(text)
        if "&" in text and self.depth < _DEEPEST:
            inner = decoded(text)
            if _LOOKS_MARKED_UP.search(inner):
                self._add_inner(inner)

    def _tag(self, tag: str, line: int) -> None:
        name, opens, holds_more = _anatomy(tag)
        self._end(name, opens=opens)
        if holds_more:
            self._add_with_inner(tag, Kind.TAG, line)

    def _end(self, name: str, *, opens: bool) -> None:
        """End a block, a cell or a word, as the tag's name asks."""
        if name in _INLINE:
            if self.block:
                self.block.append(_JOIN)
        elif name in _CELLS:
            self.row_has_header |= name == "th"
            if self.block:
                self.block.append(f" {CELL} ")
        elif name == "tr" and not opens:
            self._row()
        elif name in _BLOCKS or not name:
            self._flush()
            self.in_heading = opens and name in _HEADINGS
            if name == "table":
                self.headers = []
        elif name == "br":
            self.block.append("\n")
        elif opens:
            # Foreign XML: the element's name says what its text is.
            self.block.append(f" {CELL} {name.rpartition(':')[2]}: ")

    def _row(self) -> None:
        whole = "".join(self.block).replace(_JOIN, "")
        line = self.block_line
        self._flush()
        cells = [cell.strip() for cell in whole.split(CELL) if cell.strip()]
        if self.row_has_header and not self.headers:
            self.headers = cells
        elif self.headers and has_house_column(self.headers):
            self._add(keyed_row(self.headers, cells), Kind.DATA, "table", line)
        self.row_has_header = False

    def _flush(self) -> None:
        if not self.block:
            return
        text = "".join(self.block)
        self.block = []
        if not text.strip(_BLANK):
            return
        # Two readings: a tag inside a word divides nothing, a tag between words does.
        joined = _SPACES.sub(" ", text.replace(_JOIN, ""))
        self._add(joined, Kind.TEXT, "text", self.block_line)
        if self.in_heading:
            self.heading = joined.strip() if len(joined) < _LONGEST_HEADING else ""
        elif self.heading and _NUMBER_ALONE.match(joined):
            self._add(f"{self.heading} {joined.strip()}", Kind.DATA, "text", self.block_line)
        if _JOIN in text:
            apart = _SPACES.sub(" ", text.replace(_JOIN, " "))
            if apart != self.fragments[-1].text:
                self._add(apart, Kind.TEXT, "text", self.block_line)
