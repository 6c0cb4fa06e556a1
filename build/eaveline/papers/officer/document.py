"""A paper as headings, paragraphs, tables and figures, whatever it is printed with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from typing import Any, Literal

Kind = Literal["heading", "text", "list", "facts", "table", "figure", "sign"]


@dataclass(frozen=True, slots=True)
class Block:
    """One part of a paper; which fields count depends on its kind."""

    kind: Kind
    text: str = ""
    """A heading or paragraph, or the caption of a table or figure."""
    items: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    """A table's rows, or pairs of name and value."""
    header: tuple[str, ...] = ()
    svg: str = ""
    alt: str = ""
    """What a figure shows, for those who hear it."""


@dataclass(frozen=True, slots=True)
class Document:
    """A whole paper.

    Parameters
    ----------
    title
        Stands first, and in the file's properties; nobody is named there.
    marking
        Printed on every page of a confidential paper; empty otherwise.
    made_on
        ISO date of the newest record.
    blocks
        In reading order.
    """

    title: str
    made_on: str
    marking: str = ""
    blocks: tuple[Block, ...] = field(default=())

    def plain(self) -> dict[str, Any]:
        """Return the paper as plain data, for a template."""
        return asdict(self)


def heading(text: str) -> Block:
    """Return a section's heading."""
    return Block("heading", text=text)


def paragraph(text: str) -> Block:
    """Return a paragraph."""
    return Block("text", text=text)


def bullets(items: Sequence[str]) -> Block:
    """Return a list."""
    return Block("list", items=tuple(items))


def facts(pairs: Sequence[tuple[str, str]]) -> Block:
    """Return names with their values; pairs without a value are left out."""
    return Block("facts", rows=tuple((name, value) for name, value in pairs if value))


def table(caption: str, header: Sequence[str], rows: Sequence[Sequence[str]]) -> Block:
    """Return a table."""
    return Block("table", text=caption, header=tuple(header), rows=tuple(map(tuple, rows)))


def figure(caption: str, svg: str, alt: str) -> Block:
    """Return a drawing with its description."""
    return Block("figure", text=caption, svg=svg, alt=alt)


def signature() -> Block:
    """Return the lines that a person fills in."""
    return Block("sign")
