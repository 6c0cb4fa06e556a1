"""A member's headings, told once, are known from then on."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import openpyxl
import pytest

from eaveline.papers.half_mappings import half_mappings
from eaveline.private.intake.headings import meaning_of
from eaveline.private.intake.ledger import RowState
from eaveline.private.intake.mappings import load_mappings, mapping_file_name, mapping_for
from eaveline.private.intake.take_in import Intake, take_in
from taking import TODAY, locate_metres

FOREIGN = "Fecha,Este,Norte,Que hacen,Quien\n3/6/2026,650100,330100,screaming party,Ann\n"
MAPPING = """folder,heading,means,always
sightings,Fecha,date,
sightings,Este,easting,
sightings,Norte,northing,
sightings,Que hacen,behaviour,
sightings,Quien,ignore,
sightings,,species,swift
"""


def taken(folder: Path, **files: str) -> Intake:
    for name, text in files.items():
        path = folder / name.replace("__", "/")
        path = path.with_name(path.name + ".csv")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return take_in(folder, locator=locate_metres, today=TODAY)


def codes(intake: Intake) -> list[str]:
    return sorted(notice.code for notice in intake.notices)


def test_a_mapping_tells_every_file_with_the_same_headings(tmp_path: Path) -> None:
    intake = taken(
        tmp_path,
        sightings__june=FOREIGN,
        sightings__july=FOREIGN.replace("3/6", "3/7"),
        mappings__ann=MAPPING,
    )
    assert codes(intake) == []
    assert intake.ledger.counts()[RowState.USED] == 2
    table = intake.tables["sightings"]
    assert table["species"].tolist() == ["swift", "swift"]
    assert table["seen_by"].isna().all()  # told to ignore it


@pytest.mark.parametrize("kind", ["semicolons", "tabs and a title", "workbook"])
def test_a_mapping_may_be_saved_as_programs_save_it(tmp_path: Path, kind: str) -> None:
    folder = tmp_path / "mappings"
    folder.mkdir()
    if kind == "workbook":
        book = openpyxl.Workbook()
        sheet = book.create_sheet("mapping", 0)
        for line in csv.reader(io.StringIO(MAPPING)):
            sheet.append(line)
        book.save(folder / "ann.xlsx")
    elif kind == "semicolons":
        (folder / "ann.csv").write_text(MAPPING.replace(",", ";"), encoding="utf-8")
    else:
        text = "What Ann means\n\n" + MAPPING.replace(",", "\t")
        (folder / "ann.csv").write_text(text, encoding="utf-16")
    intake = taken(tmp_path, sightings__june=FOREIGN)
    assert codes(intake) == []
    assert intake.ledger.counts()[RowState.USED] == 1


def test_an_unclear_line_is_numbered_as_a_spreadsheet_shows_it(tmp_path: Path) -> None:
    taken(tmp_path, mappings__ann="folder,heading,means\n\nsightings,Este,sideways\n")
    _, (problem,) = load_mappings(tmp_path)
    assert (problem.code, problem.row) == ("mapping-line-unclear", 3)


def test_an_unmappable_file_gives_a_mapping_to_complete(tmp_path: Path) -> None:
    before = taken(tmp_path, sightings__ann=FOREIGN)
    assert codes(before) == ["headings-not-found"]
    papers = half_mappings(before)
    assert list(papers) == ["review/mappings/sightings-ann.csv"]
    (paper,) = papers.values()
    lines = list(csv.DictReader(io.StringIO(paper.decode("utf-8-sig"))))
    assert [line["heading"] for line in lines] == [
        *["Fecha", "Este", "Norte", "Que hacen", "Quien"],
        *[""] * 3,
    ]
    assert lines[0]["example"] == "3/6/2026"
    meant = {"Fecha": "date", "Este": "easting", "Norte": "northing", "Que hacen": "behaviour"}
    for line in lines:
        line["means"] = meant.get(line["heading"], line["means"])
        line["always"] = "swift" if line["means"] == "species" else ""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, list(lines[0]))
    writer.writeheader()
    writer.writerows(lines)
    after = taken(tmp_path, mappings__ann=out.getvalue())
    assert after.ledger.counts()[RowState.USED] == 1
    assert half_mappings(after) == {}


def test_a_half_known_file_keeps_what_is_known(tmp_path: Path) -> None:
    text = "Date,Easting,Northing,Species,Wot\n3/6/2026,650100,330100,swift,screaming party\n"
    before = taken(tmp_path, sightings__ann=text)
    assert codes(before) == ["column-unknown", "columns-missing"]
    (paper,) = half_mappings(before).values()
    lines = list(csv.DictReader(io.StringIO(paper.decode("utf-8-sig"))))
    known = {line["heading"]: line["means"] for line in lines}
    assert known == {
        "Date": "date",
        "Easting": "easting",
        "Northing": "northing",
        "Species": "species",
        "Wot": "",
        "": "behaviour",
    }
    after = taken(
        tmp_path, mappings__ann="folder,heading,means\nsightings,Wot,behaviour\nsightings,Date,\n"
    )
    assert after.ledger.counts()[RowState.USED] == 1


def test_the_mapping_that_says_most_goes_first(tmp_path: Path) -> None:
    taken(
        tmp_path,
        mappings__short="folder,heading,means\nsightings,Number,house\n",
        mappings__long="folder,heading,means\nsightings,Number,birds\nsightings,Fecha,date\n",
    )
    mappings, problems = load_mappings(tmp_path)
    assert problems == []

    def number(*headings: str) -> str | None:
        found = mapping_for(headings, folder="sightings", mappings=mappings)
        return found.means["number"] if found else None

    assert number("Number", "Street") == "house"
    assert number("Number", "Street", "FECHA") == "birds"
    assert number("Street") is None
    assert mapping_for(["Number"], folder="boxes", mappings=mappings) is None


def test_two_mappings_that_contradict_each_other_are_both_left(tmp_path: Path) -> None:
    line = "folder,heading,means\nsightings,Number,{}\n"
    taken(tmp_path, mappings__a=line.format("house"), mappings__b=line.format("birds"))
    mappings, problems = load_mappings(tmp_path)
    assert [problem.code for problem in problems] == ["mapping-contradicted"]
    assert mapping_for(["Number"], folder="sightings", mappings=mappings) is None


@pytest.mark.parametrize(
    "line", ["nowhere,Fecha,date", "sightings,Fecha,datum", "sightings,,species"]
)
def test_a_line_that_says_nothing_is_named(tmp_path: Path, line: str) -> None:
    intake = taken(tmp_path, mappings__a=f"folder,heading,means\n{line}\nsightings,Que,behaviour\n")
    found = [(notice.code, notice.row) for notice in intake.notices]
    # An open line, of a column the file lacks, is left open.
    assert found == ([] if line.startswith("sightings,,") else [("mapping-line-unclear", 2)])


@pytest.mark.parametrize(
    ("heading", "means"),
    [
        ("What date did you see them?", "date"),
        ("Grid reference (if you know it)", "grid_ref"),
        ("How many birds did you see?", "birds"),
        ("What were they doing?", "behaviour"),
        ("Please enter your name", "seen_by"),
        ("NO. SEEN:", "birds"),
        ("Did you enjoy it?", None),
        ("what", "behaviour"),
        ("Moon", None),
    ],
)
def test_what_a_heading_means(heading: str, means: str | None) -> None:
    assert meaning_of(heading, folder="sightings") == means


def test_a_mappings_name_comes_from_its_file() -> None:
    assert mapping_file_name("sightings/Ann's list.xlsx") == "sightings-ann-s-list.csv"
    assert mapping_file_name("boxes/2026/list.csv [Sheet 2]") == "boxes-2026-list-csv-sheet-2.csv"
