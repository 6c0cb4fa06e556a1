"""The list of planning applications."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from click.testing import CliRunner

from eaveline import cli, pipeline
from planned_town import HEADER, ROWS, TODAY
from small_town import NEST_SITES, ordinary_records, write_records, write_town

NEXT = "26/00104/FUL,20/11/2026,20/12/2026,,650041,340110,,New soffits,roof,,\n"
NEST = NEST_SITES + "S9,Albert Road,23,,swift,2026,in use,young,,Ann Poole\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write_town(tmp_path, {**ordinary_records(), "planning/list.csv": HEADER + ROWS})


def look(folder: Path) -> str:
    done = CliRunner().invoke(cli.command, ["planning", str(folder)])
    assert done.exit_code == 0, done.output
    return done.output


def listed(folder: Path) -> dict[str, dict[str, str]]:
    text = (folder / "private/officer/applications.csv").read_text(encoding="utf-8-sig")
    return {row["reference"]: row for row in csv.DictReader(io.StringIO(text, newline=""))}


def papers(folder: Path) -> dict[str, bytes]:
    private = folder / "private"
    return {path.name: path.read_bytes() for path in private.rglob("*") if path.is_file()}


def test_a_first_list_is_all_there_and_nothing_is_new(folder: Path) -> None:
    said = look(folder)
    assert "3 applications; the next list is compared with this one" in said
    assert "2 undecided" in said
    assert {row["news"] for row in listed(folder).values()} == {""}
    assert listed(folder)["26/00103/FUL"]["what_next"] == "decided"


def test_what_came_since_is_new_until_the_next_list(folder: Path) -> None:
    look(folder)
    write_records(folder, {"planning/next.csv": HEADER + NEXT})
    assert "4 applications; 1 new since the list before, 0 with more" in look(folder)
    assert {name: row["news"] for name, row in listed(folder).items() if row["news"]} == {
        "26/00104/FUL": "new"
    }
    before = papers(folder)
    # The same records make the same papers, so a second look does not hide the news.
    assert "1 new since the list before" in look(folder)
    assert papers(folder) == before
    page = (folder / "private/officer/applications.html").read_text(encoding="utf-8")
    assert "New since the list before: 1." in page
    assert page.count('<span class="mark">new</span>') == 1


def test_a_nest_found_since_is_news_of_the_application_beside_it(folder: Path) -> None:
    look(folder)
    write_records(folder, {"nest_sites/next.csv": NEST})
    assert "0 new since the list before, 1 with more recorded near" in look(folder)
    # Number 23 is eight metres from number 21; the other two are over 100 m away.
    assert listed(folder)["26/00101/FUL"]["news"] == "more recorded near it"


def test_only_a_build_writes_papers(folder: Path) -> None:
    look(folder)
    assert {path.name for path in (folder / "private/officer").iterdir()} == {
        *(".seen.json", "applications.csv", "applications.html", "reminders.csv", "tally.csv"),
    }
    assert not (folder / "site").exists()
    row = listed(folder)["26/00101/FUL"]
    assert row["what_next"] == "the next build writes its papers"
    (folder / "private/officer/26-00101-FUL").mkdir()
    look(folder)
    assert listed(folder)["26/00101/FUL"]["what_next"] == "papers written: check, sign, send"


def test_a_town_without_applications_is_told_so(tmp_path: Path) -> None:
    assert "no planning applications" in look(write_town(tmp_path))
    assert not (tmp_path / "private").exists()


def test_a_build_remembers_what_the_look_remembers(folder: Path) -> None:
    look(folder)
    outcome = pipeline.build_town(folder, today=TODAY)
    assert outcome.planning is not None
    assert outcome.planning.before is None
    assert set(outcome.planning.now) == {"26/00101/FUL", "26/00102/FUL", "26/00103/FUL"}
