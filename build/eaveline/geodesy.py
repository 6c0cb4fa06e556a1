"""Coordinates between WGS84 (or ETRS89) and a town's national grid, for every stage.

Great Britain uses the Ordnance Survey's own transformation, OSTN15, whose grid comes with
the package convertbng; a bare PROJ lacks that grid and is out by up to 5 m, a neighbour's
house in a terrace. Ireland uses the published one-metre Helmert transformation through
pyproj. It is written out, so that no grid file found on one machine and missing on another
can change a result.

WGS84, which phones report, is taken for ETRS89: the two have drifted apart by about a
metre, far below the uncertainty given to any phone's position.
"""

from __future__ import annotations

from functools import lru_cache
from types import MappingProxyType
from typing import Final, Literal, NamedTuple, cast

import numpy as np
import numpy.typing as npt
from convertbng.cutil import convert_bng, convert_lonlat
from pyproj import Transformer

ProjectedCrs = Literal["EPSG:27700", "EPSG:29903"]
Floats = npt.NDArray[np.float64]

TRANSFORM_UNCERTAINTY_M: Final = MappingProxyType({"EPSG:27700": 0.0, "EPSG:29903": 1.0})
"""What the change of system adds to a place's uncertainty.

OSTN15 defines the British National Grid, so nothing is lost (Ordnance Survey, A guide to
coordinate systems in Great Britain). The Irish transformation is good to 1 m (EPSG:1954).
"""

_GEOGRAPHIC_LIMITS: Final = MappingProxyType(
    {"EPSG:27700": (-9.01, 49.75, 2.01, 61.01), "EPSG:29903": (-11.0, 51.0, -5.0, 56.0)}
)
"""West, south, east, north of each grid's area of use (EPSG), to which positions are kept."""
_PROJECTED_LIMITS: Final = MappingProxyType(
    {
        "EPSG:27700": (0.0, 0.0, 700_000.0, 1_250_000.0),
        "EPSG:29903": (0.0, 0.0, 500_000.0, 500_000.0),
    }
)

_IRISH_PIPELINE: Final = (
    "+proj=pipeline "
    "+step +proj=unitconvert +xy_in=deg +xy_out=rad "
    "+step +proj=cart +ellps=WGS84 "
    # EPSG:1954, TM75 to WGS 84 (2), Ordnance Survey Ireland's seven parameters, inverted.
    "+step +inv +proj=helmert +x=482.5 +y=-130.6 +z=564.6 +rx=-1.042 +ry=-0.214 +rz=-0.631 "
    "+s=8.15 +convention=position_vector "
    "+step +inv +proj=cart +ellps=mod_airy "
    # EPSG:29903, Irish Grid on TM75.
    "+step +proj=tmerc +lat_0=53.5 +lon_0=-8 +k=1.000035 +x_0=200000 +y_0=250000 +ellps=mod_airy"
)


BRITISH_GRID: Final = "EPSG:27700"
IRISH_GRID: Final = "EPSG:29903"
WGS84: Final = "EPSG:4326"


class Transformed(NamedTuple):
    """Transformed coordinates; both are NaN where `outside` is True."""

    x: Floats
    """Easting in metres, or longitude in degrees."""
    y: Floats
    """Northing in metres, or latitude in degrees."""
    outside: npt.NDArray[np.bool_]
    """Missing, or outside the area the grid is meant for."""


def to_grid(longitude: npt.ArrayLike, latitude: npt.ArrayLike, *, crs: ProjectedCrs) -> Transformed:
    """Turn WGS84 or ETRS89 degrees into eastings and northings of `crs`, in metres.

    Parameters
    ----------
    longitude, latitude
        Degrees, one-dimensional, of one length; NaN where unknown.
    crs
        "EPSG:27700" (British National Grid) or "EPSG:29903" (Irish Grid).

    Returns
    -------
    Transformed
        A position outside the grid's area is NaN and marked, never an exception.
    """
    lon, lat = _arrays(longitude, latitude)
    return _apply(lon, lat, crs=crs, inverse=False)


def to_degrees(
    easting: npt.ArrayLike, northing: npt.ArrayLike, *, crs: ProjectedCrs
) -> Transformed:
    """Turn eastings and northings of `crs` into WGS84 degrees, longitude first.

    Parameters
    ----------
    easting, northing
        Metres, one-dimensional, of one length; NaN where unknown.
    crs
        "EPSG:27700" (British National Grid) or "EPSG:29903" (Irish Grid).

    Returns
    -------
    Transformed
        A point outside the grid is NaN and marked, never an exception.
    """
    east, north = _arrays(easting, northing)
    return _apply(east, north, crs=crs, inverse=True)


def to_wgs84(points_m: Floats, *, crs: str) -> Floats:
    """Return the longitude and latitude of grid points, those beyond the grid's area too.

    A record out there has no place, but a river of the map may well run on: such points are
    within 5 m, by PROJ's own shift. For Great Britain the area ends east of about 1.77 degrees.

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
    found = to_degrees(points_m[:, 0], points_m[:, 1], crs=_grid(crs))
    return _filled(found, points_m, crs, WGS84)


def from_wgs84(points_deg: Floats, *, crs: str) -> Floats:
    """Return the eastings and northings of points, as `to_wgs84` does the reverse.

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
    found = to_grid(points_deg[:, 0], points_deg[:, 1], crs=_grid(crs))
    return _filled(found, points_deg, WGS84, crs)


def _grid(crs: str) -> ProjectedCrs:
    if crs not in (BRITISH_GRID, IRISH_GRID):
        msg = f"{crs} is not one of the two grids, {BRITISH_GRID} and {IRISH_GRID}"
        raise ValueError(msg)
    return cast("ProjectedCrs", crs)


def _filled(found: Transformed, points: Floats, source: str, target: str) -> Floats:
    """Return the converted points, those outside the grid's area through PROJ's own shift."""
    converted = np.column_stack([found.x, found.y])
    if found.outside.any():
        x, y = points[found.outside].T
        converted[found.outside] = np.column_stack(_transformer(source, target).transform(x, y))
    return converted


@lru_cache(maxsize=8)
def _transformer(source: str, target: str) -> Transformer:
    return Transformer.from_crs(source, target, always_xy=True)


def _arrays(x: npt.ArrayLike, y: npt.ArrayLike) -> tuple[Floats, Floats]:
    first = np.atleast_1d(np.asarray(x, dtype=np.float64))
    second = np.atleast_1d(np.asarray(y, dtype=np.float64))
    if first.ndim != 1 or first.shape != second.shape:
        raise ValueError("coordinates come as two one-dimensional arrays of one length")
    return first, second


def _apply(
    x: Floats,
    y: Floats,
    *,
    crs: ProjectedCrs,
    inverse: bool,
) -> Transformed:
    limits = (_GEOGRAPHIC_LIMITS[crs], _PROJECTED_LIMITS[crs])
    before, after = limits[::-1] if inverse else limits
    inside = _within(x, y, before)
    out_x, out_y = np.full(x.shape, np.nan), np.full(y.shape, np.nan)
    if inside.any():
        if crs == "EPSG:27700":
            convert = convert_lonlat if inverse else convert_bng
            out_x[inside], out_y[inside] = convert(x[inside], y[inside])
        else:
            out_x[inside], out_y[inside] = _irish().transform(
                x[inside], y[inside], direction="INVERSE" if inverse else "FORWARD"
            )
    outside = ~_within(out_x, out_y, after)
    out_x[outside] = np.nan
    out_y[outside] = np.nan
    return Transformed(out_x, out_y, outside)


def _within(
    x: Floats, y: Floats, limits: tuple[float, float, float, float]
) -> npt.NDArray[np.bool_]:
    """Whether each point lies within west, south, east, north; NaN and infinity do not."""
    west, south, east, north = limits
    return (x >= west) & (x <= east) & (y >= south) & (y <= north)


@lru_cache(maxsize=1)
def _irish() -> Transformer:
    return Transformer.from_pipeline(_IRISH_PIPELINE)
