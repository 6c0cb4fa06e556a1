"""regions.csv: kept, edited, spoilt, lost."""

from __future__ import annotations

import csv
import datetime as dt
import io
import random
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import assume, given

from eaveline.errors import InputError
from eaveline.protect.division.frozen import (
    load_regions,
    recovered_regions,
    regions_for_build,
    save_regions,
)
from eaveline.protect.division.regions import Regions
from eaveline.protect.division.updating import first_regions
from eaveline.public.records import (
    BandedCount,
    Finding,
    Layers,
    PublicRelease,
    Region,
    Rule,
    State,
    TownFigures,
    release_to_json,
)
from small_towns import RULE, Counts, cell_array, premises_table, towns_of_cells

TOWN: Counts = {
    (6500, 3300): 40,
    (6501, 3300): 12,
    (6502, 3300): 4,
    (6503, 3301): 8,
    (6504, 3301): 0,
}


def first(counts: Counts) -> Regions:
    return first_regions(premises_table(counts), cell_array(counts), rule=RULE)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "map" / "regions.csv"
    save_regions(path, first(TOWN))
    return path


def release_of(regions: Regions) -> PublicRelease:
    """Return a release that shows these regions and nothing in them."""
    return PublicRelease(
        town="Ottersley",
        made_on=dt.date(2026, 8, 1),
        crs="EPSG:27700",
        has_map=bool(regions.ids),
        rule=Rule(
            minimum_premises=regions.rule.minimum_premises,
            cell_size_m=regions.rule.cell_size_m,
            bands=((1, 2), (3, None)),
            hour_bands=((1, None),),
            looked_hours=2,
        ),
        regions=tuple(
            Region(id=name, cells=cells, premises=int(premises), streets=())
            for name, cells, premises in zip(
                regions.ids, regions.cells, regions.premises, strict=True
            )
        ),
        seasons=(),
        layers=Layers(
            nest_sites={},
            screaming_parties={
                "all": {name: Finding(state=State.NOT_LOOKED) for name in regions.ids}
            },
            boxes={"all": {name: BandedCount() for name in regions.ids}},
            watching={"all": {name: BandedCount() for name in regions.ids}},
        ),
        town_figures=TownFigures(
            records=0,
            premises=0,
            nest_sites_at_least={},
            boxes_standing=0,
            hours_watched=0,
            screaming_parties=0,
        ),
        town_seasons=(),
        open_sites=(),
    )


def rewritten(path: Path, change: Callable[[list[list[str]]], list[list[str]]]) -> None:
    rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"))))
    out = io.StringIO()
    csv.writer(out).writerows(change(rows))
    path.write_text(out.getvalue(), encoding="utf-8")


def codes(caught: pytest.ExceptionInfo[InputError]) -> set[str]:
    return {problem.code for problem in caught.value.problems}


@given(towns_of_cells())
def test_what_is_saved_is_loaded(tmp_path_factory: pytest.TempPathFactory, counts: Counts) -> None:
    assume(sum(counts.values()) >= RULE.minimum_premises)
    path = tmp_path_factory.mktemp("map") / "regions.csv"
    save_regions(path, first(counts))
    assert load_regions(path) == first(counts)


@given(towns_of_cells())
def test_what_is_recovered_equals_what_was_lost(counts: Counts) -> None:
    assume(sum(counts.values()) >= RULE.minimum_premises)
    assert recovered_regions(release_of(first(counts))) == first(counts)


def test_a_file_that_says_the_same_is_left_alone(path: Path) -> None:
    before = path.stat().st_mtime_ns
    save_regions(path, first(TOWN))
    assert path.stat().st_mtime_ns == before
    assert [file.name for file in path.parent.iterdir()] == ["regions.csv"]


def test_the_file_does_not_depend_on_the_machine(path: Path) -> None:
    lines = path.read_bytes().split(b"\n")
    assert lines[0] == (
        b"region,cell_i,cell_j,premises_in_region,minimum_premises,cell_size_m,crs,check"
    )
    assert lines[1].startswith(b"R001,6500,3300,40,10,100,EPSG:27700,")
    assert b"\r" not in path.read_bytes()


def semicolons(text: str) -> bytes:
    return text.replace(",", ";").encode()


def excel_utf8(text: str) -> bytes:
    return text.replace("\n", "\r\n").encode("utf-8-sig")


def unicode_text(text: str) -> bytes:
    return text.replace(",", "\t").encode("utf-16")


def quoted(text: str) -> bytes:
    rows = list(csv.reader(io.StringIO(text)))
    out = io.StringIO()
    csv.writer(out, quoting=csv.QUOTE_ALL).writerows([*rows, [""] * 8])
    return out.getvalue().encode()


def with_decimals(text: str) -> bytes:
    return text.replace(",3300,", ",3300.0,").encode()


def sorted_otherwise(text: str) -> bytes:
    head, *rows = text.splitlines()
    random.Random(3).shuffle(rows)
    return "\n".join([head, *rows]).encode()


def columns_moved(text: str) -> bytes:
    rows = [[*row[::-1], ""] for row in csv.reader(io.StringIO(text))]
    return "\n".join(",".join(row) for row in rows).encode()


@pytest.mark.parametrize(
    "save_as",
    [semicolons, excel_utf8, unicode_text, quoted, with_decimals, sorted_otherwise, columns_moved],
)
def test_it_survives_a_spreadsheet(path: Path, save_as: Callable[[str], bytes]) -> None:
    path.write_bytes(save_as(path.read_text(encoding="utf-8")))
    assert load_regions(path) == first(TOWN)


def changed_cell(row: int, column: int, value: str) -> Callable[[list[list[str]]], list[list[str]]]:
    def change(rows: list[list[str]]) -> list[list[str]]:
        rows[row][column] = value
        return rows

    return change


@pytest.mark.parametrize(
    ("change", "code", "row"),
    [
        (lambda rows: rows[:-1], "regions-edited", None),
        (changed_cell(1, 2, "3399"), "regions-edited", None),
        (changed_cell(1, 3, "41"), "regions-edited", None),
        (changed_cell(2, 0, "R001"), "regions-two-counts", 3),
        (lambda rows: [*rows, rows[1]], "regions-cell-twice", 7),
        (lambda rows: [*rows, ["R009", *rows[1][1:]]], "regions-overlap", 7),
        (changed_cell(1, 3, "7"), "regions-too-small", 2),
        (changed_cell(1, 4, "5"), "regions-mixed", None),
        (changed_cell(1, 1, "six"), "regions-row-wrong", 2),
        (changed_cell(3, 0, ""), "regions-row-wrong", 4),
        (changed_cell(0, 3, "number"), "regions-columns-missing", None),
        (lambda rows: rows[:1], "regions-empty", None),
        (lambda _: [], "regions-columns-missing", None),
    ],
)
def test_an_edited_file_is_refused_with_its_row_and_why(
    path: Path, change: Callable[[list[list[str]]], list[list[str]]], code: str, row: int | None
) -> None:
    rewritten(path, change)
    with pytest.raises(InputError) as caught:
        load_regions(path)
    found = [problem for problem in caught.value.problems if problem.code == code]
    assert found, codes(caught)
    assert found[0].row == row
    assert found[0].file == "map/regions.csv"


def test_messages_name_rows_and_repeat_no_cell(path: Path) -> None:
    rewritten(path, lambda rows: [*rows, ["R009", *rows[1][1:]]])
    with pytest.raises(InputError) as caught:
        load_regions(path)
    assert "6500" not in str(caught.value)


def build(
    path: Path,
    *,
    counts: Counts = TOWN,
    release: Path | None = None,
    published_before: bool = False,
) -> tuple[Regions, list[str]]:
    regions, notes = regions_for_build(
        path,
        release_file=release,
        published_before=published_before,
        premises=premises_table(counts),
        boundary_cells=cell_array(counts),
        rule=RULE,
    )
    return regions, [note.code for note in notes]


def test_a_first_build_divides_the_town_and_writes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "regions.csv"
    assert build(path) == (first(TOWN), [])
    assert not path.exists()


def test_a_town_of_too_few_premises_has_no_map(tmp_path: Path) -> None:
    regions, _ = build(tmp_path / "regions.csv", counts={(6500, 3300): 9})
    assert not regions.ids


def test_a_kept_file_wins_over_a_new_division(path: Path) -> None:
    grown = TOWN | {(6502, 3300): 14}
    assert first(grown) != first(TOWN)
    assert build(path, counts=grown) == (first(TOWN), [])


def test_a_lost_file_is_recovered_from_the_release(path: Path, tmp_path: Path) -> None:
    release = tmp_path / "release.json"
    release.write_text(release_to_json(release_of(load_regions(path))), encoding="utf-8")
    path.unlink()
    grown = TOWN | {(6502, 3300): 14}
    assert build(path, counts=grown, release=release) == (first(TOWN), ["regions-recovered"])


def test_a_lost_file_without_a_release_is_refused_once_published(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        build(tmp_path / "regions.csv", published_before=True)
    assert codes(caught) == {"regions-lost"}


def test_a_release_that_cannot_be_read_is_refused(path: Path, tmp_path: Path) -> None:
    release = tmp_path / "release.json"
    release.write_text("{}", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        build(path, release=release)
    assert codes(caught) == {"release-unreadable"}


def test_an_older_finer_copy_is_refused(path: Path, tmp_path: Path) -> None:
    coarse = Regions(
        ("R007",), (tuple(sorted(c for own in first(TOWN).cells for c in own)),),
        first(TOWN).premises.sum(keepdims=True), RULE,
    )  # fmt: skip
    release = tmp_path / "release.json"
    release.write_text(release_to_json(release_of(coarse)), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        build(path, release=release)
    assert codes(caught) == {"regions-split"}


def test_inputs_are_left_alone(path: Path) -> None:
    premises = premises_table(TOWN)
    before = premises.copy()
    regions_for_build(
        path,
        release_file=None,
        published_before=False,
        premises=premises,
        boundary_cells=cell_array(TOWN),
        rule=RULE,
    )
    pd.testing.assert_frame_equal(premises, before)
