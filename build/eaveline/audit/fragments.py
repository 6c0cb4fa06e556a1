"""The pieces a file is read as: texts, shapes, pictures, faults."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from eaveline.audit.secrets import FloatArray


class Kind(StrEnum):
    """What sort of text a fragment is."""

    TEXT = "text"
    TAG = "tag"
    COMMENT = "comment"
    SCRIPT = "script"
    STYLE = "style"
    DATA = "data"
    METADATA = "metadata"
    NAME = "file name"


@dataclass(frozen=True, slots=True, repr=False)
class Fragment:
    """A piece of text with its place in the file."""

    text: str
    kind: Kind
    where: str
    line: int | None = None

    def __repr__(self) -> str:
        """Return the place and the length only: the text may be what is looked for."""
        return f"Fragment({self.kind}, {self.where!r}, {len(self.text)} characters)"


@dataclass(frozen=True, slots=True, repr=False, eq=False)
class Shape:
    """The vertices of a geometry, shape (n, 2), longitude or easting first."""

    vertices: FloatArray
    crs: str | None
    """None where the file does not say; every system the town may be written in is tried."""
    where: str

    def __repr__(self) -> str:
        """Return the place and the size only."""
        return f"Shape({self.where!r}, {len(self.vertices)} vertices)"


@dataclass(frozen=True, slots=True)
class Fault:
    """A rule that a file's form breaks, whatever its text says."""

    rule: str
    where: str


@dataclass(frozen=True, slots=True)
class Photograph:
    """A picture made of dots, which no program can look through for house numbers."""

    where: str
    sha256: str


Piece = Fragment | Shape | Fault | Photograph
