"""Puts the buildings whose boxes were looked into in lots that stay what they were.

The use of boxes is told lot by lot (see `lots`), in the order in which buildings were looked into.
A check typed in long after its date would move every later building on by one place, and two
releases would differ by what was found at that one. So a building stays in the lot in which it
first counted, and one that comes late waits for others as any new one does.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from eaveline.private.register import Register
from eaveline.protect.counts.box_records import BoxRecords, homes_at, places_at
from eaveline.protect.counts.lots import NO_LOT, lots_of
from eaveline.protect.division.districts import Districts
from eaveline.protect.division.regions import Regions

WAIT = "wait"
"""The figure of how soon boxes are used; all others are seasons."""

LOT_COLUMNS = {"figure": str, "district": str, "lot": int, "easting": float, "northing": float}


def no_lots() -> pd.DataFrame:
    """Return the lots of a town in which no building counts yet."""
    return pd.DataFrame({name: pd.Series(dtype=kind) for name, kind in LOT_COLUMNS.items()})


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
    for figure, district, order in _orders(BoxRecords(register, regions, districts)):
        known = lots_by_home(before, figure=figure, district=district).reindex(order.index)
        lots = lots_of(
            order,
            minimum_premises=minimum,
            before=known.fillna(NO_LOT).to_numpy(dtype=np.int64),
        )
        east, north = places_at(order.index.to_numpy(dtype=np.int64))
        table = pd.DataFrame(
            {
                "figure": figure,
                "district": district,
                "lot": lots,
                "easting": east,
                "northing": north,
            }
        )
        parts.append(table[lots != NO_LOT])
    return pd.concat(parts, ignore_index=True).sort_values(list(LOT_COLUMNS)).reset_index(drop=True)


def lots_by_home(lots: pd.DataFrame, *, figure: str, district: str) -> pd.Series:
    """Return the lot of each home (see `BoxRecords`) that counts in one figure."""
    own = lots[(lots["figure"] == figure) & (lots["district"] == district)]
    by_home = pd.Series(
        own["lot"].to_numpy(dtype=np.int64), index=homes_at(own["easting"], own["northing"])
    )
    return by_home[~by_home.index.duplicated()]


def _orders(records: BoxRecords) -> Iterator[tuple[str, str, pd.Series]]:
    """Give each figure, its district, and what its buildings are ordered by."""
    for (season, district), looks in records.looks.groupby(["season", "district"]):
        yield str(season), str(district), looks.groupby("home")["date"].min()
    homes = records.followed
    yield WAIT, "", homes.loc[homes["old"], "start"]
