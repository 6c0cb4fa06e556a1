"""The map folder's files as bytes: streets, boundary, water, greens and addresses."""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from shapely import LineString, Polygon

from demo_town.geography import RIVER_HALF_WIDTH_M, Town

if TYPE_CHECKING:
    from demo_town.plan import Point

SPLIT_STREETS = {"High Street": 0.55, "Station Road": 0.4}
"""Streets drawn as two lines of one name, as map makers do, cut at this fraction."""

Geometry = dict[str, object]


def map_files(town: Town) -> dict[str, bytes]:
    """Return the files of survey_data/map/ by name."""
    return {
        "map/streets.geojson": _collection(_street_features(town)),
        "map/boundary.geojson": _collection([_feature("Ottersley", _polygon(town.boundary))]),
        "map/water.geojson": _collection(
            [_feature("River Ottle", _polygon(ribbon(town.river, RIVER_HALF_WIDTH_M)))]
        ),
        "map/greens.geojson": _collection(
            [_feature(name, _polygon(green)) for name, green in town.greens.items()]
        ),
        "map/addresses.csv": _addresses(town),
    }


def _street_features(town: Town) -> Iterable[Geometry]:
    for name, line in town.streets.items():
        points: list[Point] = [(x, y) for x, y in line.coords]
        cut = round(SPLIT_STREETS.get(name, 0.0) * (len(points) - 1))
        parts = [points[: cut + 1], points[cut:]] if cut else [points]
        for part in parts:
            yield _feature(name, {"type": "LineString", "coordinates": part})


def ribbon(line: LineString, half_width_m: float) -> Polygon:
    """Return a band along `line`, offset to both sides by the normals at its points."""
    points = list(line.coords)
    left, right = [], []
    for index, (x, y) in enumerate(points):
        x0, y0 = points[max(index - 1, 0)]
        x1, y1 = points[min(index + 1, len(points) - 1)]
        length = math.hypot(x1 - x0, y1 - y0)
        nx, ny = -(y1 - y0) / length * half_width_m, (x1 - x0) / length * half_width_m
        left.append((round(x + nx, 1), round(y + ny, 1)))
        right.append((round(x - nx, 1), round(y - ny, 1)))
    return Polygon([*left, *reversed(right)])


def _polygon(shape: Polygon) -> Geometry:
    ring = [(x, y) for x, y in shape.exterior.coords]
    return {"type": "Polygon", "coordinates": [ring]}


def _feature(name: str, geometry: Geometry) -> Geometry:
    return {"type": "Feature", "properties": {"name": name}, "geometry": geometry}


def _collection(features: Iterable[Geometry]) -> bytes:
    """Return a GeoJSON file in the national grid, a feature a line."""
    crs = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::27700"}}
    lines = ",\n".join(json.dumps(f, ensure_ascii=False) for f in features)
    text = (
        f'{{"type": "FeatureCollection",\n"crs": {json.dumps(crs)},\n"features": [\n{lines}\n]}}\n'
    )
    return text.encode()


def _addresses(town: Town) -> bytes:
    rows: list[Sequence[object]] = [("street", "house", "easting", "northing")]
    rows += [(b.street, b.house, b.easting, b.northing) for b in town.buildings]
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue().encode()
