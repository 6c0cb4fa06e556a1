"""Counts buildings in lots, so that no two releases differ by fewer than the minimum count.

Anyone can see a ladder at a house. If the count of buildings checked grew by one that week, and
with it the count of those in use, both releases together would tell what was found there. So
buildings are taken in lots, in the order in which they came to be counted, and a lot counts only
when it is full: what a release adds to the one before is then said of a whole lot. Each lot is
top-coded by itself, for the difference of two releases is the count of one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.protect.counts.bands import MOST_SHARE, cap

NO_LOT = -1


@dataclass(frozen=True)
class LotCount:
    """What may be said of the buildings in full lots."""

    buildings: int
    used_at_least: int
    may_be_more: bool
    """Whether the count of a lot reached its cap."""


def lot_size(minimum_premises: int) -> int:
    """Return the fewest buildings of which top-coding lets a third be told.

    Examples
    --------
    >>> lot_size(10)
    13
    """
    size = minimum_premises
    while size - minimum_premises + 1 < size // MOST_SHARE:
        size += 1
    return size


def lots_of(
    order: pd.Series, *, minimum_premises: int, before: npt.NDArray[np.int64] | None = None
) -> npt.NDArray[np.int64]:
    """Return the lot of each building, `NO_LOT` for those that wait for others.

    Parameters
    ----------
    order
        What buildings are ordered by: a date, a season. Those with the same value are never
        parted, for any choice among them would say something of those not chosen.
    minimum_premises
        The minimum count k.
    before
        The lot each building is in already, `NO_LOT` for those in none; by default none is in
        any. It stays in it, and the others make lots among themselves.
    """
    if before is not None:
        lots = before.copy()
        new = before == NO_LOT
        own = lots_of(order[new], minimum_premises=minimum_premises)
        lots[new] = np.where(own == NO_LOT, NO_LOT, own + before.max(initial=NO_LOT) + 1)
        return lots
    size = lot_size(minimum_premises)
    values, place, many = np.unique(order.to_numpy(), return_inverse=True, return_counts=True)
    lot_of = np.full(len(values), NO_LOT, dtype=np.int64)
    lot = start = waiting = 0
    for position, number in enumerate(many.tolist()):
        waiting += number
        if waiting >= size:
            lot_of[start : position + 1] = lot
            lot, start, waiting = lot + 1, position + 1, 0
    found: npt.NDArray[np.int64] = lot_of[place]
    return found


def count_lots(
    lots: npt.NDArray[np.int64], used: npt.NDArray[np.bool_], *, minimum_premises: int
) -> LotCount | None:
    """Return the top-coded count of used buildings, lot by lot; None without a full lot."""
    full = lots != NO_LOT
    if not full.any():
        return None
    buildings = np.bincount(lots[full])
    found = np.bincount(lots[full], weights=used[full]).astype(np.int64)
    capped = cap(found, buildings, minimum_premises=minimum_premises)
    limits = cap(buildings, buildings, minimum_premises=minimum_premises)
    return LotCount(int(buildings.sum()), int(capped.sum()), bool((capped == limits).any()))
