"""Says of building outlines which could be dwellings, and which stand apart."""

from __future__ import annotations

import re
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely

OUTLINES_APART_M = 25.0
"""Of two outlines nearer than this only one counts, where outlines are all there is."""
SMALLEST_DWELLING_M2 = 30.0
"""A single garage has about 18 square metres, a double one 36, a small terraced house 35."""

_USE_COLUMN = re.compile(r"use|type|class|building|kind|function|descr|theme", re.IGNORECASE)
_NOT_LIVED_IN = re.compile(
    r"garage|carport|\bshed|cowshed|outbuilding|barn|stable|\bsty\b|glasshouse|greenhouse"
    r"|agricultur|farm_auxiliary|silo|\btank|substation|kiosk|industrial|warehouse|factory"
    r"|shelter|\broof\b|\bhut\b",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Outlines:
    """Outlines, and whether each could be a dwelling by its size and use."""

    polygons: npt.NDArray[np.object_]
    """Valid; a few that were not come as several parts."""
    dwelling: npt.NDArray[np.bool_]


def read_outlines(outlines: gpd.GeoDataFrame | None) -> Outlines:
    """Return the single, valid polygons of a table, and which could be dwellings.

    Parameters
    ----------
    outlines
        Building polygons in the town's grid; None gives no outlines. A column whose name
        speaks of use or type is searched for sheds, barns, garages and the like.
    """
    if outlines is None or outlines.empty:
        return Outlines(np.empty(0, dtype=object), np.empty(0, dtype=bool))
    table = outlines[outlines.geometry.notna()].explode(index_parts=False)
    table = table[table.geom_type == "Polygon"]
    polygons = shapely.make_valid(shapely.force_2d(table.geometry.to_numpy()))
    uses = [
        name
        for name in table.columns
        if name != table.geometry.name and _USE_COLUMN.search(str(name))
    ]
    other_use = np.zeros(len(table), dtype=bool)
    for name in uses:
        other_use |= (
            table[name].astype("string").fillna("").str.contains(_NOT_LIVED_IN).to_numpy(dtype=bool)
        )
    return Outlines(polygons, (shapely.area(polygons) >= SMALLEST_DWELLING_M2) & ~other_use)


def length_m(polygon: shapely.Geometry) -> float:
    """Return the longer side of the smallest rectangle around a shape."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(polygon))[:3]
    return float(np.hypot(*np.diff(corners, axis=0).T).max())


def far_apart(polygons: npt.NDArray[np.object_]) -> npt.NDArray[np.bool_]:
    """Mark polygons, earlier ones first, none within `OUTLINES_APART_M` of one marked before.

    Parameters
    ----------
    polygons
        In order of preference, in metres, shape (n,).
    """
    kept = np.ones(len(polygons), dtype=bool)
    if not len(polygons):
        return kept
    one, other = shapely.STRtree(polygons).query(
        polygons, predicate="dwithin", distance=OUTLINES_APART_M
    )
    later = other > one
    start = np.searchsorted(np.sort(one[later]), np.arange(len(polygons) + 1))
    other = other[later][np.argsort(one[later], kind="stable")]
    for position in range(len(polygons)):
        if kept[position]:
            kept[other[start[position] : start[position + 1]]] = False
    return kept
