"""Files as they arrive."""

from __future__ import annotations

import csv
import datetime as dt
import io
import zipfile
from pathlib import Path

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from eaveline.private.intake.raw import RawFile
from eaveline.private.intake.read import read_file
from eaveline.private.intake.workbook_grids import cell_text

TABLE = "Date,Grid Ref,Bird,What,Who\n3/6/26,TG 501 301,swift,screaming,Zoë\n4/6/26,TG 502 302,swift,low,Bob\n"


def read(
    tmp_path: Path, data: bytes | str, *, name: str = "a.csv", folder: str = "sightings"
) -> RawFile:
    path = tmp_path / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    (raw,) = read_file(path, folder=folder, name=f"{folder}/{name}")
    return raw


def cells(raw: RawFile, column: str) -> list[str | None]:
    found = raw.cells[column]
    return [None if code < 0 else str(found.categories[code]) for code in found.codes.tolist()]


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"]
)
@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_encodings_separators_and_line_ends(
    tmp_path: Path, encoding: str, separator: str, line_end: str
) -> None:
    text = TABLE.replace(",", separator).replace("\n", line_end)
    raw = read(tmp_path, text.encode(encoding))
    assert cells(raw, "seen_by") == ["Zoë", "Bob"]
    assert cells(raw, "grid_ref") == ["TG 501 301", "TG 502 302"]
    assert raw.rows.tolist() == [2, 3]
    assert raw.notices == ()


def test_rows_are_numbered_as_a_spreadsheet_shows_them(tmp_path: Path) -> None:
    text = "Ann's list\n\nDate,Bird,What\n3/6/26,swift,low\n,,\n4/6/26,swift,high\n"
    assert read(tmp_path, text).rows.tolist() == [4, 6]


@pytest.mark.parametrize("blank", [",,", " ,\u00a0,", '"",,""'])
@pytest.mark.parametrize("end", ["", "\n"])
def test_a_line_of_blank_cells_is_no_record_wherever_it_stands(
    tmp_path: Path, blank: str, end: str
) -> None:
    # Spreadsheets write such lines below the last record, often without a line end.
    last = f"Date,Bird,What\n3/6/26,swift,low\n{blank}{end}"
    assert read(tmp_path, last).rows.tolist() == [2]
    between = f"Date,Bird,What\n3/6/26,swift,low\n{blank}\n4/6/26,swift,high{end}"
    assert read(tmp_path, between).rows.tolist() == [2, 4]


@pytest.mark.parametrize(
    "text",
    [
        "x" * 200_000,  # the csv module's own limit is 131,072 letters
        f"{'x' * 200_000},Bird,What\n3/6/26,swift,low\n",
        f'Date,Bird,What\n3/6/26,"swift,low\n{"4/6/26,swift,high" * 700_000}\n',
    ],
    ids=["a line", "a heading", "a quotation mark that nobody closed"],
)
def test_a_cell_of_any_length_is_told_and_stops_nothing(tmp_path: Path, text: str) -> None:
    before = csv.field_size_limit(131_072)
    try:
        assert read(tmp_path, text).notices
    finally:
        csv.field_size_limit(before)


def test_a_quoted_line_break_stays_in_its_cell(tmp_path: Path) -> None:
    text = 'Date,Bird,What,Notes\n3/6/26,swift,low,"one\ntwo, three"\n4/6/26,swift,low,x\n'
    raw = read(tmp_path, text)
    assert cells(raw, "notes") == ["one\ntwo, three", "x"]
    assert raw.rows.tolist() == [2, 3]


def test_a_stray_quotation_mark_does_not_swallow_the_file(tmp_path: Path) -> None:
    lines = [
        f'{day}/6/26,swift,low,"The Old Forge' if day == 3 else f"{day}/6/26,swift,low,x"
        for day in range(1, 31)
    ]
    raw = read(tmp_path, "Date,Bird,What,Where\n" + "\n".join(lines) + "\n")
    assert len(raw) == 30
    assert [notice.code for notice in raw.notices] == ["quote-unclosed"]


def test_ragged_rows(tmp_path: Path) -> None:
    raw = read(
        tmp_path, "Date,Bird,What\n3/6/26,swift\n4/6/26,swift,low,,\n5/6/26,swift,low,oops\n"
    )
    assert cells(raw, "behaviour") == [None, "low", "low"]
    assert raw.too_long.tolist() == [False, False, True]


def test_the_fast_way_and_the_patient_way_agree(tmp_path: Path) -> None:
    patient = read(tmp_path, TABLE.replace("\n", "\r"), name="b.csv")
    fast = read(tmp_path, TABLE, name="a.csv")
    for column in fast.cells:
        assert cells(fast, column) == cells(patient, column)
    assert fast.rows.tolist() == patient.rows.tolist()


def test_headings_go_by_meaning_not_spelling_or_order(tmp_path: Path) -> None:
    raw = read(
        tmp_path,
        "WHO?;no. seen ;  Grid-Ref;BEHAVIOUR;bird;date seen\nAnn;6;TG 501 301;low;swift;3/6/26\n",
    )
    assert set(raw.cells) == {"seen_by", "birds", "grid_ref", "behaviour", "species", "date"}


def test_an_unknown_heading_is_kept_and_the_nearest_named(tmp_path: Path) -> None:
    raw = read(tmp_path, "Date,Bird,What,Road,Behaviours,Moon\n3/6/26,swift,low,Elm,x,full\n")
    assert cells(raw, "? Moon") == ["full"]
    assert [notice.code for notice in raw.notices] == ["column-unknown", "column-unknown"]
    assert "behaviour" in raw.notices[0].what
    assert "full" not in " ".join(notice.what for notice in raw.notices)


def test_of_two_columns_with_one_meaning_the_canonical_name_wins(tmp_path: Path) -> None:
    raw = read(tmp_path, "Date,Bird,What,Road,street\n3/6/26,swift,low,Elm,Oak\n")
    assert cells(raw, "street") == ["Oak"]
    assert cells(raw, "? Road") == ["Elm"]
    assert [notice.code for notice in raw.notices] == ["column-twice"]


def test_a_bare_number_is_birds_unless_it_may_be_a_house(tmp_path: Path) -> None:
    birds = read(tmp_path, "Date,Grid Ref,Bird,What,Number\n3/6/26,TG 501 301,swift,low,6\n")
    assert cells(birds, "birds") == ["6"]
    unclear = read(tmp_path, "Date,Street,Bird,What,Number\n3/6/26,Elm Row,swift,low,6\n")
    assert "house" not in unclear.cells
    assert "birds" not in unclear.cells
    assert [notice.code for notice in unclear.notices] == ["column-ambiguous"]
    house = read(tmp_path, "Date,Street,Number,Bird,What,Count\n3/6/26,Elm Row,12,swift,low,6\n")
    assert cells(house, "house") == ["12"]


def locked_ods() -> bytes:
    """Return what of an encrypted OpenDocument file tells that it is one."""
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as archive:
        archive.writestr("META-INF/manifest.xml", "<manifest:encryption-data/>")
    return data.getvalue()


@pytest.mark.parametrize(
    ("data", "name", "code"),
    [
        (b"", "a.csv", "file-empty"),
        (b"\xef\xbb\xbf\n", "a.csv", "file-empty"),
        (b"PK\x03\x04rubbish", "a.csv", "file-is-a-workbook"),
        (b"not a workbook", "a.xlsx", "file-unreadable"),
        (b"", "a.xlsx", "file-empty"),
        (b"\xd0\xcf\x11\xe0" + "EncryptedPackage".encode("utf-16-le"), "a.xlsx", "file-locked"),
        (locked_ods(), "a.ods", "file-locked"),
        (b"one,two\n1,2\n", "a.csv", "headings-not-found"),
        (bytes(range(256)) * 4, "a.csv", "headings-not-found"),
    ],
)
def test_a_file_that_cannot_be_used_says_why(
    tmp_path: Path, data: bytes, name: str, code: str
) -> None:
    raw = read(tmp_path, data, name=name)
    assert len(raw) == 0
    assert raw.notices[-1].code == code
    assert raw.notices[-1].file == f"sightings/{name}"


def test_workbooks_are_read_as_a_person_would_type_them(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["Ann's swifts"])
    sheet.append(["Date", "Time", "Bird", "What", "No. seen", "Calls on"])
    sheet.append([dt.date(2026, 6, 3), dt.time(21, 40), "swift", "screaming", 6, True])
    sheet.append([None])
    sheet.append(["4/6/26", 0.9027, "swift", "low", 2.0, None])
    second = book.create_sheet("more")
    second.append(["Date", "Bird", "What"])
    second.append(["5/6/26", "swift", "low"])
    path = tmp_path / "a.xlsx"
    book.save(path)
    first, other = read_file(path, folder="sightings", name="sightings/a.xlsx")
    assert first.name == "sightings/a.xlsx [Sheet]"
    assert cells(first, "date") == ["2026-06-03", "4/6/26"]
    assert cells(first, "time") == ["21:40", "0.9027"]
    assert cells(first, "birds") == ["6", "2"]
    assert cells(first, "calls_playing") == ["yes", None]
    assert first.rows.tolist() == [3, 5]
    assert other.rows.tolist() == [2]


def test_cell_text() -> None:
    assert cell_text(dt.datetime(1899, 12, 31, 21, 40)) == "21:40"  # noqa: DTZ001 - a bare time in a workbook
    assert cell_text(dt.timedelta(hours=21, minutes=40)) == "21:40"
    assert cell_text(2.5) == "2.5"
    assert cell_text(None) == ""


def test_no_cell_shows_in_a_files_own_text(tmp_path: Path) -> None:
    assert repr(read(tmp_path, TABLE)) == "<RawFile of 2 rows>"


@given(data=st.binary(max_size=400))
@settings(
    max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None
)
def test_no_bytes_upset_the_reader(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "x.csv"
    path.write_bytes(data)
    for raw in read_file(path, folder="sightings", name="sightings/x.csv"):
        assert len(raw) == 0 or raw.cells


@given(
    rows=st.lists(
        st.lists(
            st.text(
                st.characters(codec="utf-8", exclude_characters="\x00\r\n\"',;\t"),
                min_size=1,
                max_size=8,
            ),
            min_size=3,
            max_size=3,
        ),
        max_size=12,
    )
)
@settings(
    max_examples=80, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None
)
def test_every_line_with_a_filled_cell_is_a_row(tmp_path: Path, rows: list[list[str]]) -> None:
    text = "Date,Bird,What\n" + "".join(",".join(row) + "\n" for row in rows)
    raw = read(tmp_path, text, name="h.csv")
    filled = [
        row
        for row in rows
        if any(cell_text(cell).strip(" \t\v\f\u00a0\u2007\u202f\u200b\ufeff") for cell in row)
    ]
    assert len(raw) <= len(rows)
    assert len(raw) >= len([row for row in filled if any(c.strip() for c in row)])
