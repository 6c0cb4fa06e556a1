"""The demo town is as promised, and its committed files are what the generator makes."""

from __future__ import annotations

import csv
import datetime as dt
import io
import math
from collections import Counter, defaultdict
from itertools import combinations
from pathlib import Path

import geopandas as gpd
import openpyxl
import pytest
import shapely

from demo_town.dusk import sunset_minute
from demo_town.encode import encoded
from demo_town.entries import LAST_DAY, SEASONS
from demo_town.evenings import APART_M, APART_MINUTES, CLOCK_ERROR_MINUTES, STANDING_OFF_M
from demo_town.files import demo_files
from demo_town.geography import town
from demo_town.notation import degrees_minutes_seconds, grid_reference
from demo_town.plan import FLATS, ORIGIN
from demo_town.roster import MEMBERS
from demo_town.spellings import HEADERS_USED, VALUE_SPELLINGS_USED
from demo_town.truth import all_sheets, truth
from demo_town.vigils import watches
from eaveline.private.intake.check import check_file
from eaveline.private.intake.read import read_file
from eaveline.private.intake.schema import KINDS, heading_table, plain
from eaveline.private.intake.vocabulary import VOCABULARIES
from eaveline.private.places.place_problems import PLACE_PROBLEMS

SURVEY_DATA = Path(__file__).resolve().parents[1] / "survey_data"
TODAY = dt.date(2026, 11, 25)


@pytest.mark.parametrize("name", sorted(demo_files()))
def test_committed_file_is_what_the_generator_makes(name: str) -> None:
    assert (SURVEY_DATA / name).read_bytes() == demo_files()[name], (
        "run `python tests/demo_town --write`"
    )


def test_no_stray_record_files_lie_beside_the_generated_ones() -> None:
    made = set(demo_files())
    folders = {name.split("/")[0] for name in made} - {"map"}
    found = {
        path.relative_to(SURVEY_DATA).as_posix()
        for folder in folders
        for path in (SURVEY_DATA / folder).rglob("*")
        if path.is_file()
    }
    assert found == {name for name in made if not name.startswith("map/")}


def test_town_has_the_promised_size() -> None:
    assert 58 <= len(town().streets) <= 70
    assert 3300 <= len(town().buildings) <= 3800
    assert len({building.address for building in town().buildings}) == len(town().buildings)
    houses = [b for b in town().buildings if b.kind != "lane"]
    west, east = (pick(b.easting for b in houses) for pick in (min, max))
    assert 1900 <= east - west <= 3000
    assert {"St Anne's Terrace", "Mill Lane", "Mill Road", "Market Place"} <= set(town().streets)


def test_everything_stands_inside_the_boundary_and_out_of_the_river() -> None:
    points = shapely.points([building.xy for building in town().buildings])
    assert shapely.contains(town().boundary, points).all()
    assert (shapely.distance(points, town().river) > 15).all()
    crossing = [n for n, line in town().streets.items() if line.crosses(town().river)]
    assert crossing == ["Bridge Street"]


def test_streets_make_one_net() -> None:
    lines = list(town().streets.values())
    reached, waiting = {0}, [0]
    while waiting:
        here = lines[waiting.pop()]
        new = [i for i, line in enumerate(lines) if i not in reached and line.distance(here) < 0.2]
        reached.update(new)
        waiting += new
    assert len(reached) == len(lines)


def test_flats_share_a_point_and_houses_do_not() -> None:
    counts = Counter(building.xy for building in town().buildings)
    assert [count for count in counts.values() if count > 1] == [FLATS[3]] == [12]


def test_map_files_open_in_the_national_grid() -> None:
    for name in ("streets", "boundary", "water", "greens"):
        layer = gpd.read_file(SURVEY_DATA / "map" / f"{name}.geojson")
        assert layer.crs is not None
        assert layer.crs.to_epsg() == 27700
        assert layer.is_valid.all()
        assert layer["name"].notna().all()


def test_records_come_in_the_promised_numbers() -> None:
    rows = truth().rows
    good = Counter(row.folder for row in rows if row.copy_of is None)
    assert 1900 <= good["sightings"] <= 2200
    assert 190 <= good["watches"] <= 210
    assert len(truth().nest_sites) == 70
    assert len(truth().boxes) == 140
    assert {site.species for site in truth().nest_sites} == {"swift", "house martin"}
    assert len(MEMBERS) == 14
    assert {row.writer for row in rows} == {member.key for member in MEMBERS}


def test_about_three_rows_in_a_hundred_are_faulty_in_many_ways() -> None:
    faults = truth().faulty()
    assert 0.025 <= len(faults) / len(truth().rows) <= 0.04
    kinds = {(file.split("/")[0], code) for (file, _), code in faults.items()}
    assert len(kinds) >= 45


def test_truth_counts_rows_as_a_spreadsheet_does() -> None:
    rows = {(row.file, row.row): row for row in truth().rows}
    assert len(rows) == len(truth().rows)
    for sheet in all_sheets():
        if sheet.member.excel:
            book = openpyxl.load_workbook(io.BytesIO(encoded(sheet)))
            count = book.worksheets[0].max_row
        else:
            text = encoded(sheet).decode(sheet.member.encoding)
            count = len(
                list(csv.reader(io.StringIO(text, newline=""), delimiter=sheet.member.separator))
            )
        assert {n for file, n in rows if file == sheet.name} == set(range(2, count + 1))


def test_a_copy_repeats_its_row_cell_for_cell() -> None:
    cells = {
        (sheet.name, number): row
        for sheet in all_sheets()
        for number, row in enumerate(sheet.rows, start=2)
    }
    copies = truth().copies()
    assert len(copies) >= 30
    assert all(cells[copy] == cells[original] for copy, original in copies.items())
    assert not set(copies.values()) & set(copies)


def test_rows_of_one_party_agree_and_parties_stay_apart() -> None:
    parties = list(truth().parties.values())
    for one, other in combinations(parties, 2):
        if one.day == other.day:
            far = math.hypot(one.x - other.x, one.y - other.y) >= APART_M
            assert far or abs(one.minute - other.minute) >= APART_MINUTES
    # Two observers' clocks and places can differ so much at most, and still must merge.
    assert 2 * CLOCK_ERROR_MINUTES <= 10
    assert 2 * STANDING_OFF_M <= 150
    sizes = Counter(len(places) for places in truth().same_party().values())
    assert sum(count for size, count in sizes.items() if size > 1) > 200


def test_one_member_writes_of_a_party_once() -> None:
    for party in truth().parties.values():
        assert len(set(party.observers)) == len(party.observers)


def test_no_good_record_is_newer_than_the_last_day() -> None:
    days = [
        value
        for sheet in all_sheets()
        for entry in sheet.entries
        for name, value in entry.values.items()
        if isinstance(value, dt.date) and name != "calls_to"
    ]
    assert max(days) <= LAST_DAY < TODAY
    assert min(days).year >= SEASONS[0]


def test_each_season_has_records_of_every_kind() -> None:
    seen = {
        (entry.folder, entry.day.year)
        for sheet in all_sheets()
        for entry in sheet.entries
        if entry.folder != "decisions"
    }
    for folder in ("sightings", "nest_sites", "watches"):
        assert {year for kind, year in seen if kind == folder} == set(SEASONS)


def test_most_parties_fly_in_the_last_hours_before_dark() -> None:
    before = [sunset_minute(p.day) - p.minute for p in truth().parties.values()]
    assert sum(0 <= minutes <= 120 for minutes in before) > 0.8 * len(before)


def test_boxes_near_nests_fill_more_often_and_more_each_year() -> None:
    def share(season: int) -> float:
        lives = [
            who for b in truth().boxes for (_, year), who in b.occupant.items() if year == season
        ]
        return lives.count("swift") / len(lives)

    assert share(2026) > share(2022) > share(2019)
    everyone = {who for box in truth().boxes for who in box.occupant.values()}
    assert {"swift", "house sparrow", "starling", "tit", "empty"} <= everyone


def test_some_watches_are_spoilt_by_weather_and_some_saw_nothing_in_good_weather() -> None:
    assert sum(watch.wet for watch in watches()) >= 10
    assert sum(not watch.wet and watch.most_birds == 0 for watch in watches()) >= 30
    assert all(watch.start < watch.end for watch in watches())


def test_every_heading_is_known_under_its_canonical_name() -> None:
    for folder, columns in HEADERS_USED.items():
        table = heading_table(folder)
        for column, headings in columns.items():
            for heading in headings:
                wanted = None if column.startswith("?") else column
                assert table.get(plain(heading)) == wanted, (folder, heading)


def test_every_spelling_is_read_as_the_word_it_stands_for() -> None:
    for word, spellings in VALUE_SPELLINGS_USED.items():
        tables = [table for table in VOCABULARIES.values() if word in table.values()]
        for spelling in spellings:
            assert any(table.get(plain(spelling)) == word for table in tables), (word, spelling)


def test_reader_finds_the_faults_of_single_rows_and_no_others() -> None:
    """Faults of places and faults between files are found later, elsewhere."""
    later = {*PLACE_PROBLEMS, "box-unknown", "check-before-box", "box-in-two-places"}
    later -= {"place-missing"}
    later |= {"decision-row-unknown"}
    expected = {place: code for place, code in truth().faulty().items() if code not in later}
    found: dict[tuple[str, int], set[str]] = defaultdict(set)
    for name in demo_files():
        folder = name.split("/")[0]
        if folder not in KINDS:
            continue
        for raw in read_file(SURVEY_DATA / name, folder=folder, name=name):
            faults = check_file(raw, today=TODAY).faults
            for position, code in zip(faults["position"], faults["code"], strict=True):
                found[name, int(raw.rows[position])].add(str(code))
    assert set(found) == set(expected)
    assert all(code in found[place] for place, code in expected.items())


def test_headings_use_only_columns_that_exist() -> None:
    for folder, columns in HEADERS_USED.items():
        known = {column.name for column in KINDS[folder].columns}
        assert {column for column in columns if not column.startswith("?")} <= known


def test_grid_references_are_truncated() -> None:
    # Worked by hand: 199.9 m east and 99.9 m north of TG 50 30 lie in squares 1 and 0.
    assert grid_reference(ORIGIN[0] + 199.9, ORIGIN[1] + 99.9, figures=6) == ("501", "300")
    assert grid_reference(ORIGIN[0] + 5.0, ORIGIN[1] + 19.0, figures=8) == ("5000", "3001")


@pytest.mark.parametrize(
    ("degrees", "text"),
    [(52.5, "52°30'00.0\""), (1.70807, "1°42'29.1\""), (51.9999999, "52°00'00.0\"")],
)
def test_degrees_minutes_seconds(degrees: float, text: str) -> None:
    assert degrees_minutes_seconds(degrees) == text
