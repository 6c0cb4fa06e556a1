"""Joins groups of cells until each holds the minimum count, at the least cost in width.

The cost of a group is its premises times the cells its box is wider than one: a measure of
how far, in all, the premises are blurred. Beyond `FAR_CELLS` the width weighs more, or
lone farms would be strung together across a parish. A single cell costs nothing, so a cell
that can stand alone is joined only where that is cheaper than any other way. The cost
knows premises and cells; it cannot know a record.

Finding the least cost of all is a set-partition problem, too slow to solve exactly for a
town. Groups are merged greedily, cheapest join per premises first; then cells are moved, cells
that can stand alone freed and small ones regrouped while that lowers the cost. Ties are
broken by the order of the cells, so that the same cells give the same groups on
every machine.
"""

from __future__ import annotations

import heapq
from collections.abc import Collection, Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial import cKDTree

if TYPE_CHECKING:
    from eaveline.protect.division.regions import Integers

Box = tuple[int, int, int, int]
"""Lowest i, highest i, lowest j, highest j."""
_Choice = tuple[float, int, int, int]
"""Cost per premises helped, the joined box's half perimeter, first cell, group."""

NEAR = 12
"""Each cell's nearest cells that a join may reach at once; ties add some."""
FAR_CELLS = 10
"""Chosen on invented towns (tests/benchmarks): 5 blurs villages more, none strings farms out."""
REGROUP_CELLS = (2, 3, 4, 5)
"""Widths of the windows in which small cells are gathered into a group of their own, so that they
free the good ones they had been joined to; wider ones freed next to none on invented towns."""
MOST_PASSES = 3
"""A further pass changed next to nothing on towns of any form tried."""


def joined(
    cells: Integers,
    premises: Integers,
    groups: Integers,
    *,
    minimum_premises: int,
    may_split: bool = False,
) -> Integers:
    """Merge groups that are too small with others.

    Parameters
    ----------
    cells
        Cell indices i, j in lexical order, shape (n, 2).
    premises
        Premises in each cell, shape (n,).
    groups
        The group each cell starts in, shape (n,); any whole numbers.
    minimum_premises
        The count every group must reach.
    may_split
        Lower the cost further by splitting and regrouping. For a first partition only: of a
        published one, whole groups are joined and nothing else.

    Returns
    -------
    ndarray, shape (n,)
        The group of each cell. One group is left, too small, if all premises together are
        too few.
    """
    grouping = _Grouping(cells, premises, groups, minimum_premises)
    grouping.merge_small()
    passes = MOST_PASSES if may_split else 0
    while passes and grouping.improve():
        passes -= 1
    return np.asarray(grouping.group_of, dtype=np.int64)


def _blur(box: Box) -> int:
    """Return what a box costs each of its premises: how many cells wider than one it is."""
    west, east, south, north = box
    wider = max(east - west, north - south)
    return wider if wider <= FAR_CELLS else wider + (wider - FAR_CELLS) ** 2 // 4


def _around(a: Box, b: Box) -> Box:
    # Called half a million times for a city: comparing is twice as fast as min() and max().
    west, east, south, north = a
    west_b, east_b, south_b, north_b = b
    return (
        west if west < west_b else west_b,  # noqa: FURB136 - speed
        east if east > east_b else east_b,  # noqa: FURB136 - speed
        south if south < south_b else south_b,  # noqa: FURB136 - speed
        north if north > north_b else north_b,  # noqa: FURB136 - speed
    )


def _near(cells: Integers) -> list[list[int]]:
    """Return each cell's nearest cells by the longer of the two differences, all ties included."""
    tree = cKDTree(cells)
    reach, _ = tree.query(cells, k=[min(NEAR + 1, len(cells))], p=np.inf)
    within = np.asarray(reach)[:, 0] + 0.5
    return list(tree.query_ball_point(cells, r=within, p=np.inf, return_sorted=True))


class _Grouping:
    """Groups of cells as they change. Plain lists and dictionaries: each step touches few cells."""

    def __init__(self, cells: Integers, premises: Integers, groups: Integers, minimum: int) -> None:
        self.minimum = minimum
        self.i: list[int] = cells[:, 0].tolist()
        self.j: list[int] = cells[:, 1].tolist()
        self.premises: list[int] = premises.tolist()
        self.near = _near(cells) if len(cells) else []
        self.at = {place: cell for cell, place in enumerate(zip(self.i, self.j, strict=True))}
        self.group_of: list[int] = [0] * len(self.i)
        self.members: dict[int, list[int]] = {}
        self.count: dict[int, int] = {}
        self.box: dict[int, Box] = {}
        self._next = 0
        by_group: dict[int, list[int]] = {}
        for cell, group in enumerate(groups.tolist()):
            by_group.setdefault(group, []).append(cell)
        for cells_of_group in by_group.values():
            self._add(cells_of_group)

    # What a group is and costs.

    def _add(self, cells: Sequence[int]) -> None:
        self._set(self._next, cells)
        self._next += 1

    def _set(self, group: int, cells: Sequence[int]) -> None:
        """Make the group hold just these cells; a group of none is dropped."""
        if not cells:
            del self.members[group], self.count[group], self.box[group]
            return
        self.members[group] = sorted(cells)
        self.count[group] = sum(self.premises[cell] for cell in cells)
        self.box[group] = self._box(cells)
        for cell in cells:
            self.group_of[cell] = group

    def _box(self, cells: Collection[int]) -> Box:
        i = [self.i[cell] for cell in cells]
        j = [self.j[cell] for cell in cells]
        return min(i), max(i), min(j), max(j)

    def _cost(self, group: int) -> int:
        return self.count[group] * _blur(self.box[group])

    def _cost_of(self, cells: Collection[int]) -> int:
        if len(cells) < 2:  # noqa: PLR2004 - one cell costs nothing
            return 0
        return sum(self.premises[cell] for cell in cells) * _blur(self._box(cells))

    # Merging whole groups.

    def merge_small(self) -> None:
        """Merge, cheapest join first, until no group is too small or one group is left."""
        queue = [
            (choice, group, len(cells))
            for group, cells in self.members.items()
            if self.count[group] < self.minimum and (choice := self._best_join(group))
        ]
        heapq.heapify(queue)
        while queue:
            choice, group, size = heapq.heappop(queue)
            if (
                group not in self.members
                or len(self.members[group]) != size
                or self.count[group] >= self.minimum
            ):
                continue
            now = self._best_join(group)
            if now is None:
                continue
            if now != choice:  # its neighbours have changed since: try again in its turn
                heapq.heappush(queue, (now, group, size))
                continue
            merged = self._merge(group, now[-1])
            if self.count[merged] < self.minimum and (choice := self._best_join(merged)):
                heapq.heappush(queue, (choice, merged, len(self.members[merged])))

    def _merge(self, one: int, other: int) -> int:
        kept, gone = min(one, other), max(one, other)
        cells = self.members[kept] + self.members[gone]
        self._set(gone, [])
        self._set(kept, cells)
        return kept

    def _best_join(self, group: int) -> _Choice | None:
        """Return the cheapest join for a group that is too small.

        The cost counts per premises helped out of a group that is too small, so that two small
        groups rather join each other than blur a good one. A join that is still too small
        counts as if it held the minimum, which it will have to.
        """
        count, box = self.count[group], self.box[group]
        others = {self.group_of[near] for cell in self.members[group] for near in self.near[cell]}
        others.discard(group)
        if not others:
            others = set(self.members) - {group}
        best: _Choice | None = None
        for other in others:
            theirs, their_box = self.count[other], self.box[other]
            around = _around(box, their_box)
            cost = max(count + theirs, self.minimum) * _blur(around)
            if theirs >= self.minimum:
                per_premises = (cost - theirs * _blur(their_box)) / max(count, 1)
            else:
                per_premises = cost / max(count + theirs, 1)
            half_perimeter = around[1] - around[0] + around[3] - around[2]
            choice = (per_premises, half_perimeter, self.members[other][0], other)
            if best is None or choice < best:
                best = choice
        return best

    # Improving.

    def improve(self) -> bool:
        """Try every change once; say whether any was made."""
        changed = False
        for group in self._in_order():
            for attempt in (self._split_off, self._move_out, self._dissolve):
                if len(self.members.get(group, ())) > 1:
                    changed |= attempt(group)
        for group in self._in_order():
            if len(self.members.get(group, ())) > 1 and self._spoils_a_cell(group):
                changed |= self._regroup(self.members[group])
        return changed

    def _in_order(self) -> list[int]:
        """Return the groups by their first cell."""
        return sorted(self.members, key=lambda group: self.members[group][0])

    def _stands_alone(self, cell: int) -> bool:
        return self.premises[cell] >= self.minimum

    def _spoils_a_cell(self, group: int) -> bool:
        return any(self._stands_alone(cell) for cell in self.members[group])

    def _split_off(self, group: int) -> bool:
        """Free each cell that can stand alone if the rest can too."""
        changed = False
        for cell in list(self.members[group]):
            left = self.count[group] - self.premises[cell]
            if self._stands_alone(cell) and left >= self.minimum:
                self._set(group, [other for other in self.members[group] if other != cell])
                self._add([cell])
                changed = True
        return changed

    def _move_out(self, group: int) -> bool:
        """Move single cells to a neighbour where both together then cost less."""
        changed = False
        for cell in list(self.members[group]):
            if self.count[group] - self.premises[cell] < self.minimum:
                continue
            rest = [other for other in self.members[group] if other != cell]
            gain = self._cost(group) - self._cost_of(rest)
            target = self._best_home(cell, without=group) if gain > 0 else None
            if target and target[0] < gain:
                self._set(group, rest)
                self._set(target[-1], [*self.members[target[-1]], cell])
                changed = True
        return changed

    def _dissolve(self, group: int) -> bool:
        """Give a group up if its cells, each to its best home, then cost less."""
        budget = self._cost(group)
        own = self.members[group]
        alone = [cell for cell in own if self._stands_alone(cell)]
        before: list[tuple[int, list[int]]] = []
        for cell in sorted(set(own) - set(alone), key=lambda c: (self.premises[c], c)):
            target = self._best_home(cell, without=group)
            budget -= target[0] if target else budget
            if target is None or budget <= 0:
                for home, cells in reversed(before):
                    self._set(home, cells)
                self._set(group, own)
                return False
            before.append((target[-1], self.members[target[-1]]))
            self._set(target[-1], [*self.members[target[-1]], cell])
        self._set(group, [])
        for cell in alone:
            self._add([cell])
        return True

    def _best_home(self, cell: int, *, without: int) -> tuple[int, int, int] | None:
        """Return the cheapest other group for the cell: added cost, first cell, group."""
        own: Box = (self.i[cell], self.i[cell], self.j[cell], self.j[cell])
        best = None
        for group in {self.group_of[near] for near in self.near[cell]} - {without}:
            blur = _blur(_around(self.box[group], own))
            cost = (self.count[group] + self.premises[cell]) * blur - self._cost(group)
            choice = (cost, self.members[group][0], group)
            if best is None or choice < best:
                best = choice
        return best

    def _regroup(self, cells: Iterable[int]) -> bool:
        """Make a new group of small cells in a window, taken out of groups that can spare them."""
        for cell in list(cells):
            if self._stands_alone(cell):
                continue
            around = self._small_around(cell)
            for width in REGROUP_CELLS:
                for window in self._windows(cell, width, around):
                    if self._take(window):
                        return True
        return False

    def _small_around(self, cell: int) -> list[int]:
        """Return the small cells that any window over the cell can hold, in lexical order."""
        reach = max(REGROUP_CELLS) - 1
        i, j = self.i[cell], self.j[cell]
        found = (
            self.at.get((west, south))
            for west in range(i - reach, i + reach + 1)
            for south in range(j - reach, j + reach + 1)
        )
        return [c for c in found if c is not None and not self._stands_alone(c)]

    def _windows(self, cell: int, width: int, around: list[int]) -> Iterable[list[int]]:
        """Yield the small cells of every window of that width over the cell."""
        for west in range(self.i[cell] - width + 1, self.i[cell] + 1):
            strip = [c for c in around if west <= self.i[c] < west + width]
            for south in range(self.j[cell] - width + 1, self.j[cell] + 1):
                window = [c for c in strip if south <= self.j[c] < south + width]
                if sum(self.premises[c] for c in window) >= self.minimum:
                    yield window

    def _take(self, window: list[int]) -> bool:
        by_group: dict[int, list[int]] = {}
        for cell in window:
            by_group.setdefault(self.group_of[cell], []).append(cell)
        taken: dict[int, list[int]] = {}
        gain = 0
        for group, cells in by_group.items():
            rest = [cell for cell in self.members[group] if cell not in cells]
            left = self.count[group] - sum(self.premises[cell] for cell in cells)
            saved = self._cost(group) - self._cost_of(rest)
            if saved > 0 and (left >= self.minimum or not rest):
                taken[group] = cells
                gain += saved
        new = [cell for cells in taken.values() for cell in cells]
        if sum(self.premises[cell] for cell in new) < self.minimum or self._cost_of(new) >= gain:
            return False
        for group, cells in taken.items():
            self._set(group, [cell for cell in self.members[group] if cell not in cells])
        self._add(new)
        return True
