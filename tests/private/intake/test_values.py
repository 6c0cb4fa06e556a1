"""One cell of each value type."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from eaveline.private.intake import schema
from eaveline.private.intake.dates import read_date, read_season
from eaveline.private.intake.numbers import read_count, read_number
from eaveline.private.intake.times import read_time
from eaveline.private.intake.values import READERS, read_weather

DATE = schema.SIGHTINGS.column("date")
BIRDS = schema.SIGHTINGS.column("birds")
TIME = schema.SIGHTINGS.column("time")
HEIGHT = schema.BOXES.column("height_m")
ENTRANCE = schema.BOXES.column("entrance_mm")
COST = schema.BOXES.column("cost")
TEMPERATURE = schema.WATCHES.column("temp_c")

THIRD_OF_JUNE = dt.date(2026, 6, 3)


@pytest.mark.parametrize(
    "cell",
    [
        "3/6/26",
        "03/06/2026",
        "3.6.2026",
        "3-6-26",
        "3 6 26",
        "3 June 2026",
        "3rd June 2026",
        "3rd of June, 2026",
        "3-Jun-26",
        "Wed 3 June 2026",
        "Wednesday, 3 June 2026",
        "June 3, 2026",
        "2026-06-03",
        "20260603",
        "2026-06-03T21:40:00",
        "2026-06-03 00:00:00",
        "3/6/2026 21:40",
        # Spreadsheets count days from 30 December 1899; 46176 is 3 June 2026 (ECMA-376, by hand).
        "46176",
        "46176.9027",
    ],
)
def test_dates_are_read_day_first_in_every_british_habit(cell: str) -> None:
    assert read_date(cell, DATE).value == THIRD_OF_JUNE


@pytest.mark.parametrize(
    ("cell", "fault"),
    [
        ("31/6/2026", "date-impossible"),
        ("29/2/2023", "date-impossible"),
        ("0/6/2026", "date-impossible"),
        ("3/6", "date-without-year"),
        ("3 June", "date-without-year"),
        ("June", "date-unreadable"),
        ("sometime in June", "date-unreadable"),
        ("3/6/0026", "date-too-old"),
        ("12345", "date-too-old"),  # days from 30 December 1899: 18 October 1933
        ("3/6/126", "date-unreadable"),
        ("6/25/2026", "date-month-first"),
        ("13/13/2026", "date-impossible"),
    ],
)
def test_dates_that_cannot_be_are_faults(cell: str, fault: str) -> None:
    reading = read_date(cell, DATE)
    assert reading.fault == fault
    assert reading.value is None


def test_a_month_first_date_is_shown_day_first_but_not_taken() -> None:
    assert read_date("6/25/2026", DATE).suggestion == "25/06/2026"


@given(st.dates(dt.date(1970, 1, 1), dt.date(2069, 12, 31)))
def test_every_day_is_read_back(day: dt.date) -> None:
    spellings = (f"{day:%d/%m/%Y}", f"{day.day}/{day.month}/{day:%y}", f"{day:%d %B %Y}")
    for text in (*spellings, day.isoformat()):
        assert read_date(text, DATE).value == day


@given(st.text(max_size=30))
def test_no_text_upsets_a_reader(text: str) -> None:
    for kind in schema.KINDS.values():
        for column in kind.columns:
            reading = READERS[column.type](text.strip() or "x", column)
            assert reading.value is None or reading.fault is None


@pytest.mark.parametrize(
    ("cell", "minute"),
    [
        ("21:40", 1300),
        ("21.40", 1300),
        ("9.40pm", 1300),
        ("9:40 p.m.", 1300),
        ("9:40 PM", 1300),
        ("2140", 1300),
        ("2140hrs", 1300),
        ("21h40", 1300),
        ("21:40:30", 1300),
        ("9pm", 1260),
        ("12.05am", 5),
        ("12:05pm", 725),
        ("0.902777777", 1300),  # 21:40 as a spreadsheet's part of a day
        ("noon", 720),
        ("05:10", 310),
    ],
)
def test_times(cell: str, minute: int) -> None:
    assert read_time(cell, TIME).value == minute


@pytest.mark.parametrize(
    ("cell", "fault"),
    [
        ("25:10", "time-impossible"),
        ("21:70", "time-impossible"),
        ("dusk", "time-unreadable"),
        ("9 o'clock", "time-unclear"),
    ],
)
def test_times_that_cannot_be(cell: str, fault: str) -> None:
    assert read_time(cell, TIME).fault == fault


@pytest.mark.parametrize(
    ("cell", "value", "repair"),
    [
        ("6", 6, None),
        ("6.0", 6, None),
        ("6 birds", 6, None),
        ("twelve", 12, None),
        ("a dozen", 12, None),
        ("about 6", 6, "count-estimate-taken"),
        ("c. 12", 12, "count-estimate-taken"),
        ("~6", 6, "count-estimate-taken"),
        ("6+", 6, "count-estimate-taken"),
        ("2-3", 2, "count-lower-end-taken"),
        ("10 to 12", 10, "count-lower-end-taken"),
    ],
)
def test_counts_take_the_least_that_was_meant_and_say_so(
    cell: str, value: int, repair: str | None
) -> None:
    reading = read_count(cell, BIRDS)
    assert (reading.value, reading.repair) == (value, repair)


@pytest.mark.parametrize(
    ("cell", "fault"),
    [
        ("lots", "count-unreadable"),
        ("-3", "number-negative"),
        ("0", "birds-zero"),
        ("99999", "number-too-high"),
        ("5-2", "count-unreadable"),
        ("3.5", "count-unreadable"),
    ],
)
def test_counts_that_cannot_be(cell: str, fault: str) -> None:
    assert read_count(cell, BIRDS).fault == fault


def test_numbers_come_in_their_columns_unit() -> None:
    assert read_number("5.5 m", HEIGHT).value == 5.5
    assert read_number("5,5", HEIGHT).value == 5.5
    assert read_number("550cm", HEIGHT).value == pytest.approx(5.5)
    assert read_number("18ft", HEIGHT).value == pytest.approx(5.4864)  # 18 x 0.3048
    assert read_number("2.8cm", ENTRANCE).value == pytest.approx(28)
    assert read_number("£1,250.00", COST).value == 1250
    assert read_number("18 °C", TEMPERATURE).value == 18
    assert read_number("about 5m", HEIGHT).repair == "number-estimate-taken"


@pytest.mark.parametrize(
    ("cell", "fault"),
    [
        ("high", "number-unreadable"),
        ("5 yards", "number-unit-unknown"),
        ("-2", "number-negative"),
        ("500", "number-too-high"),
    ],
)
def test_numbers_that_cannot_be(cell: str, fault: str) -> None:
    assert read_number(cell, HEIGHT).fault == fault


def test_seasons() -> None:
    column = schema.NEST_SITES.column("season")
    assert [
        read_season(cell, column).value for cell in ("2024", "2024.0", "'24", "summer 2024")
    ] == [2024] * 4
    assert read_season("3/6/2024", column).value == 2024
    assert read_season("last year", column).fault == "season-unreadable"
    assert read_season("20223", column).fault == "season-unreadable"


@pytest.mark.parametrize(
    ("folder", "name", "cell", "value"),
    [
        ("sightings", "species", "Common Swift", "swift"),
        ("sightings", "species", "H. Martin", "house martin"),
        ("sightings", "behaviour", "Bangers", "visiting wall or eaves"),
        ("sightings", "behaviour", "SCREAMING PARTY", "screaming party"),
        ("nest_sites", "status", "re-roofed", "lost"),
        ("checks", "seen", "blue tit", "tit"),
        ("boxes", "facing", "north-east", "NE"),
        ("boxes", "share", "Y", "yes"),
        ("decisions", "decision", "Same", "same"),
    ],
)
def test_words_of_the_trade(folder: str, name: str, cell: str, value: str) -> None:
    column = schema.KINDS[folder].column(name)
    assert READERS[column.type](cell, column).value == value


def test_an_unknown_word_comes_with_the_nearest_known_one() -> None:
    column = schema.SIGHTINGS.column("behaviour")
    reading = READERS[column.type]("screeming parti", column)
    assert (reading.fault, reading.suggestion) == ("behaviour-unknown", "screaming party")
    column = schema.SIGHTINGS.column("species")
    assert READERS[column.type]("kestrel", column).fault == "species-unknown"


def test_weather_is_wet_dry_or_left_open() -> None:
    column = schema.WATCHES.column("weather")
    assert read_weather("light drizzle", column).value == "wet"
    assert read_weather("no rain, cloudy", column).value == "dry"
    assert read_weather("so-so", column).value is None
