"""What the release is computed from, and the region each record belongs to."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import pandas as pd

from eaveline.config import Config
from eaveline.private.register import Register
from eaveline.protect.buildings.homes import Ints, home_region
from eaveline.protect.consent import Listing
from eaveline.protect.counts.box_lots import no_lots
from eaveline.protect.counts.box_records import BoxRecords
from eaveline.protect.division.regions import Regions

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
    lots: pd.DataFrame = field(default_factory=no_lots)
    """The buildings with boxes that count together; see `box_lots`."""

    @cached_property
    def box_records(self) -> BoxRecords:
        """The boxes, home by home."""
        return BoxRecords(self.register, self.regions, self.districts)

    @property
    def minimum(self) -> int:
        """The minimum count k."""
        return self.config.privacy.minimum_premises

    def __repr__(self) -> str:
        """Show nothing: it holds exact tables."""
        return "<Gate>"


def region_of(gate: Gate, table: pd.DataFrame) -> Ints:
    """Return the region of each row; see `home_region`."""
    return home_region(table, regions=gate.regions, buildings=gate.register.premises)
