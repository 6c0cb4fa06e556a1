"""One file's records as columns of text, with what a person should know about the file."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.errors import Problem


@dataclass(frozen=True, slots=True)
class Heading:
    """One heading of a file, for the mapping that a person may have to complete.

    Attributes
    ----------
    text
        As the file writes it; empty for a column without one.
    means
        The canonical name, or None if the heading is not known.
    perhaps
        The canonical name it is most like, if it is not known.
    example
        The first filled cell below it.
    """

    text: str
    means: str | None
    perhaps: str | None
    example: str

    def __repr__(self) -> str:
        """Leave out the example, so that no cell reaches a log."""
        return f"<Heading meaning {self.means}>"


@dataclass(frozen=True, repr=False)
class RawFile:
    """One file's records as text.

    Attributes
    ----------
    folder
        The record kind's folder.
    name
        The file's path below survey_data/, with forward slashes (and the sheet, if several).
    cells
        A column for each canonical name present, each a categorical of texts, and one for
        each unknown heading under ``"? heading"``.
    rows
        Each record's row as a spreadsheet shows it.
    too_long
        Whether the record has filled cells beyond the last heading.
    replaces
        Corrections only: the key of the row each record replaces.
    notices
        What a person should know about the file as a whole.
    unmapped
        The file's headings, if they don't say enough to use it: material for a mapping.
    """

    folder: str
    name: str
    cells: dict[str, pd.Categorical]
    rows: npt.NDArray[np.int64]
    too_long: npt.NDArray[np.bool_]
    replaces: npt.NDArray[np.uint64] | None = None
    notices: tuple[Problem, ...] = field(default=())
    unmapped: tuple[Heading, ...] = field(default=())

    def __repr__(self) -> str:
        """Show the number of rows only, so that no cell reaches a log."""
        return f"<RawFile of {len(self)} rows>"

    def __len__(self) -> int:
        """Return the number of records."""
        return len(self.rows)


def unusable(
    folder: str,
    name: str,
    code: str,
    what: str,
    next_step: str,
    *,
    also: Iterable[Problem] = (),
    unmapped: Iterable[Heading] = (),
) -> RawFile:
    """Return a file without records whose notices say why it cannot be used."""
    return RawFile(
        folder,
        name,
        {},
        np.empty(0, dtype=np.int64),
        np.empty(0, dtype=bool),
        notices=(*also, Problem(code, what, next_step, file=name)),
        unmapped=tuple(unmapped),
    )
