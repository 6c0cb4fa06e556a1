"""What `check` says: by file and cause, the most useful first."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from eaveline.papers.check_report import check_json, check_report
from eaveline.private.intake.take_in import Intake, take_in
from eaveline.talk import print_check_json, show_check
from taking import TODAY, locate_metres

HEAD = "date,time,easting,northing,species,behaviour,birds,seen_by\n"
GOOD = "3/6/26,21:40,650100,330100,swift,screaming party,6,Ann Poole\n"


@pytest.fixture
def intake(tmp_path: Path) -> Intake:
    folder = tmp_path / "sightings"
    folder.mkdir()
    # Three rows with two faults each; two with the date alone, one with the count alone.
    both = GOOD.replace("3/6/26", "31/6/26").replace(",6,", ",lots,")
    rows = [both.replace("Ann", name) for name in ("A", "B", "C")]
    rows += [GOOD.replace("3/6/26", "31/6/26"), GOOD.replace("3/6/26", "31/9/26"), GOOD]
    rows += [GOOD.replace(",6,", ",many,")]
    (folder / "ann.csv").write_text(HEAD + "".join(rows))
    (folder / "bob.csv").write_text(HEAD + GOOD.replace("swift", "kestrel").replace("Ann", "Bob"))
    (folder / "eve.csv").write_text("fecha,lugar\n1,2\n")
    return take_in(tmp_path, locator=locate_metres, today=TODAY)


def test_unusable_files_first_then_the_one_with_most_rows_held(intake: Intake) -> None:
    reports = check_report(intake)
    assert [(each.file, each.rows, each.held) for each in reports] == [
        ("sightings/eve.csv", 0, 0),
        ("sightings/ann.csv", 7, 6),
        ("sightings/bob.csv", 1, 1),
    ]


def test_a_cause_that_frees_more_rows_goes_first(intake: Intake) -> None:
    causes = check_report(intake)[1].causes
    assert [(cause.code, cause.rows, cause.freed) for cause in causes] == [
        ("date-impossible", 5, 2),
        ("count-unreadable", 4, 1),
    ]
    assert causes[0].first_rows == (2, 3, 4, 5, 6)
    assert causes[0].columns == ("date",)


def test_machines_get_the_same_with_no_cell_in_it(
    intake: Intake, capsys: pytest.CaptureFixture[str]
) -> None:
    print_check_json(intake, [])
    text = capsys.readouterr().out
    assert json.loads(text) == check_json(intake)
    found = json.loads(text)
    assert found["format"] == "eaveline-check/1"
    assert found["rows_read"] == 8 == sum(found["states"].values())
    assert found["files"][1]["causes"][0]["freed"] == 2
    for word in ("Poole", "kestrel", "650100", "31/6/26"):
        assert word not in text


def test_people_get_counts_rows_and_what_to_do(
    intake: Intake, capsys: pytest.CaptureFixture[str]
) -> None:
    show_check(intake, [])
    text = capsys.readouterr().out
    assert "sightings/ann.csv: 6 of 7 rows held" in text
    assert "5 rows (2, 3, 4, 5, 6) in date: There is no such day." in text
    assert text.index("eve.csv") < text.index("ann.csv") < text.index("bob.csv")
    assert "Poole" not in text
