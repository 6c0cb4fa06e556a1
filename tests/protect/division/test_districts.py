"""Districts are whole regions, frozen, and change only by joining."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from eaveline.errors import InputError
from eaveline.protect.division.districts import (
    PREMISES_PER_MINIMUM,
    districts_for_build,
    make_districts,
    save_districts,
    update_districts,
)
from eaveline.protect.division.regions import MapRule, Regions
from eaveline.public.records import Cell

RULE = MapRule(minimum_premises=10, cell_size_m=100, crs="EPSG:27700")


def grid(wide: int, high: int, *, premises: int = 1000) -> Regions:
    """Return a town of single squares."""
    cells = [(Cell(6500 + i, 3300 + j),) for i in range(wide) for j in range(high)]
    return Regions(
        tuple(f"R{n:03d}" for n in range(1, len(cells) + 1)),
        tuple(cells),
        np.full(len(cells), premises, dtype=np.int64),
        RULE,
    )


def by_cell(regions: Regions, districts: tuple[str, ...]) -> dict[tuple[int, int], str]:
    return {
        (c.i, c.j): name
        for cells, name in zip(regions.cells, districts, strict=True)
        for c in cells
    }


def test_a_long_town_is_cut_across() -> None:
    """16 squares of 1,000 in a row: two halves of 8,000, which are too small to cut again."""
    districts = make_districts(grid(16, 1))
    assert districts == ("D01",) * 8 + ("D02",) * 8


def test_a_small_town_is_one_district_and_a_town_without_a_map_has_none() -> None:
    assert set(make_districts(grid(14, 1))) == {"D01"}
    assert make_districts(Regions((), (), np.empty(0, dtype=np.int64), RULE)) == ()


@given(wide=st.integers(1, 12), high=st.integers(1, 12), premises=st.integers(10, 2000))
@settings(max_examples=40, deadline=None)
def test_every_district_has_its_premises(wide: int, high: int, premises: int) -> None:
    regions = grid(wide, high, premises=premises)
    districts = np.array(make_districts(regions))
    names, many = np.unique(districts, return_counts=True)
    if len(names) > 1:
        assert (many * premises >= PREMISES_PER_MINIMUM * RULE.minimum_premises).all()
    assert names.tolist() == [f"D{n:02d}" for n in range(1, len(names) + 1)]


def test_a_region_joined_over_a_border_joins_its_districts() -> None:
    before = grid(32, 1)
    frozen = by_cell(before, make_districts(before))
    assert set(frozen.values()) == {"D01", "D02", "D03", "D04"}
    cells = list(before.cells)
    after = Regions(
        (*before.ids[:7], "R900", *before.ids[9:]),
        (*cells[:7], (*cells[7], *cells[8]), *cells[9:]),
        np.full(31, 1000, dtype=np.int64),
        RULE,
    )
    districts = update_districts(frozen, after)
    assert districts == ("D502",) * 15 + ("D03",) * 8 + ("D04",) * 8


def test_new_squares_are_a_district_of_their_own() -> None:
    """Two boxes there, added to a published district, would be its count less the old one."""
    before = grid(16, 1)
    frozen = by_cell(before, make_districts(before))
    once = update_districts(frozen, grid(18, 1))
    assert once == ("D01",) * 8 + ("D02",) * 8 + ("D03",) * 2
    twice = update_districts(by_cell(grid(18, 1), once), grid(19, 1))
    assert twice == (*once, "D04")


def test_a_number_is_not_used_again() -> None:
    """D01 and D02 are joined; what is added later is neither."""
    before = grid(16, 1)
    cells = list(before.cells)
    across = Regions(
        (*before.ids[:7], "R900", *before.ids[9:]),
        (*cells[:7], (*cells[7], *cells[8]), *cells[9:]),
        np.full(15, 1000, dtype=np.int64),
        RULE,
    )
    frozen = by_cell(across, update_districts(by_cell(before, make_districts(before)), across))
    assert set(frozen.values()) == {"D502"}
    assert update_districts(frozen, grid(17, 1))[-1] == "D03"


def test_the_file_is_kept_and_an_edited_one_is_refused(tmp_path: Path) -> None:
    path, regions = tmp_path / "districts.csv", grid(16, 1)
    districts = make_districts(regions)
    save_districts(path, regions, districts)

    def load() -> tuple[str, ...]:
        return districts_for_build(path, release=None, published_before=True, regions=regions)

    assert load() == districts
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace(",", ";"), encoding="utf-8")
    assert load() == districts  # a spreadsheet may save it so
    path.write_text(text.replace("D02", "D01", 1), encoding="utf-8")
    with pytest.raises(InputError) as refused:
        load()
    assert refused.value.problems[0].code == "districts-edited"


def test_a_lost_file_of_a_published_town_is_not_made_anew(tmp_path: Path) -> None:
    path = tmp_path / "districts.csv"
    with pytest.raises(InputError) as refused:
        districts_for_build(path, release=None, published_before=True, regions=grid(16, 1))
    assert refused.value.problems[0].code == "districts-lost"
    assert districts_for_build(path, release=None, published_before=False, regions=grid(3, 1))
