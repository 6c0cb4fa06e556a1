"""Brings the published regions up to date by joining whole ones, never finer.

Two maps of one town with different squares, laid over each other, show more than either:
the difference of two overlapping regions may hold a single house. So the first partition is
frozen, and from then on regions change only by joining whole:

- premises lost until fewer than the minimum are left force a join with a neighbour;
- the cells of a widened boundary become regions of their own once they hold the minimum count
  between them, and until then stay out: a region that grew by three houses and went from none to
  some would point at the three;
- an address added changes nothing that is published.

A published premises count is the count when the region was made, summed when regions join.
A region's id means one shape for ever: whatever changes a shape gives it the next unused id.
The highest id therefore always belongs to a living region, and no id is used again
even after the regions have been recovered from a release.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from eaveline.errors import InputError, Problem
from eaveline.protect.division.joining import joined
from eaveline.protect.division.partition import cell_table, numbered, partition
from eaveline.protect.division.regions import (
    JOINED_FROM,
    Integers,
    MapRule,
    Regions,
    cell_keys,
    id_number,
    no_regions,
    region_id,
    regions_from_cells,
)

if TYPE_CHECKING:
    from eaveline.public.records import Cell

REGIONS_FILE = "map/regions.csv"
MOST_LOST = 0.1
"""A larger share of premises missing is more likely half a file than a demolition (our choice)."""


def first_regions(premises: pd.DataFrame, boundary_cells: Integers, *, rule: MapRule) -> Regions:
    """Divide a town that has published no map yet.

    Parameters
    ----------
    premises
        cell_i, cell_j, premises, as `partition.count_premises` makes it.
    boundary_cells
        Cells inside the boundary, shape (n, 2).
    rule
        What to make them by.

    Returns
    -------
    Regions
        None at all if the whole town holds fewer premises than the minimum: then there is no
        map.
    """
    table = partition(premises, boundary_cells, minimum_premises=rule.minimum_premises)
    region = table["region"].to_numpy()
    if len(region) == 0 or region.max() < 0:
        return no_regions(rule)
    counts = np.bincount(region, weights=table["premises"]).astype(np.int64)
    return regions_from_cells(
        tuple(region_id(number) for number in range(1, len(counts) + 1)),
        counts,
        table[["cell_i", "cell_j"]].to_numpy(),
        region,
        rule=rule,
    )


def update_regions(
    frozen: Regions,
    premises: pd.DataFrame,
    boundary_cells: Integers,
    *,
    rule: MapRule,
    accept_loss: bool = False,
) -> tuple[Regions, tuple[Problem, ...]]:
    """Bring frozen regions up to date by joining whole ones.

    Parameters
    ----------
    frozen
        The regions as last saved.
    premises
        Today's cell_i, cell_j, premises.
    boundary_cells
        Today's cells inside the boundary, shape (n, 2). Cells new to the regions become
        regions of their own, if they hold enough premises; premises beyond boundary and regions
        are not taken in, for a square that appears because of one address would point at it.
    rule
        What town.toml and the map ask for now.
    accept_loss
        Join even where more than `MOST_LOST` of the premises are gone.

    Returns
    -------
    Regions
        Equal to `frozen` if nothing forces a change.
    tuple of Problem
        Notes on what changed.

    Raises
    ------
    InputError
        If the rule differs, or so many premises are missing that the list must be incomplete.
    """
    _refuse_changed_rule(frozen.rule, rule)
    cells = premises[["cell_i", "cell_j"]].to_numpy(dtype=np.int64)
    count = premises["premises"].to_numpy(dtype=np.int64)
    in_region = frozen.region_of_cells(cells)
    _refuse_vanished(frozen, int(count[in_region >= 0].sum()), accept_loss=accept_loss)

    own, own_region = frozen.every_cell
    group = _joined_groups(own, _counts_for(own, cells, count), own_region, rule=rule)
    added = boundary_cells.reshape(-1, 2)
    added = np.unique(added[frozen.region_of_cells(added) < 0], axis=0)
    outside = in_region < 0
    new = _new_regions(added, cells[outside], count[outside], rule=rule)
    taken, new_region = new.every_cell
    every = np.concatenate([own, taken])
    order = np.argsort(cell_keys(every))
    regions, changes = _renamed(
        frozen,
        every[order],
        _counts_for(every[order], cells, count),
        np.concatenate([own_region, len(frozen.ids) + new_region])[order],
        np.concatenate([group, group.max() + 1 + new_region])[order],
    )
    thin = bool(len(added)) and not len(taken)
    left = outside & (new.region_of_cells(cells) < 0)
    if thin:
        left &= ~np.isin(cell_keys(cells), cell_keys(added))
    return regions, (
        *changes,
        *((_thin_note(len(added)),) if thin else ()),
        *((_outside_note(int(count[left].sum())),) if left.any() else ()),
    )


def _new_regions(added: Integers, cells: Integers, count: Integers, *, rule: MapRule) -> Regions:
    """Divide the cells of a widened boundary among themselves; none if too few live there."""
    inside = np.isin(cell_keys(cells), cell_keys(added))
    return first_regions(cell_table(cells[inside], count[inside]), added, rule=rule)


def _counts_for(every: Integers, cells: Integers, count: Integers) -> Integers:
    """Return the premises of every cell, 0 where none are counted."""
    keys = cell_keys(every)
    place = np.searchsorted(keys, cell_keys(cells))
    known = (place < len(keys)) & (keys[np.minimum(place, len(keys) - 1)] == cell_keys(cells))
    today = np.zeros(len(every), dtype=np.int64)
    np.add.at(today, place[known], count[known])
    return today


def _joined_groups(every: Integers, today: Integers, start: Integers, *, rule: MapRule) -> Integers:
    """Return each cell's group after joining regions that hold too few.

    Only cells with premises measure how wide a join is; a region that has lost all of them is
    measured by its cells.
    """
    lost_all = np.ones(start.max() + 1, dtype=bool)
    lost_all[start[today > 0]] = False
    taking_part = (today > 0) | lost_all[start]
    group = np.full(start.max() + 1, -1, dtype=np.int64)
    group[start[taking_part]] = joined(
        every[taking_part],
        today[taking_part],
        start[taking_part],
        minimum_premises=rule.minimum_premises,
    )
    return group[start]


def _renamed(
    frozen: Regions, every: Integers, today: Integers, start: Integers, group: Integers
) -> tuple[Regions, tuple[Problem, ...]]:
    """Keep the id of each region whose shape is unchanged; give all others fresh ones."""
    old = len(frozen.ids)
    group = numbered(group)  # by first cell
    groups = int(group.max()) + 1
    is_old = start < old
    old_in_group = pd.DataFrame({"group": group[is_old], "old": start[is_old]}).drop_duplicates()
    of_old, old_region = (old_in_group[name].to_numpy() for name in ("group", "old"))
    old_count = np.bincount(of_old, minlength=groups)
    published = np.bincount(
        of_old, weights=frozen.premises[old_region], minlength=groups
    ) + np.bincount(group[~is_old], weights=today[~is_old], minlength=groups)

    old_number = np.array([id_number(name) for name in frozen.ids], dtype=np.int64)
    number = np.zeros(groups, dtype=np.int64)
    number[of_old] = old_number[old_region]
    # Who has an old release knows the parts of a joined region, so its id tells that it is one.
    for fresh, first in ((old_count > 1, JOINED_FROM), (old_count == 0, 1)):
        taken = old_number[(old_number >= JOINED_FROM) == (first == JOINED_FROM)]
        start_at = max(first, int(taken.max(initial=0)) + 1)
        number[fresh] = start_at + np.arange(fresh.sum(), dtype=np.int64)

    by_number = np.argsort(number)
    place = np.empty(groups, dtype=np.int64)
    place[by_number] = np.arange(groups)
    regions = regions_from_cells(
        tuple(region_id(n) for n in number[by_number].tolist()),
        published[by_number].astype(np.int64),
        every,
        place[group],
        rule=frozen.rule,
    )
    return regions, _change_notes(
        gone=int(old_count[old_count > 1].sum()),
        into=int((old_count > 1).sum()),
        widened=int((~is_old).sum()),
    )


def _refuse_changed_rule(was: MapRule, now: MapRule) -> None:
    """Refuse another minimum count, cell size or grid, naming each."""
    changes = [
        (was.minimum_premises, now.minimum_premises, "minimum_premises", "The minimum count"),
        (was.cell_size_m, now.cell_size_m, "cell_size_m", "The size of the squares"),
        (was.crs, now.crs, "nation", "The national grid"),
    ]
    problems = [
        Problem(
            code="map-rule-changed",
            what=f"{name} was {before} when the squares were first made and is now {after}. Other "
            "squares, laid over those already published, would show more than either map may.",
            next_step=f"Set it back, so that it is {before} again.",
            file="town.toml",
            column=key if key == "nation" else f"privacy.{key}",
        )
        for before, after, key, name in changes
        if before != after
    ]
    if problems:
        raise InputError(problems)


def _refuse_vanished(frozen: Regions, today: int, *, accept_loss: bool) -> None:
    published = int(frozen.premises.sum())
    missing = published - today
    if today >= frozen.rule.minimum_premises and (accept_loss or missing <= MOST_LOST * published):
        return
    raise InputError(
        Problem(
            code="premises-vanished",
            what=f"The squares were made with {published} premises; {missing} of them are no "
            "longer "
            "in the lists of premises. Squares would be joined for good, so this is not done "
            "unasked.",
            next_step="Put the full address list, points or buildings back into map/. If they are "
            "really gone, build once with --premises-are-gone.",
            file="map",
        )
    )


def _change_notes(*, gone: int, into: int, widened: int) -> tuple[Problem, ...]:
    notes = []
    if widened:
        notes.append(
            Problem(
                code="regions-widened",
                what=f"The boundary takes in {widened} new squares.",
                next_step="Nothing is needed. Widen it by a whole parish or estate at a time: a "
                "square added because of one nest would point at it.",
                file=REGIONS_FILE,
            )
        )
    if into:
        notes.append(
            Problem(
                code="regions-joined",
                what=f"{gone} regions were joined into {into}, because fewer premises than the "
                "minimum were left in some.",
                next_step="Nothing is needed; they stay joined.",
                file=REGIONS_FILE,
            )
        )
    return tuple(notes)


def _thin_note(squares: int) -> Problem:
    return Problem(
        code="boundary-too-thin",
        what=f"The boundary takes in {squares} new squares, with fewer premises than the minimum "
        "between them. They stay out of the map; what is seen there counts for the town only.",
        next_step="Nothing is needed. They are taken in once they hold enough, so widen the "
        "boundary by a whole parish or estate at a time.",
        file="map",
    )


def _outside_note(count: int) -> Problem:
    return Problem(
        code="premises-outside-map",
        what=f"{count} premises lie outside the boundary and the published squares; what is seen "
        "there counts for the town only.",
        next_step="Widen the boundary in map/ if they belong to the town.",
        file="map",
    )


def refuse_split(regions: Regions, published: Iterable[tuple[Cell, ...]]) -> None:
    """Refuse regions finer than those already published.

    Parameters
    ----------
    regions
        The regions about to be used.
    published
        The cells of each region in the last release.

    Raises
    ------
    InputError
        If a published region is cut up, or loses cells: an older copy of the file was put back.
    """
    cut = 0
    for cells in published:
        found = regions.region_of_cells(np.asarray(cells, dtype=np.int64).reshape(-1, 2))
        cut += bool(len(found)) and bool(found.min() < 0 or found.min() != found.max())
    if cut:
        raise InputError(
            Problem(
                code="regions-split",
                what=f"The file cuts up {cut} of the regions that the last release shows whole. "
                "Both maps together would show more than either may.",
                next_step="An older copy seems to have been put back. Remove it: the regions are "
                "then recovered from the last release.",
                file=REGIONS_FILE,
            )
        )
