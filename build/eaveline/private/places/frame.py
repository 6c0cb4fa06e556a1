"""The rectangle within which a town's records must lie."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from eaveline.geodesy import ProjectedCrs


@dataclass(frozen=True, slots=True)
class TownFrame:
    """The town's grid, the bounds of its boundary, and a margin around them.

    Parameters
    ----------
    crs
        The town's projected system, as `Config.crs` gives it.
    bounds
        West, south, east, north of the boundary, in metres of `crs`.
    margin_m
        How far outside a record may lie and still belong to the group's work: swifts are
        watched from the next field (common practice, no source).

    Raises
    ------
    ValueError
        If the bounds are not a rectangle, or the margin is negative.
    """

    crs: ProjectedCrs
    bounds: tuple[float, float, float, float]
    margin_m: float = 2_000.0

    def __post_init__(self) -> None:
        """Refuse bounds that hold nothing."""
        west, south, east, north = self.bounds
        if not (west < east and south < north and self.margin_m >= 0):
            raise ValueError("bounds run west, south, east, north; the margin is not negative")

    def contains(
        self,
        easting: npt.ArrayLike,
        northing: npt.ArrayLike,
        *,
        uncertainty_m: npt.ArrayLike = 0.0,
    ) -> npt.NDArray[np.bool_]:
        """Whether a place may lie in the frame: its circle of uncertainty reaches inside.

        NaN lies nowhere, so it is never inside.
        """
        west, south, east, north = self.bounds
        x, y = np.asarray(easting, dtype=np.float64), np.asarray(northing, dtype=np.float64)
        away_x = np.maximum(np.maximum(west - self.margin_m - x, x - east - self.margin_m), 0)
        away_y = np.maximum(np.maximum(south - self.margin_m - y, y - north - self.margin_m), 0)
        inside: npt.NDArray[np.bool_] = np.hypot(away_x, away_y) <= np.asarray(uncertainty_m)
        return inside
