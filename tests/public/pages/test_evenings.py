"""Evenings to watch, and the calendar file of them."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from eaveline.public.pages.calendar_file import _folded, calendar_file
from eaveline.public.pages.evenings import watch_evenings
from eaveline.public.records import PublicRelease
from eaveline.public.town import PublicTown

GREENWICH_M = (538_900.0, 177_300.0)
"""The Royal Observatory, TQ 389 773 (Ordnance Survey)."""


def test_sunset_is_the_almanacs(release: PublicRelease) -> None:
    days = [dt.date(2027, 6, 21), dt.date(2027, 5, 22)]
    june = watch_evenings(release, centre_m=GREENWICH_M, own=days)[1]
    # London, 21 June: 21:21 BST in printed almanacs; astral is right to a minute or two.
    almanac = dt.datetime(2027, 6, 21, 21, 21, tzinfo=ZoneInfo("Europe/London"))
    assert abs(june.sunset - almanac) <= dt.timedelta(minutes=2)
    assert june.sunset.utcoffset() == dt.timedelta(hours=1)
    assert (june.begin.hour, june.begin.minute) == (19, 50)
    assert (june.end.hour, june.end.minute) == (21, 50)


@pytest.mark.parametrize(
    ("newest", "year", "count"),
    [
        # By a calendar: Saturdays from 22 May to 20 July are 9 in 2026 (23 May to 18 July) and in
        # 2027 (22 May to 17 July).
        (dt.date(2026, 8, 14), 2027, 9),
        (dt.date(2026, 7, 18), 2027, 9),
        (dt.date(2026, 7, 17), 2026, 1),
        (dt.date(2026, 6, 6), 2026, 6),
        (dt.date(2026, 1, 3), 2026, 9),
    ],
)
def test_without_own_dates_every_saturday_left_of_the_season(
    release: PublicRelease, newest: dt.date, year: int, count: int
) -> None:
    made = release.model_copy(update={"made_on": newest})
    evenings = watch_evenings(made, centre_m=GREENWICH_M, own=[dt.date(2020, 6, 1)])
    days = [evening.begin.date() for evening in evenings]
    assert {day.weekday() for day in days} == {5}
    assert {day.year for day in days} == {year}
    assert len(days) == count
    assert all(day > newest for day in days)
    assert all((5, 22) <= (day.month, day.day) <= (7, 20) for day in days)


def test_the_calendar_says_what_the_page_says(
    release: PublicRelease, public_town: PublicTown
) -> None:
    own = [dt.date(2027, 6, 5), dt.date(2027, 6, 5), dt.date(2027, 6, 12)]
    evenings = watch_evenings(release, centre_m=GREENWICH_M, own=own)
    assert len(evenings) == 2
    data = calendar_file(evenings, town=public_town, made_on=release.made_on)
    assert data == calendar_file(evenings, town=public_town, made_on=release.made_on)
    lines = data.decode().replace("\r\n ", "").split("\r\n")
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines[-2:] == ["END:VCALENDAR", ""]
    assert lines.count("BEGIN:VEVENT") == lines.count("END:VEVENT") == 2
    starts = [line.removeprefix("DTSTART:") for line in lines if line.startswith("DTSTART:")]
    read = [dt.datetime.strptime(text, "%Y%m%dT%H%M%SZ").replace(tzinfo=dt.UTC) for text in starts]
    assert read == [evening.begin for evening in evenings]
    assert read[0].astimezone(ZoneInfo("Europe/London")).date() == own[0]
    uids = {line for line in lines if line.startswith("UID:")}
    assert len(uids) == 2
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))
    assert any("\\," in line for line in lines if line.startswith("DESCRIPTION:"))


@given(st.text(st.characters(exclude_categories=("Cc", "Cs")), max_size=300))
def test_folding_keeps_every_letter_and_fits(line: str) -> None:
    folded = _folded(line)
    assert folded.replace("\r\n ", "") == line
    assert all(len(part.encode()) <= 75 for part in folded.split("\r\n"))
