"""Puts the buildings whose boxes were looked into in lots that stay what they were.

The use of boxes is told lot by lot (see `lots`), in the order in which buildings were looked into.
A check typed in long after its date would move every later building on by one place, and two
releases would differ by what was found at that one. So a building stays in the lot in which it
first counted, and one that comes late waits for others as any new one does.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

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
from eaveline.protect.counts.lots import NO_LOT, lots_of
from eaveline.protect.division.districts import Districts
from eaveline.protect.division.regions import Regions
from eaveline.protect.remembered.tables import read_rows, write_rows

WAIT = "wait"
"""The figure of how soon boxes are used; all others are seasons."""
WAIT_SEASONS = 3

_COLUMNS = {"figure": str, "district": str, "lot": int, "easting": float, "northing": float}
_STANDING = ["title", "standing", "fixed_on", "removed_on"]
_STRIDE = 1 << 32


def no_lots() -> pd.DataFrame:
    """Return the lots of a town in which no building counts yet."""
    return pd.DataFrame({name: pd.Series(dtype=kind) for name, kind in _COLUMNS.items()})


def load_lots(path: Path) -> pd.DataFrame:
    """Return what was saved; nothing if there is no such file or it is damaged."""
    return read_rows(path, _COLUMNS)


def save_lots(path: Path, lots: pd.DataFrame) -> None:
    """Write lots as `box_lots` returns them, all or nothing."""
    write_rows(path, lots)


def box_lots(
    register: Register, *, regions: Regions, districts: Districts, before: pd.DataFrame
) -> pd.DataFrame:
    """Return the lot of every building that counts in a figure about the use of boxes.

    Parameters
    ----------
    register
        Everything merged.
    regions, districts
        As they are frozen.
    before
        The lots of the last release, as this function returned them.

    Returns
    -------
    pandas.DataFrame
        figure (a season, or `WAIT`), district ("" for the town), lot, easting and northing (of the
        building, in whole centimetres); sorted.
    """
    minimum = regions.rule.minimum_premises
    parts = [no_lots()]
    for figure, district, order in _orders(register, regions, districts):
        known = lots_by_home(before, figure=figure, district=district).reindex(order.index)
        lots = lots_of(
            order,
            minimum_premises=minimum,
            before=known.fillna(NO_LOT).to_numpy(dtype=np.int64),
        )
        east, north = np.divmod(order.index.to_numpy(dtype=np.int64), _STRIDE)
        table = pd.DataFrame(
            {
                "figure": figure,
                "district": district,
                "lot": lots,
                "easting": east / 100,
                "northing": north / 100,
            }
        )
        parts.append(table[lots != NO_LOT])
    return pd.concat(parts, ignore_index=True).sort_values(list(_COLUMNS)).reset_index(drop=True)


def lots_by_home(lots: pd.DataFrame, *, figure: str, district: str) -> pd.Series:
    """Return the lot of each home (see `box_homes`) that counts in one figure."""
    own = lots[(lots["figure"] == figure) & (lots["district"] == district)]
    by_home = pd.Series(
        own["lot"].to_numpy(dtype=np.int64), index=_homes_at(own["easting"], own["northing"])
    )
    return by_home[~by_home.index.duplicated()]


def box_homes(register: Register, *, regions: Regions, districts: Districts) -> pd.DataFrame:
    """Return all boxes with home (a number for the place of the building) and district.

    Listed ones too: if one left, all lots after it would shift by a building, and the difference
    of two releases would be about the two at a lot's ends. Boxes near no building that hang at
    one place have one home. The district is None outside all; before a town has a map, everywhere:
    once it has, its figure is about the boxes on the map alone, and the difference would be about
    the few beyond it.
    """
    boxes = register.boxes
    region = home_region(boxes, regions=regions, buildings=register.premises)
    names = np.array([*districts, None], dtype=object)  # the last stands for outside, -1
    return boxes.assign(
        home=_homes_at(*home_places(boxes, buildings=register.premises)), district=names[region]
    )


def box_looks(register: Register, boxes: pd.DataFrame, season: int) -> pd.DataFrame:
    """Return home, district, date and swift for each look into a box, where it stood that day."""
    checks = register.checks
    looked = checks[(checks["season"] == season) & (checks["seen"] != "not checked")]
    # A table without rows may have lost the type of its titles.
    looked = looked.assign(swift=looked["seen"] == "swift").astype({"title": object})
    looks = looked.merge(boxes[["home", *_STANDING]].astype({"title": object}), on="title")
    looks = looks[stood_then(looks)]
    # A building has one district, that of its first box.
    return looks.assign(district=looks["home"].map(boxes.groupby("home")["district"].first()))


def histories(register: Register) -> BoxHistory:
    """Return the history of all boxes, listed ones too."""
    return box_history(
        register.boxes,
        register.checks,
        register.box_visits,
        newest=max(register.seasons, default=0),
    )


def followed(register: Register, boxes: pd.DataFrame) -> pd.DataFrame:
    """Return start, used and old for each home whose boxes were looked into in time.

    `start` is its first season, `used` whether swifts came within `WAIT_SEASONS`, and `old`
    whether so many have passed. Which homes these are, and from when, is told by what anyone can
    see: a building that joined them because a bird was seen there would be one in use.
    """
    since, looked = seen_by_anyone(register, boxes)
    in_time = looked[looked["season"] - looked["home"].map(since) < WAIT_SEASONS]
    start = since[since.index.isin(in_time["home"])]
    rows = histories(register).seasons
    home = rows["unit"].map(boxes["home"])
    used = home[rows["used"] & (rows["season"] - home.map(since) < WAIT_SEASONS)]
    newest = max(register.seasons, default=0)
    return pd.DataFrame(
        {
            "start": start,
            "used": start.index.isin(used),
            "old": newest - start + 1 >= WAIT_SEASONS,
        }
    )


def seen_by_anyone(
    register: Register, boxes: pd.DataFrame
) -> tuple[pd.Series[float], pd.DataFrame]:
    """Return each home's first season, and home and season of each check, whatever it found.

    The first season is that after a box was fitted, or of the first check where no box has a date;
    a home with neither is left out.

    Parameters
    ----------
    register
        Everything merged.
    boxes
        As `box_homes` returns them.
    """
    boxes = boxes.astype({"title": object})
    checks = register.checks
    looked = checks.loc[checks["seen"] != "not checked", ["title", "season", "date"]].astype(
        {"title": object}
    )
    first_check = looked.groupby("title")["season"].min()
    fitted = fitted_season(boxes["fixed_on"]).fillna(boxes["title"].map(first_check).astype(float))
    since = fitted.groupby(boxes["home"]).min().dropna()
    at = looked.merge(boxes[["home", *_STANDING]], on="title")
    return since, at.loc[stood_then(at) & at["home"].isin(since.index), ["home", "season"]]


def _orders(
    register: Register, regions: Regions, districts: Districts
) -> Iterator[tuple[str, str, pd.Series]]:
    """Give each figure, its district, and what its buildings are ordered by."""
    boxes = box_homes(register, regions=regions, districts=districts)
    for season in register.seasons:
        for district, looks in box_looks(register, boxes, season).groupby("district"):
            yield str(season), str(district), looks.groupby("home")["date"].min()
    waits = followed(register, boxes)
    yield WAIT, "", waits.loc[waits["old"], "start"]


def _homes_at(easting: npt.ArrayLike, northing: npt.ArrayLike) -> npt.NDArray[np.int64]:
    """Return one number for each place, the same in every build."""
    east, north = (
        np.rint(np.asarray(metres, dtype=np.float64) * 100).astype(np.int64)
        for metres in (easting, northing)
    )
    return east * _STRIDE + north
