"""One layer's file of the map folder, read into the town's grid.

Anything GDAL reads will do (GeoJSON, GeoPackage, shapefile ...). A file in another system is
brought to the town's grid: through OSTN15 where convertbng covers it, else through PROJ, whose
error of up to 5 m is harmless in a line of a map. (Records are located elsewhere, and more
exactly.)
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import geopandas as gpd
import numpy as np
import pyogrio
import pyogrio.errors
import shapely
from numpy.typing import NDArray
from pyproj import CRS
from shapely import GeometryType

from eaveline.errors import InputError, Problem
from eaveline.geodesy import BRITISH_GRID, WGS84, from_wgs84

_SIDECARS = frozenset(
    {".dbf", ".shx", ".prj", ".cpg", ".qix", ".qpj", ".qmd", ".qml", ".qgz", ".sbn", ".sbx"}
    | {
        ".sld",
        ".lyr",
        ".xml",
        ".txt",
        ".md",
        ".pdf",
        ".gpkg-wal",
        ".gpkg-shm",
        ".gfs",
        ".xsd",
        ".bak",
    }
)
"""Companions of a map file, which are no layer themselves."""
LINES = frozenset({GeometryType.LINESTRING, GeometryType.MULTILINESTRING})
POLYGONS = frozenset({GeometryType.POLYGON, GeometryType.MULTIPOLYGON})
POINTS = frozenset({GeometryType.POINT, GeometryType.MULTIPOINT})
"""The kinds of shape a layer may hold."""
_GRID_LIMIT_M = 1_300_000
"""Neither grid's numbers go below nought or beyond this."""
_WHOLE_EARTH = shapely.box(-180, -90, 180, 90)

_Shapes = NDArray[np.object_]


def layer_file(folder: Path, layer: str) -> Path | None:
    """Return the one file of a layer, None if there is none."""
    found = [
        path
        for path in sorted(folder.glob("*"))
        if path.is_file() and path.stem.casefold() == layer and path.suffix.lower() not in _SIDECARS
    ]
    if len(found) > 1:
        raise InputError(
            Problem(
                code="map-layer-twice",
                what=f"There are {len(found)} files of {layer}: "
                f"{', '.join(path.name for path in found)}.",
                next_step="Keep one and move the others out of the folder.",
                file=shown(found[0].parent / f"{layer}.*"),
            )
        )
    return found[0] if found else None


def read_layer(path: Path, *, kinds: frozenset[GeometryType], crs: str) -> gpd.GeoDataFrame:
    """Return a file's table, its shapes two-dimensional and in the town's grid, none empty.

    Parameters
    ----------
    path
        The file.
    kinds
        The kinds of shape it may hold.
    crs
        The town's grid: ``EPSG:27700`` or ``EPSG:29903``.

    Raises
    ------
    InputError
        If it cannot be read, names no coordinate system or a wrong one, holds other kinds of
        shape, or nothing.
    """
    file = shown(path)
    table = _read_file(path, file=file)
    source = table.crs
    if source is None:
        raise InputError(
            Problem(
                code="map-crs-missing",
                what="The file does not say which coordinate system its numbers are in.",
                next_step=f"Save it again with its system set ({crs} is this town's), or with "
                "its .prj file beside it.",
                file=file,
            )
        )
    table = table[~(table.geometry.isna() | table.geometry.is_empty)]
    if table.empty:
        raise InputError(
            Problem(
                code="map-layer-empty",
                what="The file holds no shapes.",
                next_step="Export the layer again, with its features in it.",
                file=file,
            )
        )
    if not set(shapely.get_type_id(table.geometry.to_numpy())) <= kinds:
        wanted = (("points", POINTS), ("lines", LINES), ("areas", POLYGONS))
        allowed = " or ".join(word for word, some in wanted if some & kinds)
        raise InputError(
            Problem(
                code="map-wrong-shapes",
                what=f"This layer has to hold {allowed}, and the file holds something else as "
                "well or instead.",
                next_step=f"Export the {allowed} alone.",
                file=file,
            )
        )
    moved = _to_grid(table, source, crs=crs, file=file)
    return table.set_geometry(gpd.GeoSeries(moved, index=table.index, crs=crs))


def _read_file(path: Path, *, file: str) -> gpd.GeoDataFrame:
    try:
        names = [str(name) for name, _ in pyogrio.list_layers(path)]
        if len(names) > 1 and path.stem not in names:
            raise InputError(
                Problem(
                    code="map-many-layers",
                    what=f"The file holds {len(names)} layers, and none is called {path.stem}.",
                    next_step=f"Export the one layer wanted, or name it {path.stem}.",
                    file=file,
                )
            )
        layer = path.stem if path.stem in names else None
        table = gpd.read_file(path, layer=layer, engine="pyogrio")
    except (
        pyogrio.errors.DataSourceError,
        pyogrio.errors.DataLayerError,
        pyogrio.errors.FeatureError,
        pyogrio.errors.GeometryError,
        shapely.errors.ShapelyError,
        OSError,
        ValueError,
    ) as error:
        # GDAL's own words may quote the file's contents, so only the kind of error is told.
        raise InputError(
            Problem(
                code="map-file-unreadable",
                what=f"The file cannot be read as a map ({type(error).__name__}).",
                next_step="Open it in a GIS and export it as GeoPackage or GeoJSON; a shapefile "
                "needs its .shp, .shx, .dbf and .prj together.",
                file=file,
            )
        ) from None
    if not isinstance(table, gpd.GeoDataFrame):
        raise InputError(
            Problem(
                code="map-no-geometry",
                what="The file is a table without any shapes.",
                next_step="Export the layer with its geometry, as GeoPackage or GeoJSON.",
                file=file,
            )
        )
    return table


def _to_grid(table: gpd.GeoDataFrame, source: CRS, *, crs: str, file: str) -> _Shapes:
    """Return the shapes in the town's grid; to the British grid, through OSTN15."""
    shapes = shapely.force_2d(table.geometry.to_numpy())
    if source == CRS.from_user_input(crs):
        return _on_grid(shapes, file=file, crs=crs)
    # Metres in a file that claims degrees: plain GeoJSON written from a projected layer.
    if source.is_geographic and not shapely.covers(_WHOLE_EARTH, shapes).all():
        raise InputError(_wrong_crs(file, crs))
    flat = gpd.GeoSeries(shapes, crs=source)
    if crs != BRITISH_GRID:
        return _on_grid(flat.to_crs(crs).to_numpy(), file=file, crs=crs)
    degrees = flat.to_crs(WGS84).to_numpy()
    metres = shapely.transform(degrees, lambda points: from_wgs84(points, crs=crs))
    return _on_grid(metres, file=file, crs=crs)


def _on_grid(shapes: _Shapes, *, file: str, crs: str) -> _Shapes:
    """Pass the shapes on if they lie where the British and the Irish grid have numbers."""
    west, south, east, north = shapely.total_bounds(shapes)
    if not (min(west, south) >= 0 and max(east, north) <= _GRID_LIMIT_M):
        raise InputError(_wrong_crs(file, crs))
    return shapes


def _wrong_crs(file: str, crs: str) -> Problem:
    return Problem(
        code="map-crs-wrong",
        what="The file's numbers do not fit the coordinate system it names, or lie outside the "
        f"town's grid ({crs}).",
        next_step="Set the right system in a GIS and export the layer again. Plain GeoJSON is "
        "always longitude and latitude.",
        file=file,
    )


def shown(path: Path) -> str:
    """Return the name a message gives a map file: folder and file, not where the folder lies."""
    return f"{path.parent.name}/{path.name}"


@contextmanager
def pinned_date(moment: str) -> Iterator[None]:
    """Let GDAL believe that it is `moment` (ISO 8601), for the times it writes into a file."""
    before = os.environ.get("OGR_CURRENT_DATE")
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": moment})
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": before})
