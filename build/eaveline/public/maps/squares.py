"""Geometry of squares, drawn from their ids alone.

A cell (i, j) covers eastings size * i to size * (i + 1) and northings by j. A region is the
union of its cells; readers know it as a square or a group of squares.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from shapely import MultiPolygon, Point, Polygon

from eaveline.geodesy import to_wgs84

if TYPE_CHECKING:
    from eaveline.public.records import Cell

_DECIMALS = 6
"""About 0.1 m: fine enough to draw a corner, too coarse to carry anything else."""


def cell_polygon(cell: Cell, *, cell_size_m: int) -> Polygon:
    """Return a cell's square, anticlockwise from its south-west corner, in metres."""
    west, south = cell.i * cell_size_m, cell.j * cell_size_m
    east, north = west + cell_size_m, south + cell_size_m
    return Polygon([(west, south), (east, south), (east, north), (west, north)])


def region_polygon(cells: Iterable[Cell], *, cell_size_m: int) -> MultiPolygon:
    """Return the union of cells, with no vertex that is not needed.

    Parameters
    ----------
    cells
        The region's cells, in any order.
    cell_size_m
        The side of a cell in metres.

    Returns
    -------
    MultiPolygon
        In the town's grid (metres), in normal form: the same cells give the same bytes.
        Outer rings run anticlockwise, as RFC 7946 asks. Cells that meet only at a
        corner stay separate polygons.

    Raises
    ------
    ValueError
        If there are no cells.
    """
    return _union(tuple(sorted(set(cells))), cell_size_m)


@lru_cache(maxsize=20_000)
def _union(cells: tuple[Cell, ...], cell_size_m: int) -> MultiPolygon:
    """Return the union of cells; many downloads and maps ask for the same ones."""
    squares = [cell_polygon(cell, cell_size_m=cell_size_m) for cell in cells]
    if not squares:
        msg = "a region needs at least one cell"
        raise ValueError(msg)
    union = shapely.normalize(shapely.simplify(shapely.union_all(squares), 0.0))
    parts = [shapely.orient_polygons(part) for part in shapely.get_parts(union)]
    return MultiPolygon(parts)


def region_polygons(
    cells_by_region: Mapping[str, Iterable[Cell]], *, cell_size_m: int
) -> dict[str, MultiPolygon]:
    """Return every region's polygon by region id, in the order of the ids."""
    return {
        region_id: region_polygon(cells_by_region[region_id], cell_size_m=cell_size_m)
        for region_id in sorted(cells_by_region)
    }


def centre(cells: Iterable[Cell], *, cell_size_m: int) -> Point:
    """Return the middle of the box around the cells, in metres.

    It is the point that stands for a region where a format has room for no more. For one
    cell it is the square's centre, not its corner, which would double the
    uncertainty (Chapman & Wieczorek 2020, Georeferencing Best Practices).
    """
    south_west, north_east = _extent(cells)
    return Point(
        (south_west[0] + north_east[0] + 1) * cell_size_m / 2,
        (south_west[1] + north_east[1] + 1) * cell_size_m / 2,
    )


def uncertainty_m(cells: Iterable[Cell], *, cell_size_m: int) -> int:
    """Return the radius about `centre` that holds every cell whole, in metres, rounded up.

    This is Darwin Core's ``coordinateUncertaintyInMeters``. For one cell of 100 m it is 71:
    half the diagonal is 70.71 (Chapman & Wieczorek 2020).
    """
    cells = tuple(cells)
    middle = centre(cells, cell_size_m=cell_size_m)
    corners = [
        ((cell.i + right) * cell_size_m, (cell.j + up) * cell_size_m)
        for cell in cells
        for right in (0, 1)
        for up in (0, 1)
    ]
    return math.ceil(max(math.hypot(x - middle.x, y - middle.y) for x, y in corners))


def geojson_geometries(shapes: Iterable[shapely.Geometry], *, crs: str) -> list[dict[str, Any]]:
    """Return shapes of the town's grid as RFC 7946 geometries.

    Parameters
    ----------
    shapes
        Points, lines or polygons, single or multiple, in metres.
    crs
        Their grid: ``EPSG:27700`` or ``EPSG:29903``.

    Returns
    -------
    list of dict
        ``type`` and ``coordinates`` of each; longitude before latitude, to 6 decimals. A
        multiple shape of one part is written as single.
    """
    single = [
        shapely.get_geometry(shape, 0) if shapely.get_num_geometries(shape) == 1 else shape
        for shape in shapes
    ]
    # All at once: a change of grid costs more to begin than to do.
    degrees = shapely.transform(
        np.array(single, dtype=object),
        lambda points: to_wgs84(points, crs=crs).round(_DECIMALS),
    )
    return [json.loads(text) for text in shapely.to_geojson(degrees)]


def _extent(cells: Iterable[Cell]) -> tuple[tuple[int, int], tuple[int, int]]:
    pairs = np.asarray([tuple(cell) for cell in cells])
    if len(pairs) == 0:
        msg = "a region needs at least one cell"
        raise ValueError(msg)
    low, high = pairs.min(axis=0), pairs.max(axis=0)
    return (int(low[0]), int(low[1])), (int(high[0]), int(high[1]))
