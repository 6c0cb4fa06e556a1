"""Leaves out the lines of a form that nobody filled in."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from eaveline.errors import Problem
from eaveline.private.intake.raw import RawFile
from eaveline.private.intake.schema import WATCHES

_PRINTED = {WATCHES.folder: "streets"}
"""By folder, the column that its field sheet prints beforehand."""


def without_unfilled_lines(raw: RawFile) -> RawFile:
    """Return a file without lines that hold a street and nothing else, and a notice of them.

    The street list comes with every street of the town on it, and a volunteer fills in a few:
    the rest are no records, as blank lines are none. A street alone could not be used anyway,
    since it tells no time spent there.
    """
    printed = _PRINTED.get(raw.folder)
    if printed not in raw.cells or raw.replaces is not None or not len(raw):
        return raw
    filled = raw.too_long.copy()
    for name, cells in raw.cells.items():
        if name != printed:
            filled |= cells.codes >= 0
    left = int((~filled).sum())
    if not left:
        return raw
    return replace(
        raw,
        cells={name: cells[filled] for name, cells in raw.cells.items()},
        rows=raw.rows[np.flatnonzero(filled)],
        too_long=raw.too_long[filled],
        notices=(*raw.notices, _notice(left, name=raw.name)),
    )


def _notice(left: int, *, name: str) -> Problem:
    lines = "One line holds" if left == 1 else f"{left} lines hold"
    taken = "it was taken for a line" if left == 1 else "they were taken for lines"
    return Problem(
        "form-lines-unfilled",
        f"{lines} a street and nothing else; {taken} of a form that nobody filled in.",
        "Nothing need be done, unless somebody watched there: then add the date and the times.",
        file=name,
    )


def filled_files(files: Iterable[RawFile]) -> list[RawFile]:
    """Return files without their unfilled lines."""
    return [without_unfilled_lines(raw) for raw in files]
