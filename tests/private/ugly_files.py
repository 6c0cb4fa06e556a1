"""Files as volunteers really send them, each with what must become of it.

All are made here by code, for the little town of `small_town`. Every file states the fate
of each of its rows and all that has to be said about it, so that no fault goes unnamed and
no repair is made in silence.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from xml.sax.saxutils import escape

import openpyxl
import openpyxl.styles

SIGHTING = {
    "date": "3/6/2026",
    "time": "21:40",
    "grid_ref": "TG 5005 4020",
    "species": "swift",
    "behaviour": "screaming party",
    "birds": "6",
    "seen_by": "Ann Poole",
}
NEST = {
    "site": "A21",
    "street": "Albert Road",
    "house": "21",
    "species": "swift",
    "season": "2026",
    "status": "in use",
    "share": "",
}
BOX = {
    "box": "B1",
    "street": "Mill Lane",
    "house": "4",
    "fixed_on": "1/3/2024",
    "height_m": "5",
    "facing": "N",
    "entrance_mm": "28",
    "cost": "20",
}
WATCH = {
    "date": "20/6/2026",
    "start": "20:30",
    "end": "22:00",
    "streets": "Albert Road",
    "weather": "dry",
    "wind_bft": "2",
    "temp_c": "17",
}
RECORDS = {"sightings": SIGHTING, "nest_sites": NEST, "boxes": BOX, "watches": WATCH}
GOOD = ",".join(SIGHTING.values())
OTHER = "4/6/2026,21:50,TG 5025 4030,swift,low over roofs,2,Bob Tarn"
HEADINGS = ",".join(SIGHTING)
TABLE = f"{HEADINGS}\n{GOOD}\n{OTHER}\n"


@dataclass(frozen=True)
class Ugly:
    """One file and its outcome.

    Attributes
    ----------
    title
        What is ugly about it.
    path
        Its name below survey_data/.
    data
        Its bytes.
    states
        A letter for each row in order: u used, m merged into another, h held.
    codes, repairs, notices
        Every code of a fault, a repair and a notice, each once.
    values
        Of the first row: column and value, as typed.
    """

    title: str
    path: str
    data: bytes
    states: str
    codes: frozenset[str] = frozenset()
    repairs: frozenset[str] = frozenset()
    notices: frozenset[str] = frozenset()
    values: Mapping[str, object] = field(default_factory=dict)


def ugly(
    title: str,
    data: bytes | str,
    states: str = "uu",
    *,
    path: str = "sightings/a.csv",
    codes: Iterable[str] = (),
    repairs: Iterable[str] = (),
    notices: Iterable[str] = (),
    **values: object,
) -> Ugly:
    """Return a file; text is UTF-8."""
    raw = data.encode() if isinstance(data, str) else data
    return Ugly(
        title,
        path,
        raw,
        states,
        frozenset(codes),
        frozenset(repairs),
        frozenset(notices),
        values,
    )


def cell(
    folder: str,
    column: str,
    text: str,
    *,
    code: str | None = None,
    repair: str | None = None,
    value: object = None,
    **others: str,
) -> Ugly:
    """Return a file of one good row but for one cell (and `others`)."""
    record = RECORDS[folder] | {column: text} | others
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerows([record.keys(), record.values()])
    found: Any = {} if value is None else {column: value}
    return ugly(
        f"{folder}, {column}: {text}",
        out.getvalue(),
        "h" if code else "u",
        path=f"{folder}/a.csv",
        codes=[code] if code else [],
        repairs=[repair] if repair else [],
        **found,
    )


def place(
    *,
    code: str | None = None,
    repair: str | None = None,
    at: tuple[float, float] | None = None,
    **cells: str,
) -> Ugly:
    """Return a file of one sighting with these place cells and no other place."""
    record = {name: text for name, text in SIGHTING.items() if name != "grid_ref"} | cells
    out = io.StringIO(newline="")
    csv.writer(out).writerows([record.keys(), record.values()])
    found: Any = {"easting": at[0], "northing": at[1]} if at else {}
    return ugly(
        f"place: {cells}",
        out.getvalue(),
        "h" if code else "u",
        codes=[code] if code else [],
        repairs=[repair] if repair else [],
        **found,
    )


# ------------------------------------------------------------------------ bytes and layouts

Rows = Sequence[Sequence[object]]


def workbook(*sheets: tuple[str, Rows], merged: Iterable[str] = ()) -> bytes:
    """Return an .xlsx with these sheets; `merged` are ranges of the first."""
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for name, rows in sheets:
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(list(row))
    for cells in merged:
        book.worksheets[0].merge_cells(cells)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def open_document(rows: Rows) -> bytes:
    """Return an .ods with one sheet, as the OpenDocument standard (ISO/IEC 26300) asks."""

    def typed(value: object) -> str:
        match value:
            case dt.date():
                return f'office:value-type="date" office:date-value="{value.isoformat()}"'
            case dt.time():
                return (
                    f'office:value-type="time" office:time-value="PT{value.hour}H{value.minute}M0S"'
                )
            case int() | float():
                return f'office:value-type="float" office:value="{value}"'
            case _:
                return 'office:value-type="string"'

    body = "".join(
        "<table:table-row>"
        + "".join(
            "<table:table-cell/>"
            if value is None
            else f"<table:table-cell {typed(value)}><text:p>{escape(str(value))}</text:p></table:table-cell>"
            for value in row
        )
        + "</table:table-row>"
        for row in rows
    )
    spaces = " ".join(
        f'xmlns:{short}="urn:oasis:names:tc:opendocument:xmlns:{short}:1.0"'
        for short in ("office", "table", "text")
    )
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content {spaces} '
        'office:version="1.2"><office:body><office:spreadsheet><table:table table:name="Sheet1">'
        f"{body}</table:table></office:spreadsheet></office:body></office:document-content>"
    )
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    manifest = (
        '<?xml version="1.0" encoding="UTF-8"?><manifest:manifest '
        'xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0" '
        f'manifest:version="1.2"><manifest:file-entry manifest:full-path="/" '
        f'manifest:media-type="{kind}"/><manifest:file-entry manifest:full-path="content.xml" '
        'manifest:media-type="text/xml"/></manifest:manifest>'
    )
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("mimetype", kind)
        archive.writestr("META-INF/manifest.xml", manifest)
        archive.writestr("content.xml", content)
    return out.getvalue()


def with_separator(mark: str) -> str:
    """Return the table with another separator."""
    return TABLE.replace(",", mark)


SHEET: Rows = [
    list(SIGHTING),
    [dt.date(2026, 6, 3), dt.time(21, 40), *list(SIGHTING.values())[2:5], 6, "Ann Poole"],
    [
        dt.date(2026, 6, 4),
        dt.time(21, 50),
        "TG 5025 4030",
        "swift",
        "low over roofs",
        2,
        "Bob Tarn",
    ],
]
DAY = dt.date(2026, 6, 3)
BYTES = (
    ugly("tidy", TABLE, date=DAY, time=1300.0, birds=6.0, easting=650_055.0, northing=340_205.0),
    ugly("byte-order mark", TABLE.encode("utf-8-sig"), date=DAY),
    ugly("UTF-16", TABLE.encode("utf-16"), date=DAY),
    ugly("UTF-16 little end first, no mark", TABLE.encode("utf-16-le"), date=DAY),
    ugly("UTF-16 big end first, no mark", TABLE.encode("utf-16-be"), date=DAY),
    ugly("Windows-1252", TABLE.replace("Ann", "Zoë").encode("cp1252"), seen_by="Zoë Poole"),
    ugly(
        "letters of no encoding",
        TABLE.encode().replace(b"Ann", b"A\x81n"),
        notices=["letters-unreadable"],
    ),
    ugly("semicolons", with_separator(";"), date=DAY),
    ugly("tabs", with_separator("\t"), date=DAY),
    ugly("upright bars", with_separator("|"), date=DAY),
    ugly("tabs in a .tsv", with_separator("\t"), path="sightings/a.tsv", date=DAY),
    ugly("semicolons in a .txt", with_separator(";"), path="sightings/a.txt", date=DAY),
    ugly("a spreadsheet's own separator line", "sep=;\n" + with_separator(";"), date=DAY),
    ugly("carriage returns alone", TABLE.replace("\n", "\r"), date=DAY),
    ugly("carriage returns with line feeds", TABLE.replace("\n", "\r\n"), date=DAY),
    ugly("mixed line ends", TABLE.replace("\n", "\r\n", 1), date=DAY),
    ugly("no line end at the end", TABLE.rstrip("\n"), date=DAY),
    ugly("zero bytes between", TABLE.replace("swift", "swi\x00ft", 1), species="swift"),
    ugly(
        "every cell quoted", '"' + TABLE.strip().replace(",", '","').replace("\n", '"\n"') + '"\n'
    ),
    ugly("spaces round every cell", TABLE.replace(",", " , "), species="swift"),
    ugly("hard spaces round a cell", TABLE.replace("swift", "\u00a0swift\u202f"), species="swift"),
    ugly(
        "a line break in a cell",
        TABLE.replace("Ann Poole", '"Ann\nPoole"'),
        seen_by="Ann\nPoole",
    ),
    ugly(
        "a line break in a heading",
        TABLE.replace("grid_ref", '"Grid\nref"'),
        easting=650_055.0,
    ),
    ugly(
        "a quotation mark never closed",
        f"{HEADINGS}\n" + f"{GOOD}\n".replace("Ann", '"Ann') + f"{OTHER}\n" * 25,
        "uu" + "m" * 24,
        notices=["quote-unclosed"],
    ),
    ugly("blank lines", TABLE.replace("\n", "\n\n"), date=DAY),
    ugly("lines of separators", TABLE.replace("\n", "\n,,,,,,\n"), date=DAY),
    ugly("empty columns behind", TABLE.replace("\n", ",,,\n"), date=DAY),
    ugly("an empty column in front", "," + TABLE.strip().replace("\n", "\n,") + "\n", date=DAY),
    ugly(
        "a row cut short",
        f"{HEADINGS}\n3/6/2026,21:40,TG 5005 4020,swift\n",
        "h",
        codes=["cell-missing"],
    ),
    ugly(
        "cells beyond the headings",
        f"{HEADINGS}\n{GOOD},oops\n{OTHER}\n",
        "hu",
        codes=["row-too-long"],
    ),
    ugly("a title above", "Little Ottersley swifts\n" + TABLE, date=DAY),
    ugly(
        "a title, notes and a gap above",
        "Our records,,,\nKept by Ann,,,\n\n" + TABLE,
        date=DAY,
    ),
    ugly("group titles above the headings", "When,,Where,What,,,\n" + TABLE, date=DAY),
    ugly(
        "headings over two rows",
        f"Date,Time,Grid,Kind of,What,No.,Seen\n,,reference,bird,doing,seen,by\n{GOOD}\n{OTHER}\n",
        date=DAY,
        birds=6.0,
        seen_by="Ann Poole",
    ),
    ugly(
        "a row of units below the headings",
        f"{HEADINGS}\ndd/mm/yyyy,24h,,,,number,initials\n{GOOD}\n",
        "hu",
        codes=["line-not-a-record"],
    ),
    ugly("totals below", TABLE + "Total,,,,,8,\n", "uuh", codes=["line-not-a-record"]),
    ugly(
        "a grand total in the middle",
        TABLE + ",,,Grand total,,8,\n",
        "uuh",
        codes=["line-not-a-record"],
    ),
    ugly(
        "a note below",
        TABLE + "Thanks to all who helped this year\n",
        "uuh",
        codes=["line-not-a-record"],
    ),
    ugly(
        "headings again half-way",
        f"{HEADINGS}\n{GOOD}\n{HEADINGS}\n{OTHER}\n",
        "uhu",
        codes=["line-not-a-record"],
    ),
    ugly("the same row twice", f"{HEADINGS}\n{GOOD}\n{GOOD}\n", "um"),
    ugly("the same row in capitals", f"{HEADINGS}\n{GOOD}\n{GOOD.upper()}\n", "um"),
    ugly("an empty file", "", "", notices=["file-empty"]),
    ugly("nothing but separators", ",,,\n,,,\n", "", notices=["file-empty"]),
    ugly("headings and no rows", HEADINGS + "\n", ""),
    ugly("rows and no headings", f"{GOOD}\n{OTHER}\n", "", notices=["headings-not-found"]),
    ugly("a letter", "Dear Ann,\nI saw swifts again.\nBob\n", "", notices=["headings-not-found"]),
    ugly("JSON", '[{"date": "3/6/2026"}]', "", notices=["headings-not-found"]),
    ugly(
        "a picture called .csv",
        b"\x89PNG\r\n\x1a\n" + bytes(range(256)),
        "",
        notices=["headings-not-found", "letters-unreadable"],
    ),
    ugly(
        "a photograph",
        b"\xff\xd8\xff\xe0",
        "",
        path="sightings/a.jpg",
        notices=["file-of-another-kind"],
    ),
    ugly("a workbook called .csv", workbook(("A", SHEET)), "", notices=["file-is-a-workbook"]),
    ugly(
        "an old workbook called .csv",
        b"\xd0\xcf\x11\xe0" + bytes(600),
        "",
        notices=["file-is-a-workbook"],
    ),
    ugly("a CSV called .xlsx", TABLE, "", path="sightings/a.xlsx", notices=["file-unreadable"]),
    ugly(
        "a web page called .xls",
        "<table><tr><td>date</td></tr></table>",
        "",
        path="sightings/a.xls",
        notices=["file-unreadable"],
    ),
    ugly(
        "half a workbook",
        workbook(("A", SHEET))[:900],
        "",
        path="sightings/a.xlsx",
        notices=["file-unreadable"],
    ),
    ugly(
        "an archive called .ods",
        b"PK\x03\x04" + bytes(60),
        "",
        path="sightings/a.ods",
        notices=["file-unreadable"],
    ),
)
BOOKS = (
    ugly(
        "a workbook",
        workbook(("A", SHEET)),
        path="sightings/a.xlsx",
        date=DAY,
        time=1300.0,
        birds=6.0,
    ),
    ugly(
        "an open document",
        open_document(SHEET),
        path="sightings/a.ods",
        date=DAY,
        time=1300.0,
        birds=6.0,
    ),
    ugly(
        "an open document with a title",
        open_document([["Swifts"], [None], *SHEET]),
        path="sightings/a.ods",
        date=DAY,
    ),
    ugly(
        "a merged title over a workbook",
        workbook(("A", [["Swifts of 2026"], [], *SHEET]), merged=["A1:G1"]),
        path="sightings/a.xlsx",
        date=DAY,
    ),
    ugly(
        "merged group titles over a workbook",
        workbook(
            ("A", [["When", None, "Where", "What", None, None, "Who"], *SHEET]),
            merged=["A1:B1", "D1:F1"],
        ),
        path="sightings/a.xlsx",
        date=DAY,
    ),
    ugly(
        "dates as serial numbers",
        workbook(("A", [SHEET[0], [46176, *SHEET[1][1:]]])),
        "u",
        path="sightings/a.xlsx",
        date=DAY,
    ),
    ugly(
        "dates with midnight",
        workbook(("A", [SHEET[0], [dt.datetime(2026, 6, 3), *SHEET[1][1:]]])),  # noqa: DTZ001 - cells have no zone
        "u",
        path="sightings/a.xlsx",
        date=DAY,
    ),
    ugly(
        "times as parts of a day",
        workbook(("A", [SHEET[0], [SHEET[1][0], 0.9027778, *SHEET[1][2:]]])),
        "u",
        path="sightings/a.xlsx",
        time=1300.0,
    ),
    ugly(
        "counts as decimals",
        workbook(("A", [SHEET[0], [*SHEET[1][:5], 6.0, "Ann"]])),
        "u",
        path="sightings/a.xlsx",
        birds=6.0,
    ),
    ugly(
        "a tick as true",
        workbook(("A", [[*SHEET[0], "calls"], [*SHEET[1], True]])),
        "u",
        path="sightings/a.xlsx",
        calls_playing="yes",
    ),
    ugly(
        "rows on several sheets",
        workbook(("2025", SHEET[:2]), ("2026", [SHEET[0], SHEET[2]])),
        path="sightings/a.xlsx",
        date=DAY,
    ),
    ugly(
        "a sheet of notes beside the records",
        workbook(("Records", SHEET), ("Notes", [["Ring Ann"]])),
        path="sightings/a.xlsx",
        date=DAY,
        notices=["headings-not-found"],
    ),
    ugly(
        "an empty sheet beside the records",
        workbook(("Records", SHEET), ("Sheet2", [])),
        path="sightings/a.xlsx",
        date=DAY,
    ),
    ugly(
        "the table not in the corner",
        workbook(("A", [[], [], *([None, None, *row] for row in SHEET)])),
        path="sightings/a.xlsx",
        date=DAY,
    ),
    ugly(
        "an empty workbook",
        workbook(("A", [])),
        "",
        path="sightings/a.xlsx",
        notices=["file-empty"],
    ),
    ugly(
        "a failed formula",
        workbook(("A", [SHEET[0], [*SHEET[1][:5], "#REF!", "Ann"]])),
        "u",
        path="sightings/a.xlsx",
        notices=["formula-failed"],
    ),
    ugly(
        "a workbook with a totals row",
        workbook(("A", [*SHEET, ["Total", None, None, None, None, 8]])),
        "uuh",
        path="sightings/a.xlsx",
        codes=["line-not-a-record"],
    ),
)

HABITS = "Day,At,Where,Bird,What doing,No. seen,Who"
HABITS_ROW = "3/6/26,9.40pm,21 Albert Rd,Swifts,Screaming,about 6,Ann"
FORM = (
    "Timestamp,What date did you see them?,What time was it? (24 hour clock),"
    "Where did you see them?,Which species?,What were they doing?,"
    "How many birds did you see?,Your name"
)
FORM_ROW = "03/06/2026 22:01:17,03/06/2026,21:40,21 Albert Road,Swift,Screaming party,6,Ann Poole"
HEADING_FILES = (
    ugly(
        "headings of habit",
        f"{HABITS}\n{HABITS_ROW}\n",
        "u",
        repairs=["count-estimate-taken"],
        time=1300.0,
        birds=6.0,
    ),
    ugly("headings in capitals", TABLE.replace(HEADINGS, HEADINGS.upper()), date=DAY),
    ugly(
        "headings with colons", TABLE.replace(HEADINGS, HEADINGS.replace(",", ":,") + ":"), date=DAY
    ),
    ugly(
        "headings with remarks in brackets",
        TABLE.replace("grid_ref", "Grid reference (if you know it)"),
        easting=650_055.0,
    ),
    ugly(
        "a web form's questions",
        f"{FORM}\n{FORM_ROW}\n",
        "u",
        notices=["column-unknown"],
        date=DAY,
        time=1300.0,
        birds=6.0,
    ),
    ugly(
        "columns in another order",
        f"{','.join(reversed(SIGHTING))}\n{','.join(reversed(SIGHTING.values()))}\n",
        "u",
        date=DAY,
    ),
    ugly(
        "a column nobody knows",
        TABLE.replace("seen_by", "seen_by,moon")
        .replace("Poole", "Poole,full")
        .replace("Tarn", "Tarn,new"),
        notices=["column-unknown"],
    ),
    ugly(
        "two columns of one meaning",
        TABLE.replace("seen_by", "seen_by,observer")
        .replace("Poole", "Poole,AP")
        .replace("Tarn", "Tarn,BT"),
        notices=["column-twice"],
        seen_by="Ann Poole",
    ),
    ugly(
        "a bare Number beside a street",
        "date,street,number,species,behaviour\n3/6/2026,Albert Road,6,swift,low\n",
        "u",
        notices=["column-ambiguous"],
    ),
    ugly(
        "a bare Number without a street",
        "date,grid ref,number,species,behaviour\n3/6/2026,TG 5005 4020,6,swift,low\n",
        "u",
        birds=6.0,
    ),
    ugly(
        "no column for the species",
        "date,grid ref,what doing\n3/6/2026,TG 5005 4020,low\n",
        "h",
        codes=["cell-missing"],
        notices=["columns-missing"],
    ),
    ugly(
        "no column for a place",
        "date,bird,what doing\n3/6/2026,swift,low\n",
        "h",
        codes=["place-missing"],
        notices=["columns-missing"],
    ),
    ugly(
        "headings of a private tongue",
        "fecha,hora,lugar\n3/6/2026,21:40,TG 5005 4020\n",
        "",
        notices=["headings-not-found"],
    ),
)

# ----------------------------------------------------------------------------------- cells


def dates() -> Iterable[Ugly]:
    """Every British habit of writing 3 June 2026, then what is no date."""
    for text in (
        "03/06/2026",
        "3/6/26",
        "3.6.26",
        "3-6-2026",
        "3 / 6 / 2026",
        "3 June 2026",
        "3rd June 2026",
        "3 Jun 26",
        "3-Jun-26",
        "Wed 3 June 2026",
        "Wednesday, 3rd June 2026",
        "June 3rd 2026",
        "June 3, 2026",
        "2026-06-03",
        "2026/06/03",
        "20260603",
        "46176",
        "2026-06-03T21:40:00",
        "2026-06-03 21:40:00+01:00",
        "03/06/2026 21:40",
        "3 JUNE '26",
        "3rd of June 2026",
    ):
        yield cell("sightings", "date", text, value=DAY)
    for text in ("3 juen 2026", "3 Jnue 2026"):
        yield cell("sightings", "date", text, value=DAY, repair="date-month-spelling")
    for text, code in {
        "6/25/2026": "date-month-first",
        "31/6/2026": "date-impossible",
        "29/2/2026": "date-impossible",
        "3/6": "date-without-year",
        "3 June": "date-without-year",
        "June 2026": "date-without-day",
        "early June 2026": "date-without-day",
        "06/2026": "date-without-day",
        "last Tuesday": "date-unreadable",
        "3/6/226": "date-unreadable",
        "3/6/1826": "date-too-old",
        "3/6/2062": "date-in-future",
        "3/1/2026": "date-out-of-season",
        "": "cell-missing",
    }.items():
        found = cell("sightings", "date", text, code=code)
        month_first = ["file-may-be-month-first"] if code == "date-month-first" else []
        yield ugly(found.title, found.data, "h", codes=found.codes, notices=month_first)


def times() -> Iterable[Ugly]:
    """Twenty to ten in the evening, then what is no time."""
    for text in (
        "21:40",
        "21.40",
        "2140",
        "21h40",
        "21:40:00",
        "9.40pm",
        "9:40 PM",
        "9.40 p.m.",
        "0940pm",
        "21;40",
        "21:40 BST",
        "2140hrs",
        "21:40 hrs",
        "0.9027778",
    ):
        yield cell("sightings", "time", text, value=1300.0)
    for text in ("c. 21:40", "about 9.40pm", "approx 2140", "~21:40"):
        yield cell("sightings", "time", text, value=1300.0, repair="time-estimate-taken")
    for text, code in {
        "25:00": "time-impossible",
        "21:75": "time-impossible",
        "dusk": "time-unreadable",
        "half past nine": "time-unreadable",
        "9 o'clock": "time-unclear",
        "9": "time-unclear",
        "21:40-22:10": "time-range",
        "9.30 to 9.45pm": "time-range",
    }.items():
        yield cell("sightings", "time", text, code=code)


def counts() -> Iterable[Ugly]:
    """Numbers of birds."""
    for text, number in {
        "6": 6,
        "06": 6,
        "6.0": 6,
        "six": 6,
        "a pair": 2,
        "a dozen": 12,
        "half a dozen": 6,
        "6 birds": 6,
        "6 swifts": 6,
        "two": 2,
        " 6 ": 6,
    }.items():
        yield cell("sightings", "birds", text, value=float(number))
    for text in (
        "about 6",
        "c6",
        "c. 6",
        "~6",
        "6+",
        "6ish",
        "6 ish",
        "at least 6",
        "over 6",
        "6 or so",
        "6?",
        ">6",
        "approx. 6",
        "6 approx",
        "at least six",
    ):
        yield cell("sightings", "birds", text, value=6.0, repair="count-estimate-taken")
    for text in ("6-8", "6 - 8", "6–8", "6 to 8", "6 or 7", "6/7", "between 6 and 8"):
        yield cell("sightings", "birds", text, value=6.0, repair="count-lower-end-taken")
    for text, code in {
        "lots": "count-unreadable",
        "several": "count-unreadable",
        "6.5": "count-unreadable",
        "8-6": "count-unreadable",
        "0": "birds-zero",
        "none": "birds-zero",
        "-6": "number-negative",
        "6000": "number-too-high",
    }.items():
        yield cell("sightings", "birds", text, code=code)
    yield cell("sightings", "birds", "?")


def measures() -> Iterable[Ugly]:
    """Numbers with units, and words of the trade."""
    for text, metres in {
        "5": 5.0,
        "5m": 5.0,
        "5 m": 5.0,
        "5.0 metres": 5.0,
        "16 ft": 4.8768,
        "5,0": 5.0,
    }.items():
        yield cell("boxes", "height_m", text, value=metres)
    yield cell("boxes", "height_m", "about 5m", value=5.0, repair="number-estimate-taken")
    for text, code in {
        "high": "number-unreadable",
        "5 storeys": "number-unit-unknown",
        "500": "number-too-high",
        "0.2": "number-too-low",
        "-5": "number-negative",
    }.items():
        yield cell("boxes", "height_m", text, code=code)
    yield cell("boxes", "entrance_mm", "2.8cm", value=28.0)
    yield cell("boxes", "cost", "£20.50", value=20.5)
    yield cell("boxes", "cost", "£1,250", value=1250.0)
    yield cell("boxes", "facing", "north-east", value="NE")
    yield cell("boxes", "facing", "upwards", code="facing-unknown")
    yield cell("boxes", "removed_on", "1/3/2023", code="removed-before-fixed")
    yield cell("boxes", "calls_to", "1/5/2025", calls_from="1/6/2025", code="calls-turned-round")
    yield cell("watches", "wind_bft", "Force 3", value=3.0)
    yield cell("watches", "wind_bft", "2-3", value=2.0, repair="count-lower-end-taken")
    yield cell("watches", "temp_c", "17 °C", value=17.0)
    yield cell("watches", "weather", "light drizzle", value="wet")
    yield cell("watches", "end", "20:00", code="end-before-start")
    yield cell("watches", "end", "23:59", start="8:00", code="watch-too-long")
    yield cell("watches", "streets", "Albert Road & Mill Lane")
    yield cell("watches", "streets", "Nowhere Street", code="street-unknown")
    yield cell("watches", "streets", "", code="place-missing")
    yield cell("sightings", "species", "Swifts", value="swift")
    yield cell("sightings", "species", "H. Martin", value="house martin")
    yield cell("sightings", "species", "kestrel", code="species-unknown")
    yield cell("sightings", "species", "", code="cell-missing")
    yield cell("sightings", "behaviour", "Screaming!", value="screaming party")
    yield cell("sightings", "behaviour", "entered hole", value="entering or leaving a nest")
    yield cell("sightings", "behaviour", "being lovely", code="behaviour-unknown")
    yield cell("sightings", "calls_playing", "perhaps", code="yes-no-unclear")
    yield cell("nest_sites", "status", "re-roofed", value="lost")
    yield cell("nest_sites", "status", "dubious", code="status-unknown")
    yield cell("nest_sites", "season", "2026 season", value=2026.0)
    yield cell("nest_sites", "season", "20223", code="season-unreadable")
    yield cell("nest_sites", "season", "2027", code="date-in-future")
    yield cell("nest_sites", "date", "3/6/2025", code="season-date-disagree")
    yield cell("nest_sites", "status", "", code="one-of-missing")
    yield cell("nest_sites", "street", "", house="", code="site-place-unknown")


def places() -> Iterable[Ugly]:
    """Places in every notation, right and wrong.

    House 21 of Albert Road is the eleventh on the left: 10 x 8 m north of the first, 9 m west.
    """
    home = (650_041.0, 340_100.0)
    for text in (
        "TG50054020",
        "tg 5005 4020",
        "TG 50054020",
        "T G 5005 4020",
        "TG5005-4020",
        "TG.5005.4020",
    ):
        yield place(grid_ref=text, at=(650_055.0, 340_205.0))
    yield place(grid_ref="TG 500 402", at=(650_050.0, 340_250.0))
    for text, code in {
        "TG 500 40": "grid-ref-odd-figures",
        "500 402": "grid-ref-letters-missing",
        "ZZ 500 402": "grid-ref-letters-unknown",
        "TM 500 402": "grid-ref-letters-elsewhere",
        "TG": "grid-ref-too-vague",
        "by the pond": "grid-ref-unreadable",
        "TG 50050 4004": "grid-ref-odd-figures",
        "TG 500500500 402000000": "grid-ref-too-long",
        "TG 800 800": "outside-town",
    }.items():
        yield place(grid_ref=text, code=code)
    yield place(easting="650055", northing="340205", at=(650_055.0, 340_205.0))
    yield place(
        easting="340205",
        northing="650055",
        repair="easting-northing-swapped",
        at=(650_055.0, 340_205.0),
    )
    yield place(easting="650,055", northing="340,205", at=(650_055.0, 340_205.0))
    yield place(easting="650055", northing="", code="coordinate-half-missing")
    yield place(easting="here", northing="340205", code="metres-unreadable")
    for street in ("Albert Road", "Albert Rd", "albert rd.", "ALBERT ROAD", "Albert  Road"):
        yield place(street=street, house="21", at=home)
    for street in ("21 Albert Road", "21, Albert Rd", "No. 21 Albert Road", "Albert Road 21"):
        yield place(street=street, at=home)
    yield place(street="Albet Road", house="21", repair="street-spelling-corrected", at=home)
    yield place(street="Albert", house="21", repair="street-kind-added", at=home)
    for cells, code in (
        ({"street": "Nowhere Street", "house": "2"}, "street-unknown"),
        ({"street": "", "house": "21"}, "street-missing"),
        ({"street": "Albert Road", "house": "9999"}, "house-not-listed"),
        ({"street": "corner of Albert Road and Church Street"}, "place-is-corner"),
        ({"street": "opp 12 Albert Road"}, "place-is-opposite"),
        ({"street": "behind the shop"}, "place-is-relative"),
        ({"street": "12 Albert Road", "house": "14"}, "house-given-twice"),
        ({"grid_ref": "TG 5055 4045", "street": "Albert Road", "house": "21"}, "places-disagree"),
        ({"grid_ref": ""}, "place-missing"),
    ):
        given: Any = cells
        yield place(code=code, **given)
    yield place(latitude="52.6", longitude="x", code="angle-unreadable")
    yield place(latitude="152.6", longitude="191.7", code="angle-out-of-range")
    yield place(latitude="52 75 10 N", longitude="1 42 3 E", code="angle-minutes-too-large")


# ------------------------------------------------------------------------- rows beside rows


def lines(title: str, path: str, text: str, states: str, **expected: Any) -> Ugly:
    """Return a file whose rows bear on each other."""
    return ugly(title, text, states, path=path, **expected)


TOGETHER = (
    lines(
        "a box in two places",
        "boxes/a.csv",
        "box,street,house,fixed_on\nB1,Mill Lane,4,1/3/2024\nB1,Albert Road,101,1/3/2025\n",
        "hh",
        codes=["box-in-two-places"],
    ),
    lines(
        "a box moved",
        "boxes/a.csv",
        "box,street,house,fixed_on,removed_on\nB1,Mill Lane,4,1/3/2024,1/2/2025\nB1,Albert Road,101,1/3/2025,\n",
        "uu",
    ),
    lines(
        "a box without a place",
        "boxes/a.csv",
        "box,street,fixed_on\nB1,,1/3/2024\n",
        "h",
        codes=["place-missing"],
    ),
    lines(
        "a box's place in another row",
        "boxes/a.csv",
        "box,street,house,kind\nB1,Mill Lane,4,\nB1,,,wooden\n",
        "uu",
    ),
    lines(
        "a check of no box",
        "checks/a.csv",
        "box,date,seen\nB9,1/7/2025,empty\n",
        "h",
        codes=["box-unknown"],
    ),
    lines(
        "a check of an odd bird",
        "checks/a.csv",
        "box,date,seen\nB9,1/7/2025,griffin\n",
        "h",
        codes=["seen-unknown"],
    ),
    lines(
        "a check of an odd stage",
        "checks/a.csv",
        "box,date,seen,stage\nB9,1/7/2025,swift,dreaming\n",
        "h",
        codes=["stage-unknown"],
    ),
    lines(
        "a site named later only",
        "nest_sites/a.csv",
        "site,street,house,species,season,status\nN1,Albert Road,21,swift,2025,in use\nn1,,,swift,2026,quiet\n",
        "uu",
    ),
    lines(
        "a decision about no row",
        "decisions/a.csv",
        "first,second,decision\nrabcabcabcabca,rbbbbbbbbbbbbb,same\n",
        "h",
        codes=["decision-row-unknown"],
    ),
    lines(
        "a decision of another kind",
        "decisions/a.csv",
        "first,second,decision\nrabcabcabcabca,rbbbbbbbbbbbbb,maybe\n",
        "h",
        codes=["decision-unknown"],
    ),
    lines(
        "a correction of no row",
        "corrections/a.csv",
        f"key,folder,{HEADINGS}\nrabcabcabcabca,sightings,{GOOD}\n",
        "h",
        codes=["correction-names-no-row"],
    ),
    lines(
        "a correction without a key",
        "corrections/a.csv",
        f"key,folder,{HEADINGS}\n,sightings,{GOOD}\n",
        "h",
        codes=["correction-without-key"],
    ),
    lines(
        "a correction of no folder",
        "corrections/a.csv",
        f"key,folder,{HEADINGS}\nrabcabcabcabca,,{GOOD}\n",
        "h",
        codes=["correction-names-no-row"],
        notices=["correction-without-folder"],
    ),
    lines(
        "corrections without keys",
        "corrections/a.csv",
        TABLE,
        "",
        notices=["corrections-without-key-column"],
    ),
    lines(
        "a broken corrections workbook", "corrections/a.xlsx", "x", "", notices=["file-unreadable"]
    ),
    lines(
        "an unclear mapping",
        "mappings/a.csv",
        "folder,heading,means\nsightings,Fecha,datum\n",
        "",
        notices=["mapping-line-unclear"],
    ),
    lines("an empty mapping", "mappings/a.csv", "a,b\n", "", notices=["mapping-empty"]),
    lines(
        "an unclear line of forgetting",
        "forget.csv",
        "forget,which\nhouse,\n",
        "",
        notices=["forget-line-unclear"],
    ),
)

UGLY_FILES: tuple[Ugly, ...] = (
    *BYTES,
    *BOOKS,
    *HEADING_FILES,
    *dates(),
    *times(),
    *counts(),
    *measures(),
    *places(),
    *TOGETHER,
)
