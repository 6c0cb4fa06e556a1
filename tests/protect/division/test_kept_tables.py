"""What a build keeps for the next one, damaged and locked."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

import pytest

from eaveline.errors import InputError
from eaveline.protect.division.districts import districts_for_build, make_districts, save_districts
from eaveline.protect.division.frozen import load_regions, save_regions
from eaveline.protect.division.regions import Regions
from eaveline.protect.division.updating import first_regions
from small_towns import RULE, cell_array, premises_table

TOWN = {(6_000 + i, 3_000 + j): 12 for i in range(40) for j in range(100)}


@pytest.fixture(scope="module")
def regions() -> Regions:
    return first_regions(premises_table(TOWN), cell_array(TOWN), rule=RULE)


@pytest.fixture(autouse=True)
def untouched_limit() -> Iterator[None]:
    """Let the csv module refuse long cells, as it does in a new process."""
    before = csv.field_size_limit(131_072)
    yield
    csv.field_size_limit(before)


def spoil(path: Path) -> None:
    """Open a quotation mark in the second line that nobody closes: the rest is one cell."""
    text = path.read_text("utf-8")
    assert len(text) > 131_072 / 2
    head, first, rest = text.split("\n", 2)
    path.write_text("\n".join([head, f'"{first}', rest, rest]), encoding="utf-8")


def test_a_quotation_mark_that_nobody_closed_is_an_edited_file(
    tmp_path: Path, regions: Regions
) -> None:
    path = tmp_path / "regions.csv"
    save_regions(path, regions)
    spoil(path)
    with pytest.raises(InputError, match=r"\[regions-[a-z-]+\]"):
        load_regions(path)
    path = tmp_path / "districts.csv"
    save_districts(path, regions, make_districts(regions))
    spoil(path)
    with pytest.raises(InputError, match=r"\[districts-edited\]"):
        districts_for_build(path, release=None, published_before=True, regions=regions)


def test_lines_of_blank_cells_below_the_table_are_no_edit(tmp_path: Path, regions: Regions) -> None:
    path = tmp_path / "districts.csv"
    districts = make_districts(regions)
    save_districts(path, regions, districts)
    path.write_text(path.read_text("utf-8") + ",,,\n", encoding="utf-8")
    read = districts_for_build(path, release=None, published_before=True, regions=regions)
    assert read == districts


def test_a_locked_file_is_told(
    tmp_path: Path, regions: Regions, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(_: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    paths = tmp_path / "regions.csv", tmp_path / "districts.csv"
    save_regions(paths[0], regions)
    save_districts(paths[1], regions, make_districts(regions))
    monkeypatch.setattr(Path, "read_bytes", refuse)
    with pytest.raises(InputError, match=r"\[regions-unreadable\]"):
        load_regions(paths[0])
    with pytest.raises(InputError, match=r"\[districts-unreadable\]"):
        districts_for_build(paths[1], release=None, published_before=True, regions=regions)
