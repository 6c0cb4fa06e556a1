"""The regions of a town as one frozen value.

A region is a square of the national grid, or a group of squares, that holds at least the
minimum count of premises. Readers know it as a square or a group of squares.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from eaveline.public.records import Cell

JOINED_FROM = 50_000
"""Ids from here up tell that a region was joined from several that had been published."""

Integers = npt.NDArray[np.int64]
_STRIDE = 1 << 20
"""Above any cell index, so that i * _STRIDE + j orders cells as the pair (i, j) does."""


@dataclass(frozen=True, slots=True)
class MapRule:
    """What a division into regions was made by; none of it can change once published."""

    minimum_premises: int
    cell_size_m: int
    crs: str


@dataclass(frozen=True, repr=False, eq=False)
class Regions:
    """Regions in order of their ids; a region's number is its position here.

    Parameters
    ----------
    ids
        R001 and so on; none for a town without a map.
    cells
        Each region's cells in lexical order, those without premises among them.
    premises
        The published premises count of each region, shape (regions,).
    rule
        What they were made by.
    """

    ids: tuple[str, ...]
    cells: tuple[tuple[Cell, ...], ...]
    premises: Integers
    rule: MapRule

    def __repr__(self) -> str:
        """Show the number of regions only."""
        return f"<Regions: {len(self.ids)}>"

    def __eq__(self, other: object) -> bool:
        """Compare ids, shapes, counts and rule."""
        return (
            isinstance(other, Regions)
            and (self.ids, self.cells, self.rule) == (other.ids, other.cells, other.rule)
            and np.array_equal(self.premises, other.premises)
        )

    def __hash__(self) -> int:
        """Agree with equality."""
        return hash((self.ids, self.cells, self.rule))

    @property
    def joined(self) -> npt.NDArray[np.bool_]:
        """Which regions were joined from several published ones, shape (regions,)."""
        return np.array([id_number(name) >= JOINED_FROM for name in self.ids], dtype=bool)

    def region_of(self, easting: npt.ArrayLike, northing: npt.ArrayLike) -> Integers:
        """Return the number of each point's region, -1 outside all of them.

        Parameters
        ----------
        easting, northing
            Metres in the town's grid, shape (n,). A missing value lies outside.
        """
        places = np.column_stack(
            [np.asarray(easting, dtype=np.float64), np.asarray(northing, dtype=np.float64)]
        )
        known = np.isfinite(places).all(axis=1)
        found = np.full(len(places), -1, dtype=np.int64)
        found[known] = self.region_of_cells(
            cells_at(places[known], cell_size_m=self.rule.cell_size_m)
        )
        return found

    def region_of_cells(self, cells: Integers) -> Integers:
        """Return the number of each cell's region, shape (n, 2) to (n,); -1 outside all of them."""
        own, region = self.every_cell
        if len(own) == 0:
            return np.full(len(cells), -1, dtype=np.int64)
        keys, asked = cell_keys(own), cell_keys(cells)
        place = np.minimum(np.searchsorted(keys, asked), len(keys) - 1)
        return np.where(keys[place] == asked, region[place], -1)

    @cached_property
    def half_diagonals_m(self) -> npt.NDArray[np.float64]:
        """Half the diagonal of each region's bounding box, in metres, shape (regions,)."""
        spans = np.array(
            [np.ptp(np.array([(c.i, c.j) for c in cells]), axis=0) + 1 for cells in self.cells],
            dtype=np.float64,
        ).reshape(-1, 2)
        return np.hypot(spans[:, 0], spans[:, 1]) * self.rule.cell_size_m / 2 + 0.5

    @cached_property
    def every_cell(self) -> tuple[Integers, Integers]:
        """All cells in lexical order, shape (n, 2), and the number of each one's region."""
        cells = np.array([cell for held in self.cells for cell in held], dtype=np.int64)
        region = np.repeat(
            np.arange(len(self.cells), dtype=np.int64), [len(held) for held in self.cells]
        )
        cells = cells.reshape(-1, 2)
        order = np.argsort(cell_keys(cells))
        return cells[order], region[order]


def no_regions(rule: MapRule) -> Regions:
    """Return the regions of a town without a map."""
    return Regions((), (), np.empty(0, dtype=np.int64), rule)


def regions_from_cells(
    ids: tuple[str, ...], premises: Integers, cells: Integers, region: Integers, *, rule: MapRule
) -> Regions:
    """Return regions from one number for each cell.

    Parameters
    ----------
    ids, premises, rule
        As for `Regions`.
    cells
        Cell indices in lexical order, shape (n, 2).
    region
        The position in `ids` of each cell's region, shape (n,).
    """
    held: list[list[Cell]] = [[] for _ in ids]
    for (i, j), number in zip(cells.tolist(), region.tolist(), strict=True):
        held[number].append(Cell(i, j))
    return Regions(ids, tuple(tuple(own) for own in held), premises, rule)


def cells_at(places: npt.NDArray[np.float64], *, cell_size_m: int) -> Integers:
    """Return the cell of each point, shape (n, 2) in metres to (n, 2) in indices."""
    return np.floor(places / cell_size_m).astype(np.int64)


def cell_keys(cells: Integers) -> Integers:
    """Return one whole number for each cell, in the same order as the cells."""
    keys: Integers = cells[:, 0] * _STRIDE + cells[:, 1]
    return keys


def region_id(number: int) -> str:
    """Return the id that a number stands for: 7 is R007."""
    return f"R{number:03d}"


def id_number(name: str) -> int:
    """Return the number an id stands for: R007 is 7."""
    return int(name[1:])
