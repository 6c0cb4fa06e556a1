"""Every row ends in exactly one state."""

from __future__ import annotations

import random
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from eaveline.errors import InputError
from eaveline.private.intake.cells import key_text
from eaveline.private.intake.ledger import RowState
from eaveline.private.intake.take_in import Intake, take_in
from taking import TODAY, Take, locate_metres

HEAD = "date,time,easting,northing,species,behaviour,birds,seen_by\n"
GOOD = "3/6/26,21:40,650100,330100,swift,screaming party,6,Ann\n"
BAD = "31/6/26,21:40,650100,330100,swift,screaming party,6,Bob\n"


def states(intake: Intake) -> list[str]:
    return intake.ledger.rows["state"].astype(str).tolist()


def key_of(intake: Intake, row: int) -> str:
    return key_text(int(intake.ledger.rows["key"].iloc[row]))


def correction(intake: Intake, row: int, cells: str) -> str:
    return "key,folder," + HEAD + f"{key_of(intake, row)},sightings,{cells}"


def test_the_same_row_twice_is_one_row(take: Take) -> None:
    intake = take(sightings=HEAD + GOOD + GOOD, sightings__b=HEAD + GOOD.upper())
    assert states(intake) == [RowState.USED, RowState.MERGED, RowState.MERGED]
    assert intake.ledger.rows["into"].tolist() == [-1, 0, 0]


def test_a_bad_row_is_held_with_all_its_faults(take: Take) -> None:
    intake = take(sightings=HEAD + "31/6/26,25:00,650100,330100,swift,screaming party,lots,Bob\n")
    assert states(intake) == [RowState.HELD]
    assert set(zip(intake.faults["column"], intake.faults["code"], strict=True)) == {
        ("date", "date-impossible"),
        ("time", "time-impossible"),
        ("birds", "count-unreadable"),
    }


def test_a_correction_replaces_the_row_it_names(take: Take) -> None:
    before = take(sightings=HEAD + GOOD + BAD)
    after = take(corrections=correction(before, 1, BAD.replace("31/6/26", "30/6/26")))
    assert states(after) == [RowState.USED, RowState.REPLACED, RowState.USED]
    assert after.ledger.rows["into"].tolist() == [-1, 2, -1]
    assert len(after.tables["sightings"]) == 2


def test_a_wrong_correction_comes_back_with_its_own_reason(take: Take) -> None:
    before = take(sightings=HEAD + BAD)
    after = take(corrections=correction(before, 0, BAD.replace("31/6/26", "32/6/26")))
    assert states(after) == [RowState.REPLACED, RowState.HELD]
    assert after.ledger.rows["replaces"].iloc[1] == before.ledger.rows["key"].iloc[0]


def test_a_second_correction_of_the_same_row_is_taken_when_the_first_was_wrong(take: Take) -> None:
    before = take(sightings=HEAD + BAD)
    intake = take(
        corrections__one=correction(before, 0, BAD.replace("31/6/26", "32/6/26")),
        corrections__two=correction(before, 0, BAD.replace("31/6/26", "30/6/26")),
    )
    assert states(intake) == [RowState.REPLACED, RowState.REPLACED, RowState.USED]


def test_two_different_good_corrections_are_both_held(take: Take) -> None:
    before = take(sightings=HEAD + BAD)
    intake = take(
        corrections__one=correction(before, 0, BAD.replace("31/6/26", "29/6/26")),
        corrections__two=correction(before, 0, BAD.replace("31/6/26", "30/6/26")),
    )
    assert states(intake) == [RowState.REPLACED, RowState.HELD, RowState.HELD]
    assert set(intake.faults["code"]) >= {"correction-twice"}


def test_a_correction_saved_twice_counts_once(take: Take) -> None:
    before = take(sightings=HEAD + BAD)
    text = correction(before, 0, BAD.replace("31/6/26", "30/6/26"))
    intake = take(corrections__one=text, corrections__two=text)
    assert states(intake) == [RowState.REPLACED, RowState.USED, RowState.MERGED]


def test_a_correction_of_no_row_is_held(take: Take) -> None:
    before = take(sightings=HEAD + GOOD)
    intake = take(
        corrections="key,folder," + HEAD + "rabcabcabcabca,sightings," + GOOD.replace("Ann", "Eve")
    )
    assert len(before.ledger.rows) == 1
    assert states(intake) == [RowState.USED, RowState.HELD]
    assert intake.faults["code"].tolist() == ["correction-names-no-row"]


def test_a_correction_whose_row_was_mended_in_its_own_file_joins_it(take: Take) -> None:
    before = take(sightings=HEAD + BAD)
    mended = BAD.replace("31/6/26", "30/6/26")
    after = take(sightings=HEAD + mended, corrections=correction(before, 0, mended))
    assert states(after) == [RowState.USED, RowState.MERGED]


def test_corrections_lacking_their_key_columns_are_refused_aloud(take: Take) -> None:
    intake = take(sightings=HEAD + GOOD, corrections=HEAD + GOOD)
    assert states(intake) == [RowState.USED]
    assert [notice.code for notice in intake.notices] == ["corrections-without-key-column"]


@pytest.mark.parametrize("line", ["person,ann", "row,{key}", "address,"])
def test_forgetting(take: Take, tmp_path: Path, line: str) -> None:
    before = take(sightings=HEAD + GOOD + BAD)
    (tmp_path / "forget.csv").write_text(
        "forget,which\n" + line.format(key=key_of(before, 0)) + "\n"
    )
    expected = RowState.USED if line == "address," else RowState.FORGOTTEN
    after = take()
    assert states(after) == [expected, RowState.HELD]
    assert ("forget-line-unclear" in {notice.code for notice in after.notices}) == (
        line == "address,"
    )


def test_forgetting_one_of_several_watchers_takes_the_row(take: Take, tmp_path: Path) -> None:
    take(
        watches="date,start,end,streets,watchers\n3/6/26,20:30,22:00,Elm Row,Ann Poole & Bob Tarn\n"
    )
    (tmp_path / "forget.csv").write_text("forget,which\nperson,Bob Tarn\n")
    assert states(take()) == [RowState.FORGOTTEN]


def test_forgetting_an_address(take: Take, tmp_path: Path) -> None:
    take(boxes="box,street,house,easting,northing\nB1,Elm Row,12,650100,330100\n")
    (tmp_path / "forget.csv").write_text("forget,which\naddress,12 Elm Row\n")
    assert states(take()) == [RowState.FORGOTTEN]


@pytest.mark.parametrize("who", ["Bob", "Bib"])
def test_a_row_is_forgotten_with_its_corrections_and_a_correction_with_its_row(
    take: Take, tmp_path: Path, who: str
) -> None:
    # Bib was a slip of the pen for Bob, or a correction took Bob's name out: either way it is one
    # sighting, and what is left of it would still tell of him.
    bad = BAD.replace("Bob", "Bib")
    before = take(sightings=HEAD + bad + GOOD)
    mended = "3/6/26,21:40,650100,330100,swift,screaming party,6,Bob\n"
    (tmp_path / "forget.csv").write_text(f"forget,which\nperson,{who}\n")
    after = take(sightings=HEAD + bad + GOOD, corrections=correction(before, 0, mended))
    assert states(after) == [RowState.FORGOTTEN, RowState.USED, RowState.FORGOTTEN]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("person,Wilfred Oakapple", "No record names this person. So this line forgets nothing."),
        ("person,An Pool", "is in watches/a.csv, row 2, column watchers: if it is the same"),
        ("person,Ann Poole", None),
        ("person,BOB TARN", None),
        ("address,Elm Row 13", "Neither a record nor the address list has this address."),
        ("address,elm row 12", None),
        ("row,rbaaaaaaaaaaaa", "No row has this key."),
    ],
)
def test_a_line_that_forgets_nothing_is_told(
    take: Take, tmp_path: Path, line: str, told: str | None
) -> None:
    take(
        boxes="box,street,house,easting,northing\nB1,Elm Row,12,650100,330100\n",
        watches="date,start,end,streets,watchers\n"
        "3/6/26,20:30,22:00,Elm Row,Ann Poole & Bob Tarn\n",
    )
    (tmp_path / "forget.csv").write_text(f"forget,which\nperson,Ann Poole\n{line}\n")
    notices = [n for n in take().notices if n.code == "forget-line-without-effect"]
    assert [(notice.file, notice.row) for notice in notices] == (
        [("forget.csv", 3)] if told else []
    )
    for notice in notices:
        assert str(told) in str(notice)
        for name in ("Wilfred", "Pool", "Elm", "rbaa"):
            assert name not in str(notice)


@pytest.mark.parametrize(
    "text",
    [
        "forget;which\nperson;Ann\n",
        "Forget, Which \nperson,ann\n",
        "\n\nwhich\tnotes\tforget\nAnn\t\tPerson\n",
    ],
)
def test_a_list_of_forgetting_is_read_however_it_was_saved(
    take: Take, tmp_path: Path, text: str
) -> None:
    (tmp_path / "forget.csv").write_text(text)
    assert states(take(sightings=HEAD + GOOD)) == [RowState.FORGOTTEN]


def test_a_list_of_forgetting_without_headings_is_never_passed_over(
    take: Take, tmp_path: Path
) -> None:
    (tmp_path / "forget.csv").write_text("person,Wilfred Oakapple\n")
    with pytest.raises(InputError, match=r"forget-headings-missing") as caught:
        take(sightings=HEAD + GOOD)
    assert "Oakapple" not in str(caught.value)


def test_what_lies_in_no_folder_of_records_is_told(take: Take, tmp_path: Path) -> None:
    (tmp_path / "sigtings" / "june").mkdir(parents=True)
    (tmp_path / "sigtings" / "june" / "ann.csv").write_text(HEAD + GOOD)
    (tmp_path / "bob.csv").write_text(HEAD + BAD)
    (tmp_path / "forget.xlsx").write_bytes(b"")
    (tmp_path / "nothing yet").mkdir()
    (tmp_path / "map").mkdir()
    for name in ("town.toml", "COLUMNS.md", ".DS_Store", "~$bob.csv"):
        (tmp_path / name).write_text("")
    intake = take(sightings=HEAD + GOOD)
    assert [(notice.file, notice.code) for notice in intake.notices] == [
        ("bob.csv", "file-not-in-a-folder"),
        ("forget.xlsx", "file-not-in-a-folder"),
        ("sigtings/", "folder-not-read"),
    ]


@pytest.mark.parametrize(
    ("date", "time", "minutes"),
    [
        ("1/6/2026 21:45", "", 21 * 60 + 45),
        ("1 June 2026 at 9.45 pm", "", 21 * 60 + 45),
        ("2026-06-01T21:45:00", "", 21 * 60 + 45),
        ("1/6/2026 21:45", "20:10", 20 * 60 + 10),
        ("1/6/2026 00:00:00", "", None),  # a spreadsheet's day without a time
        ("2026-06-01T20:45:00Z", "", None),  # not the local clock
        ("Sat 3.06.26", "", None),
        ("1/6/2026", "", None),
    ],
)
def test_a_time_in_the_dates_cell_is_not_lost(
    take: Take, date: str, time: str, minutes: int | None
) -> None:
    intake = take(sightings=HEAD + f"{date},{time},650100,330100,swift,screaming party,6,Ann\n")
    assert states(intake) == [RowState.USED]
    (found,) = intake.tables["sightings"]["time"]
    assert pd.isna(found) if minutes is None else found == minutes
    noted = "time-from-date" in set(intake.repairs["code"])
    assert noted == (minutes is not None and not time)


def test_a_check_waits_with_the_row_of_its_box(take: Take) -> None:
    head = "box,easting,northing,fixed_on\n"
    checks = "box,date,seen\nB1,1/7/2024,swift\nB2,1/7/2024,empty\nB3,1/7/2024,empty\n"
    bad = "B1,650100,330100,31/2/2023\nB2,,,1/3/2023\nB3,650100,330100,1/3/2023\n"
    intake = take(boxes=head + bad, checks=checks)
    held = intake.faults[intake.faults["code"] == "box-held"]
    rows = intake.ledger.rows.loc[held["row_id"]]
    assert set(zip(rows["folder"], rows["row"], strict=True)) == {("checks", 2), ("checks", 3)}
    # A box that stands once with a good row is known by it.
    good = bad + "B1,650100,330100,1/3/2023\nB2,650200,330100,1/3/2023\n"
    intake = take(boxes=head + good, checks=checks)
    assert "box-held" not in set(intake.faults["code"])


def test_checks_need_their_box(take: Take) -> None:
    intake = take(
        boxes="box,easting,northing,fixed_on,removed_on\nB1,650100,330100,1/3/2024,1/10/2025\n",
        checks="box,date,seen\nb 1,1/7/2024,swift\nB9,1/7/2024,empty\n"
        "B1,1/7/2023,empty\nB1,1/7/2026,empty\n",
    )
    assert sorted(intake.faults["code"]) == [
        "box-unknown",
        "check-after-removal",
        "check-before-box",
    ]


def test_one_box_in_two_places_is_held_but_a_moved_one_is_not(take: Take) -> None:
    head = "box,easting,northing,fixed_on,removed_on\n"
    held = take(boxes=head + "B1,650100,330100,1/3/2024,\nB1,650900,330100,1/3/2025,\n")
    assert set(held.faults["code"]) == {"box-in-two-places"}
    moved = take(boxes=head + "B1,650100,330100,1/3/2024,1/2/2025\nB1,650900,330100,1/3/2025,\n")
    assert states(moved) == [RowState.USED, RowState.USED]


def test_a_site_may_take_its_place_from_another_row(take: Take) -> None:
    intake = take(
        nest_sites="site,easting,northing,species,season,status\n"
        "N1,650100,330100,swift,2025,in use\n"
        "n1,,,swift,2026,quiet\nN2,,,swift,2026,quiet\n"
    )
    assert states(intake) == [RowState.USED, RowState.USED, RowState.HELD]
    assert intake.faults["code"].tolist() == ["site-place-unknown"]


ROWS = st.sampled_from(
    [
        GOOD,
        BAD,
        GOOD.replace("Ann", "Bob"),
        GOOD.replace("3/6/26", "6/25/26"),
        "Total,,,,,,6,\n",
        HEAD,
        ",,,,,,,\n",
        "x\n",
        GOOD.replace("swift", "kestrel"),
        GOOD.rstrip() + ",extra\n",
    ]
)


@given(files=st.lists(st.lists(ROWS, max_size=8), min_size=1, max_size=4), seed=st.integers(0, 99))
@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_the_counts_sum_and_order_does_not_matter(
    tmp_path_factory: pytest.TempPathFactory, files: list[list[str]], seed: int
) -> None:
    def taken(contents: list[list[str]]) -> Intake:
        folder = tmp_path_factory.mktemp("town")
        (folder / "sightings").mkdir()
        for number, rows in enumerate(contents):
            (folder / "sightings" / f"{number}.csv").write_text(HEAD + "".join(rows))
        return take_in(folder, locator=locate_metres, today=TODAY)

    first = taken(files)
    lines = sum(1 for rows in files for row in rows if row.strip(",\n"))
    assert len(first.ledger.rows) == lines
    assert sum(first.ledger.counts().values()) == lines
    shuffler = random.Random(seed)
    turned = [shuffler.sample(rows, len(rows)) for rows in shuffler.sample(files, len(files))]
    second = taken(turned)
    assert second.ledger.counts() == first.ledger.counts()
    assert sorted(second.tables["sightings"]["key"]) == sorted(first.tables["sightings"]["key"])


def test_only_used_rows_can_be_merged(take: Take) -> None:
    intake = take(sightings=HEAD + GOOD + BAD)
    with pytest.raises(ValueError, match="only used rows"):
        intake.ledger.merge({1: 0})
    assert intake.ledger.merge({0: 1}).counts()[RowState.MERGED] == 1
    assert intake.ledger.counts()[RowState.MERGED] == 0


def test_an_empty_folder_is_no_fault(tmp_path: Path) -> None:
    intake = take_in(tmp_path, locator=locate_metres, today=TODAY)
    assert sum(intake.ledger.counts().values()) == 0
    assert set(intake.tables) >= {"sightings", "boxes"}


def test_leftover_files_are_passed_over_and_strange_ones_named(tmp_path: Path) -> None:
    folder = tmp_path / "sightings"
    folder.mkdir()
    (folder / "~$ann.xlsx").write_bytes(b"x")
    (folder / ".DS_Store").write_bytes(b"x")
    (folder / "photo.jpg").write_bytes(b"x")
    intake = take_in(tmp_path, locator=locate_metres, today=TODAY)
    assert [notice.code for notice in intake.notices] == ["file-of-another-kind"]


def test_a_correction_without_a_key_is_held(take: Take) -> None:
    intake = take(corrections="key,folder," + HEAD + ",sightings," + GOOD)
    assert states(intake) == [RowState.HELD]
    assert intake.faults["code"].tolist() == ["correction-without-key"]


def test_a_ledger_shows_no_cells(take: Take) -> None:
    intake = take(sightings=HEAD + GOOD)
    assert repr(intake.ledger) == "<Ledger of 1 rows>"
    assert repr(intake) == "<Intake of 1 rows>"


@pytest.mark.parametrize(
    ("cell", "cause"),
    [
        ("New roof", "re-roofed"),
        ("uPVC soffits", "eaves closed"),
        ("spikes", "netting"),
        ("n/k", "unknown"),
        ("", None),
    ],
)
def test_the_cause_of_a_loss_is_read_in_peoples_own_words(
    take: Take, cell: str, cause: str | None
) -> None:
    head = "easting,northing,species,season,status,why lost\n"
    intake = take(nest_sites=head + f"650100,330100,swift,2025,lost,{cell}\n")
    assert states(intake) == [RowState.USED]
    read = intake.tables["nest_sites"]["lost_cause"].astype(object).where(lambda s: s.notna(), None)
    assert read.tolist() == [cause]


def test_a_cause_nobody_knows_is_held_with_what_to_write(take: Take) -> None:
    head = "easting,northing,species,season,status,why lost\n"
    intake = take(nest_sites=head + "650100,330100,swift,2025,lost,took umbrage\n")
    assert states(intake) == [RowState.HELD]
    assert intake.faults[["column", "code"]].to_numpy().tolist() == [
        ["lost_cause", "lost-cause-unknown"]
    ]
