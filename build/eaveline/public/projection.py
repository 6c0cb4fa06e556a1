"""Conversion between the town's grid, in metres, and WGS84 longitude and latitude.

British National Grid (EPSG:27700) goes through the Ordnance Survey's own OSTN15 grid, which
the package convertbng carries. Irish Grid (EPSG:29903) goes through PROJ. WGS84 is
taken as ETRS89 (they differ by under a metre), as is usual for maps.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Literal

import numpy as np
from convertbng.cutil import convert_bng, convert_osgb36_to_ll
from pyproj import Transformer

if TYPE_CHECKING:
    from numpy.typing import NDArray

BRITISH_GRID = "EPSG:27700"
IRISH_GRID = "EPSG:29903"
WGS84 = "EPSG:4326"
GridCrs = Literal["EPSG:27700", "EPSG:29903"]


def to_wgs84(points_m: NDArray[np.float64], *, crs: str) -> NDArray[np.float64]:
    """Return the longitude and latitude of grid points.

    Parameters
    ----------
    points_m
        Eastings and northings in metres, shape (n, 2).
    crs
        The points' system: ``EPSG:27700`` or ``EPSG:29903``.

    Returns
    -------
    ndarray, shape (n, 2)
        Longitude, then latitude, in degrees, as RFC 7946 orders them.

    Raises
    ------
    ValueError
        If `crs` is neither of the two grids.
    """
    _check_grid(crs)
    if len(points_m) == 0:
        return np.empty((0, 2))
    if crs == IRISH_GRID:
        return _proj(points_m, IRISH_GRID, WGS84)
    degrees = np.column_stack(convert_osgb36_to_ll(points_m[:, 0], points_m[:, 1]))
    return _fill_outside_ostn15(degrees, points_m, BRITISH_GRID, WGS84)


def from_wgs84(points_deg: NDArray[np.float64], *, crs: str) -> NDArray[np.float64]:
    """Return the eastings and northings of points given by longitude and latitude.

    Parameters
    ----------
    points_deg
        Longitude and latitude in degrees, shape (n, 2).
    crs
        The system wanted: ``EPSG:27700`` or ``EPSG:29903``.

    Returns
    -------
    ndarray, shape (n, 2)
        Eastings, then northings, in metres.

    Raises
    ------
    ValueError
        If `crs` is neither of the two grids.
    """
    _check_grid(crs)
    if len(points_deg) == 0:
        return np.empty((0, 2))
    if crs == IRISH_GRID:
        return _proj(points_deg, WGS84, IRISH_GRID)
    metres = np.column_stack(convert_bng(points_deg[:, 0], points_deg[:, 1]))
    return _fill_outside_ostn15(metres, points_deg, WGS84, BRITISH_GRID)


def _check_grid(crs: str) -> None:
    if crs not in (BRITISH_GRID, IRISH_GRID):
        msg = f"{crs} is not one of the two grids, {BRITISH_GRID} and {IRISH_GRID}"
        raise ValueError(msg)


def _fill_outside_ostn15(
    converted: NDArray[np.float64], points: NDArray[np.float64], source: str, target: str
) -> NDArray[np.float64]:
    """Fill what convertbng left out.

    It answers NaN beyond its own bounds (east of about 1.77 degrees, for one). There
    PROJ's seven-parameter shift serves: within 5 m, enough for a line of a base map.
    """
    outside = ~np.isfinite(converted).all(axis=1)
    if not outside.any():
        return converted
    filled = converted.copy()
    filled[outside] = _proj(points[outside], source, target)
    return filled


def _proj(points: NDArray[np.float64], source: str, target: str) -> NDArray[np.float64]:
    return np.column_stack(_transformer(source, target).transform(points[:, 0], points[:, 1]))


@lru_cache(maxsize=8)
def _transformer(source: str, target: str) -> Transformer:
    return Transformer.from_crs(source, target, always_xy=True)
