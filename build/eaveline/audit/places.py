"""Judges whether a position tells more than the published map does."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from eaveline.audit.findings import Hit
from eaveline.audit.frames import Frame, frames_for, to_local, widened
from eaveline.audit.secrets import Bounds, FloatArray, Secrets

TOLERANCE_M = 0.5
"""Room for rounding: degrees with six decimals are within 0.1 m."""
NEAR_M = 10.0
"""A position this near to an exact point of the register is never allowed (own choice: the
width of a house)."""

BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, repr=False, eq=False)
class Places:
    """The town's box, its published points, and the register's exact points."""

    bounds_m: Bounds
    """Margin included."""
    cell_size_m: float
    crs: str
    frames: tuple[Frame, ...]
    public: shapely.STRtree
    exact: shapely.STRtree

    def __repr__(self) -> str:
        """Return counts, never a value."""
        return f"Places({len(self.public)} public, {len(self.exact)} exact points)"

    def local(self, x: FloatArray, y: FloatArray, source: str) -> tuple[FloatArray, FloatArray]:
        """Return eastings, northings in the town's system."""
        return to_local(x, y, source=source, crs=self.crs)

    def inside(self, east: FloatArray, north: FloatArray) -> BoolArray:
        """Return which points lie in the town's box, margin included."""
        west, south, right, top = self.bounds_m
        return (east >= west) & (east <= right) & (north >= south) & (north <= top)

    def published(self, east: FloatArray, north: FloatArray) -> BoolArray:
        """Return which points say no more than the map: points of the grid of cells, the
        cells' centres, and vertices of the public map layers.
        """  # noqa: D205 - the list is one sentence
        half = self.cell_size_m / 2
        off = np.hypot(east - np.round(east / half) * half, north - np.round(north / half) * half)
        return (off <= TOLERANCE_M) | _near(self.public, east, north, TOLERANCE_M)

    def registered(self, east: FloatArray, north: FloatArray, *, within_m: float) -> BoolArray:
        """Return which points may stand for an exact point of the register."""
        return _near(self.exact, east, north, NEAR_M + within_m)

    def hits(
        self,
        rule: str,
        x: FloatArray,
        y: FloatArray,
        *,
        source: str,
        within_m: float | FloatArray = 1.0,
        offsets: npt.NDArray[np.int64] | None = None,
    ) -> list[Hit]:
        """Return a hit for each point in the town that tells too much.

        Parameters
        ----------
        rule
            The rule's name.
        x, y
            Shape (n,), in `source`.
        source
            The points' system.
        within_m
            How exactly the points are given: a number, or shape (n,).
        offsets
            Where in the text each point stands, shape (n,).
        """
        east, north = self.local(x, y, source)
        with np.errstate(invalid="ignore"):
            found = np.flatnonzero(self.inside(east, north) & ~self.published(east, north))
        reach = np.broadcast_to(np.asarray(within_m, dtype=np.float64), east.shape)
        return [
            Hit(
                rule,
                f"place {east[i]:.0f} {north[i]:.0f}",
                int(offsets[i]) if offsets is not None else 0,
                allowable=not self.registered(
                    east[i : i + 1], north[i : i + 1], within_m=float(reach[i])
                ).any(),
            )
            for i in found
        ]


def _near(tree: shapely.STRtree, east: FloatArray, north: FloatArray, reach: float) -> BoolArray:
    near = np.zeros(east.shape, dtype=np.bool_)
    finite = np.flatnonzero(np.isfinite(east) & np.isfinite(north))
    if len(tree) and finite.size:
        points = shapely.points(east[finite], north[finite])
        hit, _ = tree.query(points, predicate="dwithin", distance=reach)
        near[finite[hit]] = True
    return near


def places_of(secrets: Secrets, public_vertices: FloatArray | None = None) -> Places:
    """Return the judge for one town.

    Parameters
    ----------
    secrets
        What to look for.
    public_vertices
        Shape (n, 2), in the town's system: every vertex of the published map layers
        (streets, boundary, water, greens, outlines), and any other point that may be shown.
    """
    bounds = widened(secrets.bounds_m)
    return Places(
        bounds_m=bounds,
        cell_size_m=secrets.cell_size_m,
        crs=secrets.crs,
        frames=frames_for(bounds, secrets.crs),
        public=_tree(np.empty((0, 2)) if public_vertices is None else public_vertices),
        exact=_tree(np.column_stack([secrets.easting_m, secrets.northing_m])),
    )


def _tree(points: FloatArray) -> shapely.STRtree:
    return shapely.STRtree(np.asarray(shapely.points(points), dtype=object))
