"""What one kind of place cell says of each row: a point in the town's grid, or a problem."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Self

import numpy as np
import numpy.typing as npt
import pandas as pd

Floats = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]
Objects = npt.NDArray[np.object_]
"""Texts, None where there is none."""


LOOKALIKES: Final = str.maketrans("OoIlL", "00111")
"""Letters typed for figures; undoing it is only ever suggested."""


@dataclass(frozen=True, slots=True, repr=False)
class Readings:
    """Arrays of one length, an element a row; filled in by the one reader that made them.

    Where nothing was given, the coordinates are NaN and the rest is None. Where there is a
    problem, `column` is where, and `suggestion` the cell probably meant. `repair` is the
    code of what was put right.
    """

    easting: Floats
    northing: Floats
    uncertainty_m: Floats
    problem: Objects
    column: Objects
    suggestion: Objects
    repair: Objects

    @classmethod
    def blank(cls, rows: int) -> Self:
        """Return readings of nothing."""
        numbers = [np.full(rows, np.nan) for _ in range(3)]
        texts = [np.full(rows, None, dtype=object) for _ in range(4)]
        return cls(*numbers, *texts)

    @property
    def found(self) -> Mask:
        """Rows with a point and no problem."""
        return np.isfinite(self.easting) & ~self.failed

    @property
    def failed(self) -> Mask:
        """Rows with a problem."""
        return given(self.problem)

    def put(
        self, rows: npt.NDArray[np.intp], easting: Floats, northing: Floats, uncertainty_m: Floats
    ) -> None:
        """Set the points of some rows."""
        self.easting[rows] = easting
        self.northing[rows] = northing
        self.uncertainty_m[rows] = uncertainty_m

    def fail(
        self, rows: npt.NDArray[np.intp], problem: str, column: str, suggestion: str | None = None
    ) -> None:
        """Give some rows a problem; they lose their points."""
        self.easting[rows] = self.northing[rows] = self.uncertainty_m[rows] = np.nan
        self.problem[rows], self.column[rows] = problem, column
        self.suggestion[rows], self.repair[rows] = suggestion, None

    def clear(self, rows: npt.NDArray[np.intp]) -> None:
        """Make some rows say nothing."""
        self.easting[rows] = self.northing[rows] = self.uncertainty_m[rows] = np.nan
        for texts in (self.problem, self.column, self.suggestion, self.repair):
            texts[rows] = None

    def mend(self, rows: npt.NDArray[np.intp], repair: str, column: str) -> None:
        """Note what was put right in some rows, which thereby lose their problem."""
        self.problem[rows] = self.suggestion[rows] = None
        self.repair[rows], self.column[rows] = repair, column

    def rows(self, rows: npt.NDArray[np.intp]) -> Readings:
        """Return some rows as readings of their own."""
        return Readings(*(getattr(self, name)[rows] for name in self.__slots__))

    def take_over(self, rows: npt.NDArray[np.intp], other: Readings) -> None:
        """Set some rows to those of `other`, which has as many."""
        for name in self.__slots__:
            getattr(self, name)[rows] = getattr(other, name)


def given(cells: Objects) -> Mask:
    """Tell which cells hold a text."""
    holds: Mask = ~pd.isna(cells)
    return holds
