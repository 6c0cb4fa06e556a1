"""Sheets to print, and their twins as volunteers fill them in."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Mapping
from pathlib import Path

import pytest
from pypdf import PdfReader

from eaveline import pipeline
from eaveline.config import load_config
from eaveline.gazetteer import load_gazetteer
from eaveline.papers.field_sheets import MOST_PRINTED, field_sheets
from eaveline.private.intake.ledger import RowState
from eaveline.private.intake.schema import heading_table, plain
from eaveline.private.intake.take_in import Intake
from small_town import STREETS, write_town

MADE_ON = dt.date(2026, 8, 14)
TODAY = dt.date(2026, 11, 25)
WATCH = {"date": "20/6/2026", "start": "20.30", "end": "22.00", "watchers": "Ann Poole"}


@pytest.fixture(scope="module")
def sheets() -> Mapping[str, bytes]:
    return field_sheets(list(STREETS), group="Little Ottersley Swift Group", made_on=MADE_ON)


def read(sheets: Mapping[str, bytes], name: str) -> PdfReader:
    return PdfReader(io.BytesIO(sheets[f"field-sheets/{name}.pdf"]))


def text_of(reader: PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


def twin(sheets: Mapping[str, bytes], name: str) -> tuple[list[str], list[dict[str, str]]]:
    """Return a twin's headings and lines."""
    reader = csv.DictReader(
        io.StringIO(sheets[f"field-sheets/{name}.csv"].decode("utf-8-sig"), newline="")
    )
    lines = list(reader)
    return list(reader.fieldnames or []), lines


def saved(sheets: Mapping[str, bytes], name: str, filled: Mapping[str, Mapping[str, str]]) -> str:
    """Return a twin with lines filled in, by street; an unknown street becomes a new line."""
    headings, lines = twin(sheets, name)
    for street, cells in filled.items():
        line = next((each for each in lines if each.get("streets") == street), None)
        if line is None:
            line = dict.fromkeys(headings, "")
            lines.append(line)
        line.update(cells)
    text = io.StringIO()
    writer = csv.DictWriter(text, headings)
    writer.writeheader()
    writer.writerows(lines)
    return text.getvalue()


def take_in(folder: Path, files: Mapping[str, str]) -> Intake:
    town_folder = write_town(folder, files)
    config = load_config(town_folder)
    return pipeline.take_in_town(town_folder, load_gazetteer(town_folder, config), today=TODAY)


def test_the_street_list_filled_in_comes_in_as_it_is(
    sheets: Mapping[str, bytes], tmp_path: Path
) -> None:
    filled = saved(
        sheets,
        "street-list",
        {
            "Mill Lane": WATCH | {"weather": "dry", "most_birds": "3"},
            "Albert Road": WATCH | {"date": "21/6/2026", "most_birds": "0"},
        },
    )
    intake = take_in(tmp_path, {"watches/street-list.csv": filled})
    states = intake.ledger.counts()
    assert states[RowState.HELD] == 0
    # The two streets that nobody watched are no rows, and a notice says so.
    assert states[RowState.USED] == sum(states.values()) == 2
    (notice,) = intake.notices
    assert notice.code == "form-lines-unfilled"
    assert notice.what.startswith("2 lines hold a street and nothing else")
    watches = intake.tables["watches"].sort_values("date")
    assert watches["streets"].astype(str).tolist() == ["Mill Lane", "Albert Road"]
    assert (watches["end"] - watches["start"]).tolist() == [90, 90]
    assert watches["most_birds"].tolist() == [3, 0]
    # Rows are still numbered as the spreadsheet shows them: the list is in order of names.
    assert sorted(intake.ledger.rows["row"]) == [2, 4]


def test_a_line_with_a_street_and_a_date_is_a_row(
    sheets: Mapping[str, bytes], tmp_path: Path
) -> None:
    filled = saved(sheets, "street-list", {"Mill Lane": {"date": "20/6/2026"}})
    intake = take_in(tmp_path, {"watches/street-list.csv": filled})
    assert intake.ledger.counts()[RowState.HELD] == 1


def test_the_watch_form_and_what_was_seen_come_in_as_they_are(
    sheets: Mapping[str, bytes], tmp_path: Path
) -> None:
    form = saved(sheets, "watch-form", {"": WATCH | {"watch": "W1", "streets": "Mill Lane"}})
    seen = {
        "date": "20/6/2026",
        "time": "21:40",
        "street": "Mill Lane",
        "house": "7",
        "species": "swift",
        "behaviour": "screaming party",
        "birds": "6",
        "seen_by": "Ann Poole",
        "watch": "W1",
    }
    intake = take_in(
        tmp_path,
        {
            "watches/watch-form.csv": form,
            "sightings/watch-form-seen.csv": saved(sheets, "watch-form-seen", {"": seen}),
        },
    )
    assert intake.ledger.counts()[RowState.USED] == len(intake.ledger.rows) == 2
    assert intake.notices == ()


@pytest.mark.parametrize("name", ["watch-form", "street-list"])
def test_sheets_are_tagged_a4_and_the_same_every_time(
    sheets: Mapping[str, bytes], name: str
) -> None:
    reader = read(sheets, name)
    root = reader.root_object
    assert "/StructTreeRoot" in root
    assert str(root["/Lang"]) == "en-GB"
    assert [round(float(side)) for side in reader.pages[0].mediabox[2:]] == [595, 842]
    assert reader.metadata is not None
    assert reader.metadata.author is None
    again = field_sheets(
        list(reversed(STREETS)), group="Little Ottersley Swift Group", made_on=MADE_ON
    )
    assert again == sheets


def test_the_watch_form_is_one_page_that_reads_in_order(sheets: Mapping[str, bytes]) -> None:
    reader = read(sheets, "watch-form")
    assert len(reader.pages) == 1
    text = text_of(reader)
    order = ["Watch form", "Date", "Start", "End", "Watchers", "Weather", "Most birds"]
    order += ["What was seen", "Time", "Behaviour", "screaming party", "pavement"]
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_the_street_list_reads_street_by_street(sheets: Mapping[str, bytes]) -> None:
    text = text_of(read(sheets, "street-list"))
    places = [text.index(name) for name in ("Most birds", *sorted(STREETS))]
    assert places == sorted(places)


def test_printed_words_are_headings_the_intake_knows(sheets: Mapping[str, bytes]) -> None:
    known = heading_table("watches")
    text = text_of(read(sheets, "watch-form"))
    for heading in ("Wind bft", "Temp c", "Most birds", "Calls playing"):
        assert heading in text
        assert plain(heading) in known


def test_a_street_is_text_and_never_markup() -> None:
    name = '#panic("x") <b>O\'Neill & Söhne</b>, "Ring"'
    made = field_sheets([name], group="$ # \\", made_on=MADE_ON)
    assert "O'Neill & Söhne" in text_of(read(made, "street-list")).replace("’", "'")
    _, lines = twin(made, "street-list")
    assert [line["streets"] for line in lines] == [name]


def test_a_long_list_has_only_its_twin() -> None:
    made = field_sheets(
        [f"Street {number}" for number in range(MOST_PRINTED + 1)], group="G", made_on=MADE_ON
    )
    assert "field-sheets/street-list.pdf" not in made
    assert "field-sheets/street-list.csv" in made
