"""Where a street is when no house is given: a point on it, and how far it reaches from there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from eaveline.private.places.street_names import street_key

FRONTAGE_M: Final = 15.0
"""From the middle of a street to the houses along it (common practice, no source)."""


class StreetLines:
    """The centre lines of a town's streets.

    Parameters
    ----------
    names
        A name for each line; several lines may share one.
    lines
        LineStrings or MultiLineStrings in the town's grid, metres.
    """

    def __init__(self, names: Sequence[str], lines: Sequence[BaseGeometry]) -> None:
        """Join the lines of one street and find its centre."""
        parts: dict[str, list[BaseGeometry]] = {}
        for name, line in zip(names, lines, strict=True):
            parts.setdefault(street_key(name), []).append(line)
        keys = sorted(key for key in parts if key)
        self._lines = dict(zip(keys, (shapely.union_all(parts[key]) for key in keys), strict=True))
        self._places = {key: _corrected_centre(line) for key, line in self._lines.items()}

    def __repr__(self) -> str:
        """Show the number of streets."""
        return f"<StreetLines of {len(self._lines)} streets>"

    def place(self, name: str) -> tuple[float, float, float] | None:
        """Return easting, northing and uncertainty of a street as a whole, in metres.

        The point is the corrected centre: the place on the street nearest to the centre of
        the smallest circle around it. The uncertainty reaches the furthest end (Chapman &
        Wieczorek 2020, Georeferencing Best Practices) and the fronts of the houses. None if
        there is no such street.
        """
        return self._places.get(street_key(name))

    def distance_m(
        self, names: Iterable[str | None], easting: npt.ArrayLike, northing: npt.ArrayLike
    ) -> npt.NDArray[np.float64]:
        """Distance of each point to the street of that name; NaN where there is no such line."""
        lines = np.array(
            [self._lines.get(street_key(name)) if name else None for name in names], dtype=object
        )
        points = shapely.points(np.asarray(easting, np.float64), np.asarray(northing, np.float64))
        distance: npt.NDArray[np.float64] = shapely.distance(lines, points)
        return distance


def _corrected_centre(line: BaseGeometry) -> tuple[float, float, float]:
    middle = shapely.centroid(shapely.minimum_bounding_circle(line))
    on_street = shapely.get_point(shapely.shortest_line(line, middle), 0)
    x, y = float(shapely.get_x(on_street)), float(shapely.get_y(on_street))
    ends = shapely.get_coordinates(line)
    reach = float(np.hypot(ends[:, 0] - x, ends[:, 1] - y).max())
    return x, y, reach + FRONTAGE_M
