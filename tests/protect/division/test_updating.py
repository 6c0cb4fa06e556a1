"""Published regions change only by joining whole ones."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from eaveline.errors import InputError
from eaveline.protect.division.regions import Regions
from eaveline.protect.division.updating import first_regions, refuse_split, update_regions
from eaveline.public.records import Cell
from small_towns import RULE, Counts, cell_array, premises_table, towns_of_cells

Shapes = dict[frozenset[Cell], tuple[str, int]]


def first(counts: Counts) -> Regions:
    return first_regions(premises_table(counts), cell_array(counts), rule=RULE)


def updated(frozen: Regions, counts: Counts, boundary: Counts | None = None) -> Regions:
    regions, _ = update_regions(
        frozen,
        premises_table(counts),
        cell_array(counts if boundary is None else boundary),
        rule=RULE,
        accept_loss=True,
    )
    return regions


def shapes(regions: Regions) -> Shapes:
    return {
        frozenset(cells): (name, int(premises))
        for name, cells, premises in zip(regions.ids, regions.cells, regions.premises, strict=True)
    }


def held_today(regions: Regions, counts: Counts) -> list[int]:
    return [sum(counts.get((c.i, c.j), 0) for c in cells) for cells in regions.cells]


@st.composite
def towns_that_change(draw: st.DrawFn) -> tuple[Counts, Counts]:
    """Return a town with regions, then the same with premises lost and gained, cells added."""
    before = draw(towns_of_cells())
    after = {
        cell: max(0, count + draw(st.sampled_from([0, 0, 0, 0, -1, -3, -30, 2])))
        for cell, count in before.items()
    }
    for cell, count in draw(towns_of_cells(most_cells=8)).items():
        after.setdefault(cell, count)
    assume(sum(before.values()) >= RULE.minimum_premises)
    assume(sum(after[cell] for cell in before) >= RULE.minimum_premises)
    return before, after


def taken_in(before: Counts, after: Counts) -> set[tuple[int, int]]:
    """Return the new cells, if they hold the minimum between them; else they stay out."""
    new = set(after) - set(before)
    return new if sum(after[cell] for cell in new) >= RULE.minimum_premises else set()


@given(towns_that_change())
def test_regions_are_only_joined_whole(towns: tuple[Counts, Counts]) -> None:
    before, after = towns
    old, new = first(before), updated(first(before), after)
    new_cells = taken_in(before, after)
    for cells, (_, premises) in shapes(new).items():
        inside = {shape: count for shape, (_, count) in shapes(old).items() if shape <= cells}
        taken = {cell for shape in inside for cell in shape}
        added = {(c.i, c.j) for c in cells - taken}
        assert added <= new_cells
        assert not added or not taken  # no published region grows by a part of less than k
        assert premises == sum(inside.values()) + sum(after[cell] for cell in added)


@given(towns_that_change())
def test_every_cell_is_assigned_once_and_every_region_holds_the_minimum_today(
    towns: tuple[Counts, Counts],
) -> None:
    before, after = towns
    new = updated(first(before), after)
    cells = [(c.i, c.j) for own in new.cells for c in own]
    assert sorted(cells) == sorted({*before, *taken_in(before, after)})
    assert min(held_today(new, after)) >= RULE.minimum_premises


@given(towns_that_change())
def test_an_id_means_one_shape_for_ever(towns: tuple[Counts, Counts]) -> None:
    before, after = towns
    old = first(before)
    new = updated(old, after)
    shape_of = {name: shape for shape, (name, _) in shapes(old).items()}
    for shape, (name, _) in shapes(new).items():
        if name in shape_of:
            assert shape_of[name] == shape
        else:
            assert name > max(old.ids)
        if shape in shapes(old):
            assert shapes(old)[shape] == shapes(new)[shape]
    assert max(new.ids) >= max(old.ids)
    assert all(a < b for a, b in pairwise(new.ids))


@given(towns_that_change())
def test_a_second_update_changes_nothing(towns: tuple[Counts, Counts]) -> None:
    before, after = towns
    once = updated(first(before), after)
    again, notes = update_regions(
        once, premises_table(after), cell_array(after), rule=RULE, accept_loss=True
    )
    assert again == once
    left_out = set(after) - set(before) - taken_in(before, after)
    assert [note.code for note in notes] == ["boundary-too-thin"] * bool(left_out)


@given(towns_of_cells(), st.data())
def test_addresses_added_anywhere_change_nothing(counts: Counts, data: st.DataObject) -> None:
    assume(sum(counts.values()) >= RULE.minimum_premises)
    frozen = first(counts)
    more = dict(counts)
    for cell in data.draw(st.lists(st.sampled_from([*counts, (6600, 3400)]), min_size=1)):
        more[cell] = more.get(cell, 0) + 1
    assert updated(frozen, more, boundary=counts) == frozen


@given(towns_that_change(), st.integers(0, 99))
def test_the_order_of_rows_does_not_matter(towns: tuple[Counts, Counts], seed: int) -> None:
    before, after = towns
    frozen = first(before)
    mixed, _ = update_regions(
        frozen,
        premises_table(after).sample(frac=1, random_state=seed),
        np.random.default_rng(seed).permutation(cell_array(after)),
        rule=RULE,
        accept_loss=True,
    )
    assert mixed == updated(frozen, after)


def test_one_house_lost_joins_a_region_with_the_neighbour_it_blurs_least() -> None:
    frozen = first({(0, 0): 40, (1, 0): 10, (2, 0): 15})
    regions, notes = update_regions(
        frozen,
        premises_table({(0, 0): 40, (1, 0): 9, (2, 0): 14}),
        np.empty((0, 2), dtype=np.int64),
        rule=RULE,
    )
    assert shapes(regions) == {
        frozenset({Cell(0, 0)}): ("R001", 40),
        frozenset({Cell(1, 0), Cell(2, 0)}): ("R50000", 25),  # the published counts, summed
    }
    assert [note.code for note in notes] == ["regions-joined"]


def test_premises_outside_boundary_and_regions_stay_out_and_are_told() -> None:
    counts = {(0, 0): 40}
    regions, notes = update_regions(
        first(counts), premises_table({(0, 0): 40, (7, 7): 25}), cell_array(counts), rule=RULE
    )
    assert regions == first(counts)
    assert [note.code for note in notes] == ["premises-outside-map"]
    assert "25 premises" in notes[0].what


def test_an_estate_in_a_widened_boundary_has_regions_of_its_own() -> None:
    wider = {(0, 0): 40, (5, 5): 30, (6, 5): 14, (6, 6): 2}
    regions = updated(first({(0, 0): 40}), wider)
    assert shapes(regions) == {
        frozenset({Cell(0, 0)}): ("R001", 40),
        frozenset({Cell(5, 5)}): ("R002", 30),
        frozenset({Cell(6, 5), Cell(6, 6)}): ("R003", 16),
    }


def test_three_houses_in_a_widened_boundary_stay_out_until_they_are_ten() -> None:
    """A square that grew by three houses and went from none to some would point at the three."""
    counts = {(0, 0): 40}
    for standing, taken in ((3, False), (9, False), (10, True)):
        wider = counts | {(1, 0): standing, (2, 0): 0}
        regions, notes = update_regions(
            first(counts), premises_table(wider), cell_array(wider), rule=RULE
        )
        assert shapes(regions)[frozenset({Cell(0, 0)})] == ("R001", 40)
        assert [note.code for note in notes] == [
            "regions-widened" if taken else "boundary-too-thin"
        ]
        added = {frozenset({Cell(1, 0), Cell(2, 0)}): ("R002", 10)} if taken else {}
        assert shapes(regions) == {frozenset({Cell(0, 0)}): ("R001", 40)} | added


@pytest.mark.parametrize(
    ("change", "columns"),
    [
        ({"minimum_premises": 20}, ["privacy.minimum_premises"]),
        ({"cell_size_m": 200}, ["privacy.cell_size_m"]),
        ({"crs": "EPSG:29903"}, ["nation"]),
        (
            {"minimum_premises": 5, "cell_size_m": 200},
            ["privacy.minimum_premises", "privacy.cell_size_m"],
        ),
    ],
)
def test_a_changed_rule_is_refused_and_every_change_named(
    change: dict[str, object], columns: list[str]
) -> None:
    counts = {(0, 0): 40}
    with pytest.raises(InputError) as caught:
        update_regions(
            first(counts),
            premises_table(counts),
            cell_array(counts),
            rule=replace(RULE, **change),  # type: ignore[arg-type]  # the fields are named above
        )
    assert [problem.column for problem in caught.value.problems] == columns
    assert {problem.code for problem in caught.value.problems} == {"map-rule-changed"}


@pytest.mark.parametrize("left", [0, 9, 80])
def test_half_a_list_is_refused_before_it_joins_everything(left: int) -> None:
    counts = {(0, 0): 50, (1, 0): 50}
    with pytest.raises(InputError) as caught:
        update_regions(first(counts), premises_table({(0, 0): left}), cell_array(counts), rule=RULE)
    assert [problem.code for problem in caught.value.problems] == ["premises-vanished"]


def test_finer_regions_than_the_published_are_refused() -> None:
    regions = first({(0, 0): 40, (1, 0): 40})
    refuse_split(regions, [(Cell(0, 0),), (Cell(1, 0),)])
    for cut in ([(Cell(0, 0), Cell(1, 0))], [(Cell(0, 0), Cell(5, 5))]):
        with pytest.raises(InputError) as caught:
            refuse_split(regions, cut)
        assert [problem.code for problem in caught.value.problems] == ["regions-split"]
