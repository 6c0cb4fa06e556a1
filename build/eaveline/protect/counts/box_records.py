"""What is recorded of nest boxes, home by home: where they hang, and when they were looked into."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.private.derive.box_seasons import (
    BoxHistory,
    box_history,
    fitted_season,
    stood_then,
)
from eaveline.private.register import Register
from eaveline.protect.buildings.homes import home_places, home_region
from eaveline.protect.division.districts import Districts
from eaveline.protect.division.regions import Regions

WAIT_SEASONS = 3

_STANDING = ["title", "standing", "fixed_on", "removed_on"]
_STRIDE = 1 << 32


@dataclass(frozen=True, repr=False)
class BoxRecords:
    """The boxes of a register, with the homes they hang at.

    Parameters
    ----------
    register
        Everything merged.
    regions, districts
        As they are frozen.
    """

    register: Register
    regions: Regions
    districts: Districts

    def __repr__(self) -> str:
        """Show a count only."""
        return f"<BoxRecords of {len(self.register.boxes)} boxes>"

    @cached_property
    def boxes(self) -> pd.DataFrame:
        """All boxes with home (a number for the place of the building) and district.

        Listed ones too: if one left, all lots after it would shift by a building, and the
        difference of two releases would be about the two at a lot's ends. Boxes near no building
        that hang at one place have one home. The district is None outside all; before a town has a
        map, everywhere: once it has, its figure is about the boxes on the map alone, and the
        difference would be about the few beyond it.
        """
        boxes, buildings = self.register.boxes, self.register.premises
        region = home_region(boxes, regions=self.regions, buildings=buildings)
        names = np.array([*self.districts, None], dtype=object)  # the last stands for outside, -1
        return boxes.assign(
            home=homes_at(*home_places(boxes, buildings=buildings)), district=names[region]
        )

    @cached_property
    def looks(self) -> pd.DataFrame:
        """Season, date, home, district and swift of each look into a box, where it hung then."""
        checks = self.register.checks
        looked = checks[checks["seen"] != "not checked"]
        # A table without rows may have lost the type of its titles.
        looked = looked.assign(swift=looked["seen"] == "swift").astype({"title": object})
        places = self.boxes[["home", *_STANDING]].astype({"title": object})
        looks = looked.merge(places, on="title")
        looks = looks[stood_then(looks)]
        # A building has one district, that of its first box.
        district = self.boxes.groupby("home")["district"].first()
        return looks.assign(district=looks["home"].map(district))

    @cached_property
    def history(self) -> BoxHistory:
        """The history of all boxes, listed ones too."""
        return box_history(
            self.register.boxes,
            self.register.checks,
            self.register.box_visits,
            newest=max(self.register.seasons, default=0),
        )

    @cached_property
    def since(self) -> pd.Series[float]:
        """Each home's first season: that after a box was fitted, or of the first look.

        A home with neither is left out.
        """
        boxes = self.boxes.astype({"title": object})
        checks = self.register.checks
        looked = checks[checks["seen"] != "not checked"]
        first_look = looked.astype({"title": object}).groupby("title")["season"].min()
        fitted = fitted_season(boxes["fixed_on"]).fillna(
            boxes["title"].map(first_look).astype(float)
        )
        return fitted.groupby(boxes["home"]).min().dropna()

    @cached_property
    def followed(self) -> pd.DataFrame:
        """Start, used and old for each home whose boxes were looked into in time.

        `start` is its first season, `used` whether swifts came within `WAIT_SEASONS`, and `old`
        whether so many have passed. Which homes these are, and from when, is told by what anyone
        can see: a building that joined them because a bird was seen there would be one in use.
        """
        since, looks = self.since, self.looks
        in_time = looks[looks["season"] - looks["home"].map(since) < WAIT_SEASONS]
        start = since[since.index.isin(in_time["home"])]
        rows = self.history.seasons
        home = rows["unit"].map(self.boxes["home"])
        used = home[rows["used"] & (rows["season"] - home.map(since) < WAIT_SEASONS)]
        newest = max(self.register.seasons, default=0)
        return pd.DataFrame(
            {
                "start": start,
                "used": start.index.isin(used),
                "old": newest - start + 1 >= WAIT_SEASONS,
            }
        )


def homes_at(easting: npt.ArrayLike, northing: npt.ArrayLike) -> npt.NDArray[np.int64]:
    """Return one number for each place (metres), the same in every build."""
    east, north = (
        np.rint(np.asarray(metres, dtype=np.float64) * 100).astype(np.int64)
        for metres in (easting, northing)
    )
    return east * _STRIDE + north


def places_at(homes: npt.NDArray[np.int64]) -> tuple[npt.NDArray[np.float64], ...]:
    """Return easting and northing in metres of what `homes_at` numbered."""
    east, north = np.divmod(homes, _STRIDE)
    return east / 100, north / 100
