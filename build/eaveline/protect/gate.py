"""What the release is computed from, and the region each record belongs to."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.config import Config
from eaveline.private.register import Register
from eaveline.protect.consent import Listing
from eaveline.protect.regions import Regions

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]

ALL = "all"
"""All seasons together."""


@dataclass(frozen=True, repr=False)
class Gate:
    """What every figure of the release is made from.

    `minutes` has the minutes of valid watching by season and region number.
    """

    register: Register
    regions: Regions
    listing: Listing
    minutes: pd.DataFrame
    config: Config
    premises: Ints
    """For each region its premises for top-coding: published or present, whichever is less,
    without the listed ones."""
    districts: tuple[str, ...] = ()
    """For each region its district."""

    @property
    def minimum(self) -> int:
        """The minimum count k."""
        return self.config.privacy.minimum_premises

    @cached_property
    def half_diagonals_m(self) -> Floats:
        """Half the diagonal of each region's bounding box."""
        size = self.config.privacy.cell_size_m
        spans = np.array(
            [
                np.ptp(np.array([(c.i, c.j) for c in cells]), axis=0) + 1
                for cells in self.regions.cells
            ],
            dtype=np.float64,
        ).reshape(-1, 2)
        return np.hypot(spans[:, 0], spans[:, 1]) * size / 2 + 0.5

    def __repr__(self) -> str:
        """Show nothing: it holds exact tables."""
        return "<Gate>"


def places_of(table: pd.DataFrame) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Return easting and northing as two arrays."""
    return table["easting"].to_numpy(dtype=np.float64), table["northing"].to_numpy(dtype=np.float64)


def region_of(gate: Gate, table: pd.DataFrame) -> Ints:
    """Return the region of each row's building, else of its own place; -1 for the town only.

    A place vaguer than its region counts for the town alone.
    """
    east, north = places_of(table)
    if "building" in table and gate.register.premises is not None:
        building = table["building"].to_numpy(dtype=np.int64)
        at_home = building >= 0
        homes = gate.register.premises
        east, north = east.copy(), north.copy()
        east[at_home] = homes["easting"].to_numpy()[building[at_home]]
        north[at_home] = homes["northing"].to_numpy()[building[at_home]]
    else:
        at_home = np.zeros(len(table), dtype=bool)
    region: Ints = gate.regions.region_of(east, north)
    if not len(gate.regions.ids):
        return region
    reach = gate.half_diagonals_m
    vague = ~at_home & (
        table["uncertainty_m"].to_numpy(dtype=np.float64) > reach[np.maximum(region, 0)]
    )
    region[vague] = -1
    return region
