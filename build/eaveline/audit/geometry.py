"""Finds geometry that follows neither the cells nor the public map layers."""

from __future__ import annotations

import re

import numpy as np

from eaveline.audit.findings import Hit
from eaveline.audit.fragments import Shape
from eaveline.audit.frames import DEGREES
from eaveline.audit.places import Places
from eaveline.audit.secrets import FloatArray
from eaveline.audit.shapes import hex_wkb_vertices

RULE = "off-grid-geometry"

_KNOWN = re.compile(r"EPSG:\d{4,5}")


def shape_hits(shape: Shape, places: Places) -> list[Hit]:
    """Return a hit for each vertex in the town that is no published point.

    Unlike a number in a sentence, a vertex counts however few decimals it has.

    Parameters
    ----------
    shape
        Vertices as a carrier lifted them out of a file.
    places
        The judge of what is too exact.
    """
    return _hits(shape.vertices, shape.crs, places)


def hex_geometry_hits(text: str, places: Places) -> list[Hit]:
    """Find geometry written as hexadecimal well-known binary in a text."""
    return [
        Hit(hit.rule, hit.value, start, allowable=hit.allowable)
        for start, vertices in hex_wkb_vertices(text)
        for hit in _hits(vertices, None, places)
    ]


def _hits(vertices: FloatArray, crs: str | None, places: Places) -> list[Hit]:
    known = crs is not None and _KNOWN.fullmatch(crs)
    systems = [crs] if crs is not None and known else [frame.crs for frame in places.frames]
    x = np.ascontiguousarray(vertices[:, 0])
    y = np.ascontiguousarray(vertices[:, 1])
    hits: list[Hit] = []
    for system in systems:
        hits += places.hits(RULE, x, y, source=system)
        if system == DEGREES:
            hits += places.hits(RULE, y, x, source=system)
    return hits
