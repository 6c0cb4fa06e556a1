"""Reads a site's outline from well-known text."""

from __future__ import annotations

import re
from typing import Final, Literal

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from eaveline.geodesy import to_grid

SITE_FILES: Final = frozenset({".geojson", ".json", ".gpkg", ".shp", ".kml", ".gml", ".fgb"})
BESIDE_SHAPEFILES: Final = frozenset({".dbf", ".shx", ".prj", ".cpg", ".sbn", ".sbx", ".qix"})
"""Parts of a shapefile, which are read with it."""
_SRID = re.compile(r"^\s*SRID\s*=\s*(\d+)\s*;\s*", re.IGNORECASE)
_DEGREES = 4326


def is_outline(text: str) -> bool:
    """Return whether a text is a shape with an extent, in metres or, after SRID=4326;, degrees."""
    return _shape(text) is not None


def read_outline(text: str, *, crs: Literal["EPSG:27700", "EPSG:29903"]) -> BaseGeometry | None:
    """Return a site's outline in the town's grid, valid, or None if it cannot be read.

    Parameters
    ----------
    text
        WKT: in metres of the town's grid, or with ``SRID=4326;`` before it in degrees,
        longitude first.
    crs
        The town's grid.
    """
    found = _shape(text)
    if found is None:
        return None
    shape, srid = found
    if srid == _DEGREES:
        shape = shapely.transform(shape, lambda points: _metres(points, crs))
        if not np.isfinite(shapely.get_coordinates(shape)).all():
            return None
    return shapely.make_valid(shape)


def _metres(
    points: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
    crs: Literal["EPSG:27700", "EPSG:29903"],
) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    easting, northing, _ = to_grid(points[:, 0], points[:, 1], crs=crs)
    return np.column_stack([easting, northing])


def _shape(text: str) -> tuple[BaseGeometry, int | None] | None:
    match = _SRID.match(text)
    srid = int(match[1]) if match else None
    if srid not in (None, _DEGREES, 27700, 29903):
        return None
    try:
        shape = shapely.from_wkt(text[match.end() :] if match else text)
    except shapely.errors.ShapelyError:
        return None
    if shape.is_empty or not np.isfinite(shapely.get_coordinates(shape)).all():
        return None
    return shapely.force_2d(shape), srid
