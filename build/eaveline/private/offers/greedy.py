"""Makes plans by simple rules: take one lot after another while the limits allow."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.private.offers.limits import (
    NO_PAIRS,
    Choice,
    Ints,
    Limits,
    Quota,
    exempt,
    priced,
)


def greedy(
    lots: pd.DataFrame,
    limits: Limits,
    *,
    neighbours: Ints | None = None,
    nearby: Ints | None = None,
    order: Callable[[pd.DataFrame], npt.ArrayLike] | None = None,
) -> Choice | None:
    """Return the plan that takes one lot after another while the limits allow.

    Parameters
    ----------
    lots, limits, neighbours, nearby
        See `choose`.
    order
        Gives each lot's rank, the smallest taken first; by default the most value for a box.

    Returns
    -------
    Choice or None
        None if the plan misses a least number that `limits` asks for.
    """
    table = lots.reset_index(drop=True)
    pairs = NO_PAIRS if neighbours is None else neighbours
    rank = -table["value"] / table["lot"] if order is None else order(table)
    turns = np.argsort(np.asarray(rank, dtype=np.float64), kind="stable")
    taken = _Taken(table, limits, pairs, NO_PAIRS if nearby is None else nearby)
    for lot in np.flatnonzero(table["promised"].to_numpy(dtype=bool)):
        if not taken.take(int(lot)):
            return None
    for want in [*_needs(taken, table, limits), _anything]:
        for lot in turns:
            if taken.boxes >= limits.boxes:
                break
            if want(int(lot)):
                taken.take(int(lot))
    if taken.fresh < limits.new_area_boxes or any(
        taken.shares[quota.column] < quota.at_least for quota in limits.quotas
    ):
        return None
    return priced(np.array(sorted(taken.lots), dtype=np.int64), table, limits, pairs)


def _needs(taken: _Taken, table: pd.DataFrame, limits: Limits) -> Iterator[Callable[[int], bool]]:
    """Yield for each least number whether a lot still helps towards it."""
    if limits.new_area_boxes:
        fresh = table["new_area"].to_numpy(dtype=bool)
        yield lambda lot: bool(fresh[lot]) and taken.fresh < limits.new_area_boxes
    for quota in limits.quotas:
        if quota.at_least:
            yield partial(_helps, taken, quota, table[quota.column].to_numpy(dtype=bool))


def _anything(_: int) -> bool:
    return True


def _helps(taken: _Taken, quota: Quota, about: npt.NDArray[np.bool_], lot: int) -> bool:
    return bool(about[lot]) and taken.shares[quota.column] < quota.at_least


class _Taken:
    """What a plan in the making has used up."""

    def __init__(self, table: pd.DataFrame, limits: Limits, pairs: Ints, nearby: Ints) -> None:
        self.lots: list[int] = []
        self.boxes = 0
        self.fresh = 0
        self.shares = {quota.column: 0 for quota in limits.quotas}
        self._cost = 0.0
        self._limits = limits
        self._buildings: set[int] = set()
        self._streets: dict[object, int] = {}
        self._building = table["building"].to_numpy(dtype=np.int64)
        self._lot = table["lot"].to_numpy(dtype=np.int64)
        self._price = table["cost"].to_numpy(dtype=np.float64)
        self._street = table["street"].to_numpy(dtype=object)
        self._fresh = table["new_area"].to_numpy(dtype=bool)
        self._about = {
            quota.column: table[quota.column].to_numpy(dtype=bool) for quota in limits.quotas
        }
        self._beside = _each_other(pairs) if limits.scaffold_pounds else {}
        self._crowd = _Crowd(table, limits, nearby)
        self._alone: set[int] = set()
        """Buildings taken whose scaffold nobody shares yet."""

    def take(self, lot: int) -> bool:
        """Take a lot if every limit allows."""
        limits = self._limits
        home, size, street = int(self._building[lot]), int(self._lot[lot]), self._street[lot]
        if home in self._buildings or self.boxes + size > limits.boxes:
            return False
        known = isinstance(street, str)
        if (
            known
            and limits.most_per_street is not None
            and self._streets.get(street, 0) >= limits.most_per_street
        ):
            return False
        for quota in limits.quotas:
            if (
                quota.at_most is not None
                and self._about[quota.column][lot]
                and self.shares[quota.column] + size > quota.at_most
            ):
                return False
        if not self._crowd.has_room(lot):
            return False
        mate = next((m for m in self._beside.get(home, ()) if m in self._alone), None)
        price = float(self._price[lot]) + (limits.scaffold_pounds if mate is None else 0.0)
        if limits.budget_pounds is not None and self._cost + price > limits.budget_pounds + 1e-9:
            return False
        if mate is None:
            self._alone.add(home)
        else:
            self._alone.discard(mate)
        self._crowd.take(lot)
        self._cost += price
        self._buildings.add(home)
        self.lots.append(lot)
        self.boxes += size
        self.fresh += size * int(self._fresh[lot])
        if known:
            self._streets[street] = self._streets.get(street, 0) + 1
        for column in self.shares:
            self.shares[column] += size * int(self._about[column][lot])
        return True


class _Crowd:
    """How many houses with new boxes stand within reach of each house."""

    def __init__(self, table: pd.DataFrame, limits: Limits, nearby: Ints) -> None:
        self._most = limits.most_houses_near
        if self._most is None:
            return
        self._counts = np.where(exempt(table), 0, 1)
        own = table["building"].to_numpy(dtype=np.int64)
        # Houses without lots of their own are centres of circles too.
        homes = np.union1d(own, nearby)
        self._place = np.searchsorted(homes, own)
        pairs = np.searchsorted(homes, nearby)
        both = np.concatenate([pairs, pairs[:, ::-1]])
        both = both[np.argsort(both[:, 0], kind="stable")]
        self._others = both[:, 1]
        self._start = np.searchsorted(both[:, 0], np.arange(len(homes) + 1))
        self._load = np.zeros(len(homes), dtype=np.int64)

    def has_room(self, lot: int) -> bool:
        """Return whether a lot may be taken."""
        if self._most is None or not self._counts[lot]:
            return True
        load = self._load[self._circles(lot)].max()
        return bool(load + self._counts[lot] <= self._most)

    def take(self, lot: int) -> None:
        """Note that a lot is taken."""
        if self._most is not None:
            self._load[self._circles(lot)] += self._counts[lot]

    def _circles(self, lot: int) -> Ints:
        """Return the buildings within reach of the lot's, its own first."""
        home = int(self._place[lot])
        others = self._others[self._start[home] : self._start[home + 1]]
        return np.append(home, others).astype(np.int64)


def _each_other(pairs: Ints) -> dict[int, list[int]]:
    beside: dict[int, list[int]] = {}
    for first, second in pairs.tolist():
        beside.setdefault(first, []).append(second)
        beside.setdefault(second, []).append(first)
    return beside
