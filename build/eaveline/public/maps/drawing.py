"""Shapes of the town's grid as short SVG paths.

Lines are rounded to a map's whole units and written by relative steps, so a shape is worked
out once for all maps of one unit and only its start is moved from map to map.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import Geometry

_LONGEST_SIDE = 700
"""A map's longest side in drawing units, at most; larger maps get coarser units."""
MARGIN_M = 60.0
_SMALLEST_M = (480.0, 320.0)
_WIDEST, _TALLEST = 2.0, 0.8
"""Limits of a street map's shape, width over height."""


class Crop(NamedTuple):
    """A map's window: corners in metres, and the metres in a drawing unit."""

    west: float
    south: float
    east: float
    north: float
    unit_m: int

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in drawing units."""
        return round((self.east - self.west) / self.unit_m), round(
            (self.north - self.south) / self.unit_m
        )

    def place(self, x_m: float, y_m: float) -> tuple[int, int]:
        """Return a point of the grid in drawing units, which count down from the north-west."""
        left, top = round(self.west / self.unit_m), round(-self.north / self.unit_m)
        return round(x_m / self.unit_m) - left, round(-y_m / self.unit_m) - top


class Stroke(NamedTuple):
    """A line drawn once for all maps of one unit: its start, then relative steps."""

    x: int
    y: int
    rest: str


def window_around(south_west: NDArray[np.int_], north_east: NDArray[np.int_]) -> Crop:
    """Return the window around some squares: a margin, a smallest size, and no odd shape."""
    (west, south), (east, north) = south_west.tolist(), north_east.tolist()
    width = max(east - west + 2 * MARGIN_M, _SMALLEST_M[0])
    height = max(north - south + 2 * MARGIN_M, _SMALLEST_M[1], width / _WIDEST)
    width = max(width, height * _TALLEST)
    middle_x, middle_y = (west + east) / 2, (south + north) / 2
    return whole_window(
        middle_x - width / 2, middle_y - height / 2, middle_x + width / 2, middle_y + height / 2
    )


def whole_window(west: float, south: float, east: float, north: float) -> Crop:
    """Return a window with the finest unit that keeps its longest side short enough."""
    unit_m = 1
    while max(east - west, north - south) / unit_m > _LONGEST_SIDE:
        unit_m *= 2
    return Crop(west, south, east, north, unit_m)


def rings(shape: Geometry) -> list[Geometry]:
    """Return every ring of an area, outer ones and holes."""
    return list(shapely.get_rings(shapely.get_parts(shape)))


def stroke(line: Geometry, unit_m: int) -> Stroke:
    """Round a line to whole units, as a start and relative steps."""
    if not shapely.is_ring(line):
        line = shapely.simplify(line, 1.5 * unit_m)
    points = np.rint(shapely.get_coordinates(line) / unit_m * (1, -1)).astype(np.int64)
    moves = np.diff(points, axis=0)
    rest = "".join(_move(int(dx), int(dy)) for dx, dy in moves if dx or dy)
    return Stroke(int(points[0, 0]), int(points[0, 1]), rest or "h0")


def _move(dx: int, dy: int) -> str:
    if dy == 0:
        return f"h{dx}"
    if dx == 0:
        return f"v{dy}"
    return f"l{dx}{dy}" if dy < 0 else f"l{dx} {dy}"


def joined(strokes: Iterable[Stroke], crop: Crop, end: str = "") -> str:
    """Write strokes as one path, moved into the window."""
    left, top = round(crop.west / crop.unit_m), round(-crop.north / crop.unit_m)
    return "".join(f"M{stroke.x - left} {stroke.y - top}{stroke.rest}{end}" for stroke in strokes)


def path(shapes: Sequence[Geometry], crop: Crop, *, closed: bool, **attributes: str | int) -> str:
    """Draw shapes as one ``path``; nothing if there are none."""
    if not shapes:
        return ""
    single = shapely.get_parts(list(shapes))
    lines = shapely.get_rings(single) if closed else single
    strokes = [stroke(line, crop.unit_m) for line in lines if not line.is_empty]
    if not strokes:
        return ""
    written = " ".join(f'{key.replace("_", "-")}="{value}"' for key, value in attributes.items())
    return f'<path {written} d="{joined(strokes, crop, "z" if closed else "")}"/>'
