"""Lifts geometry out of GeoJSON, TopoJSON, well-known binary."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import numpy as np
import shapely

from eaveline.audit.frames import DEGREES
from eaveline.audit.secrets import FloatArray

# Byte order, then the geometry's type as four bytes, then at least one point of two doubles.
_HEX_WKB = re.compile(
    r"(?<![0-9a-fA-F])(?:01[0-9a-fA-F]{2}0[0-9a-fA-F]0000|01[0-9a-fA-F]{2}0000[0-9a-fA-F]{2}"
    r"|0000000[0-9a-fA-F]{3}|00[0-9a-fA-F]{2}0000[0-9a-fA-F]{2})[0-9a-fA-F]{32,}(?![0-9a-fA-F])"
)
# GeoPackage binary header: magic, version, flags, srs_id, envelope (OGC 12-128r18, 2.1.3).
_GPKG_MAGIC = b"GP"
_GPKG_HEADER = 8
_ENVELOPE_BYTES = (0, 32, 48, 48, 64)
_ENOUGH = 2


def _vertices(geometry: shapely.Geometry | None) -> FloatArray:
    if geometry is None or shapely.is_empty(geometry):
        return np.empty((0, 2))
    return shapely.get_coordinates(geometry)


def wkb_vertices(data: bytes) -> FloatArray | None:
    """Return the vertices of well-known binary, shape (n, 2); None if it is not that."""
    try:
        return _vertices(shapely.from_wkb(data))
    except shapely.errors.GEOSException:
        return None


def geopackage_vertices(data: bytes) -> tuple[FloatArray, int] | None:
    """Return vertices with srs_id of a GeoPackage geometry; None if it is not one."""
    if data[:2] != _GPKG_MAGIC or len(data) < _GPKG_HEADER:
        return None
    flags = data[3]
    order = "little" if flags & 1 else "big"
    srs = int.from_bytes(data[4:8], "little" if order == "little" else "big", signed=True)
    kind = (flags >> 1) & 7
    if kind >= len(_ENVELOPE_BYTES):
        return None
    found = wkb_vertices(data[_GPKG_HEADER + _ENVELOPE_BYTES[kind] :])
    return None if found is None else (found, srs)


def hex_wkb_vertices(text: str) -> Iterator[tuple[int, FloatArray]]:
    """Return offset with vertices of each geometry written as hexadecimal in a text."""
    for match in _HEX_WKB.finditer(text):
        data = match[0] if len(match[0]) % 2 == 0 else match[0][:-1]
        found = wkb_vertices(bytes.fromhex(data))
        if found is not None and len(found):
            yield match.start(), found


def _positions(value: Any) -> Iterator[tuple[float, float]]:
    if isinstance(value, list):
        if len(value) >= _ENOUGH and all(
            isinstance(number, int | float) and not isinstance(number, bool) for number in value[:2]
        ):
            yield float(value[0]), float(value[1])
        else:
            for part in value:
                yield from _positions(part)


def _crs_of(document: dict[str, Any]) -> str:
    """Return the system that old GeoJSON may name; RFC 7946 knows degrees only."""
    properties = document.get("crs")
    name = properties.get("properties", {}) if isinstance(properties, dict) else {}
    text = str(name.get("name", "")) if isinstance(name, dict) else ""
    match = re.search(r"EPSG:+(\d{4,5})$", text)
    return f"EPSG:{match[1]}" if match else DEGREES


def json_vertices(document: Any) -> Iterator[tuple[FloatArray, str]]:
    """Return vertices with their system for each geometry in a JSON document.

    Parameters
    ----------
    document
        Parsed JSON; GeoJSON or TopoJSON objects may stand anywhere in it.
    """
    yield from _walk(document, DEGREES)


def _walk(value: Any, crs: str) -> Iterator[tuple[FloatArray, str]]:
    if isinstance(value, dict):
        if value.get("type") == "Topology":
            yield _topology(value), DEGREES
            return
        crs = _crs_of(value) if "crs" in value else crs
        if "coordinates" in value and isinstance(value.get("type"), str):
            points = list(_positions(value["coordinates"]))
            if points:
                yield np.array(points, dtype=np.float64), crs
        for key, part in value.items():
            if key != "coordinates":
                yield from _walk(part, crs)
    elif isinstance(value, list):
        for part in value:
            yield from _walk(part, crs)


def _topology(value: dict[str, Any]) -> FloatArray:
    """Return the vertices of a topology: arcs are differences when it has a transform."""
    arcs = [list(_positions(arc)) for arc in value.get("arcs", []) if isinstance(arc, list)]
    lone = [
        position
        for geometry in _geometries(value.get("objects", {}))
        for position in _positions(geometry.get("coordinates"))
    ]
    rows = [np.array(arc, dtype=np.float64) for arc in [*arcs, lone] if arc]
    transform = value.get("transform")
    if not rows:
        return np.empty((0, 2))
    if not isinstance(transform, dict):
        return np.vstack(rows)
    relative = len(rows) - bool(lone)
    whole = [row.cumsum(axis=0) if i < relative else row for i, row in enumerate(rows)]
    scale, shift = (np.asarray(transform[key], np.float64) for key in ("scale", "translate"))
    vertices: FloatArray = np.vstack(whole) * scale + shift
    return vertices


def _geometries(value: Any) -> Iterator[dict[str, Any]]:
    if isinstance(value, dict):
        if "coordinates" in value:
            yield value
        for part in value.values():
            yield from _geometries(part)
    elif isinstance(value, list):
        for part in value:
            yield from _geometries(part)
