"""Divides a town into regions that each hold the minimum count of premises.

A region is a square of the national grid, or a group of squares. The division is a pure
function of where the premises stand: no record is looked at, so nothing can be read from it
backwards. It is made once; `frozen.py` keeps it from then on.

What is measured and wanted: as many premises as possible in single squares, the rest
within little more. Cells that can stand alone do; small cells join each other first; a farm
far out joins where that blurs the fewest premises least (`joining.py`).

A cell without premises adds nothing to a region's count, yet widens what is drawn. It
goes to the nearest region that is already a group of squares, and to a single square only
where no group lies within `EMPTY_DETOUR_CELLS` further. So parks and fields hardly ever
blur a square that stands alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from eaveline.protect.division.joining import joined
from eaveline.protect.division.regions import Integers, cells_at

EMPTY_DETOUR_CELLS = 4.0
"""How much further an empty cell reaches to spare a single square (our choice, no source)."""


def cells_within(boundary: BaseGeometry | None, *, cell_size_m: int) -> Integers:
    """Return the grid cells that a boundary covers, wholly or in part.

    Parameters
    ----------
    boundary
        A polygon or several, in the town's grid (metres); None gives no cells.
    cell_size_m
        The side of a cell in metres.

    Returns
    -------
    ndarray, shape (n, 2)
        Cell indices i, j in lexical order. A cell that only touches the boundary's edge is
        not covered.
    """
    if boundary is None or boundary.is_empty:
        return np.empty((0, 2), dtype=np.int64)
    west, south, east, north = np.asarray(boundary.bounds) / cell_size_m
    i, j = np.meshgrid(
        np.arange(int(np.floor(west)), int(np.ceil(east))),
        np.arange(int(np.floor(south)), int(np.ceil(north))),
        indexing="ij",
    )
    cells = np.column_stack([i.ravel(), j.ravel()]).astype(np.int64)
    corner = cells * cell_size_m
    squares = shapely.box(
        corner[:, 0], corner[:, 1], corner[:, 0] + cell_size_m, corner[:, 1] + cell_size_m
    )
    shapely.prepare(boundary)
    meets = shapely.intersects(boundary, squares)
    within: Integers = cells[meets & ~shapely.touches(boundary, squares)]
    return within


def count_premises(buildings: pd.DataFrame, *, cell_size_m: int) -> pd.DataFrame:
    """Count the premises in each cell that has any.

    Parameters
    ----------
    buildings
        One row for each of the premises, with easting and northing in metres.
    cell_size_m
        The side of a cell in metres.

    Returns
    -------
    DataFrame
        cell_i, cell_j, premises; in lexical order of the cells.
    """
    places = buildings[["easting", "northing"]].to_numpy(dtype=np.float64)
    cells, counts = np.unique(cells_at(places, cell_size_m=cell_size_m), axis=0, return_counts=True)
    return cell_table(cells, counts)


def cell_table(cells: Integers, premises: Integers) -> pd.DataFrame:
    """Return cells, shape (n, 2), and their premises as a table."""
    columns = {"cell_i": cells[:, 0], "cell_j": cells[:, 1], "premises": premises}
    return pd.DataFrame(columns, dtype=np.int64)


def partition(
    premises: pd.DataFrame, boundary_cells: Integers, *, minimum_premises: int
) -> pd.DataFrame:
    """Give every cell its region.

    Parameters
    ----------
    premises
        cell_i, cell_j, premises, each cell once and in any order, as `count_premises` makes it.
    boundary_cells
        Cell indices i, j inside the town's boundary, shape (n, 2), in any order. Cells with
        premises outside the boundary are taken in too.
    minimum_premises
        The minimum count k.

    Returns
    -------
    DataFrame
        cell_i, cell_j, premises, region; in lexical order of the cells. Regions are numbered
        from 0 by their first cell with premises. Every region holds at least k premises.
        If the whole town holds fewer than k, there are no regions and every number is -1.

    Raises
    ------
    ValueError
        If a cell is counted twice or a count is negative.
    """
    table = _every_cell(premises, boundary_cells)
    cells = table[["cell_i", "cell_j"]].to_numpy()
    count = table["premises"].to_numpy()
    region = np.full(len(table), -1, dtype=np.int64)
    if count.sum() >= minimum_premises:
        lived_in = count > 0
        region[lived_in] = _joined_regions(
            cells[lived_in], count[lived_in], minimum_premises=minimum_premises
        )
        region[~lived_in] = homes_for_empty(cells[~lived_in], cells[lived_in], region[lived_in])
    return table.assign(region=region)


def _every_cell(premises: pd.DataFrame, boundary_cells: Integers) -> pd.DataFrame:
    counted = premises[["cell_i", "cell_j", "premises"]].astype(np.int64)
    if counted.duplicated(["cell_i", "cell_j"]).any() or (counted["premises"] < 0).any():
        msg = "each cell must be counted once, and no count may be negative"
        raise ValueError(msg)
    empty = cell_table(boundary_cells.reshape(-1, 2), np.zeros(len(boundary_cells), dtype=np.int64))
    both = pd.concat([counted, empty], ignore_index=True)
    return both.groupby(["cell_i", "cell_j"], sort=True).sum().reset_index()


def _joined_regions(cells: Integers, count: Integers, *, minimum_premises: int) -> Integers:
    """Return a region number for each cell with premises; cells come in lexical order."""
    alone = np.arange(len(cells), dtype=np.int64)
    return numbered(joined(cells, count, alone, minimum_premises=minimum_premises, may_split=True))


def numbered(groups: Integers) -> Integers:
    """Return groups numbered from 0 in the order in which they first occur."""
    numbers, _ = pd.factorize(groups)
    return numbers.astype(np.int64)


def homes_for_empty(empty: Integers, lived_in: Integers, region: Integers) -> Integers:
    """Return the region that each cell without premises goes to.

    Parameters
    ----------
    empty, lived_in
        Cell indices without and with premises, shapes (m, 2) and (n, 2).
    region
        The region of each cell with premises, shape (n,); not empty.

    Returns
    -------
    ndarray, shape (m,)
        Region numbers. Ties go to the lowest number.
    """
    if len(empty) == 0:
        return np.empty(0, dtype=np.int64)
    single = np.bincount(region)[region] == 1
    to_group, group = _nearest_region(empty, lived_in[~single], region[~single])
    to_single, lone = _nearest_region(empty, lived_in[single], region[single])
    return np.where(to_group <= to_single + EMPTY_DETOUR_CELLS, group, lone)


def _nearest_region(
    cells: Integers, targets: Integers, region: Integers
) -> tuple[npt.NDArray[np.float64], Integers]:
    """Return each cell's distance in cells to the nearest target, and that one's region."""
    if len(targets) == 0:
        return np.full(len(cells), np.inf), np.full(len(cells), -1, dtype=np.int64)
    tree = cKDTree(targets)
    away = np.asarray(tree.query(cells)[0], dtype=np.float64)
    ties = tree.query_ball_point(cells, r=away + 1e-6)
    return away, np.array([region[found].min() for found in ties], dtype=np.int64)


@dataclass(frozen=True, slots=True)
class Extent:
    """How far a division blurs its premises; shares run from 0 to 1.

    Boxes are drawn around a region's cells with premises. `in_single_cells_with_empty`
    counts a region as single only if no empty cell is attached to it either, which is
    what a reader sees on the map.
    """

    premises: int
    regions: int
    smallest: int
    in_single_cells: float
    in_single_cells_with_empty: float
    within_2_cells: float
    within_6_cells: float
    widest_cells: int


def extent(table: pd.DataFrame) -> Extent:
    """Measure a division made by `partition`, which must have at least one region."""
    regions = table["region"].nunique()
    cells_in_all = table.groupby("region").size()
    lived_in = table[table["premises"] > 0].groupby("region")
    count = lived_in["premises"].sum()
    width = (
        pd.concat(
            [lived_in[axis].max() - lived_in[axis].min() for axis in ("cell_i", "cell_j")], axis=1
        )
        .max(axis=1)
        .add(1)
    )
    total = int(count.sum())

    def share(chosen: pd.Series) -> float:
        return float(count[chosen].sum() / total)

    return Extent(
        premises=total,
        regions=regions,
        smallest=int(count.min()),
        in_single_cells=share(width == 1),
        in_single_cells_with_empty=share(cells_in_all == 1),
        within_2_cells=share(width <= 2),  # noqa: PLR2004 - named by the field
        within_6_cells=share(width <= 6),  # noqa: PLR2004 - named by the field
        widest_cells=int(width.max()),
    )
