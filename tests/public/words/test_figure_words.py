"""Estimates are told with how sure they are, and too few is said to be too few."""

from __future__ import annotations

import datetime as dt

import pytest

from eaveline.public.pages.page_charts import box_charts, newest_weeks, season_charts
from eaveline.public.records import (
    BoxCalls,
    BoxUse,
    BoxWait,
    CallsVerdict,
    PublicRelease,
    SunsetBand,
    Trend,
    WeekOfParties,
)
from eaveline.public.words import figure_words as tell


def use(used: int, checked: int) -> BoxUse:
    return BoxUse(buildings_checked=checked, used_at_least=used)


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (None, "too few to say"),
        (use(1, 4), "too few to say"),
        # Wilson 95% by hand: 4 of 30 is 5.3% to 29.7%; 0 of 20 is 0 to 16.1% (Newcombe 1998).
        (use(4, 30), "13% (5% to 30%)"),
        (use(0, 20), "0% (0% to 16%)"),
        # 10 of 30 is as many as is ever said of 30, so the rest is not known: 19.2% and up.
        (use(10, 30), "at least 19%"),
        # Of 11 with at least 10 premises, 2 is the most that is said: 5.1% and up.
        (use(2, 11), "at least 5%"),
    ],
)
def test_use_of_boxes(found: BoxUse | None, words: str, release: PublicRelease) -> None:
    assert tell.use_share(found, release.rule) == words


@pytest.mark.parametrize(
    ("percent", "low", "high", "part"),
    [
        (5, 2, 9, "rose by about 5% a year: between a rise of 2% and a rise of 9% a year"),
        (-5, -9, -2, "fell by about 5% a year: between a fall of 9% and a fall of 2% a year"),
        (1, -3, 6, "may have risen, fallen or stayed the same: between a fall of 3% and a rise"),
        (0, 0, 0, "may have risen, fallen or stayed the same: between no change and no change"),
    ],
)
def test_trend(percent: int, low: int, high: int, part: str) -> None:
    found = Trend(
        squares=9, first_season="2020", last_season="2026", percent=percent, low=low, high=high
    )
    assert part in tell.trend(found)
    assert tell.trend(found).startswith("From 2020 to 2026, over 9 squares and groups")


def test_nothing_to_say_is_said() -> None:
    assert "Too few squares" in tell.trend(None)
    assert "Too few buildings" in tell.wait(None)
    assert "Too few buildings" in tell.calls(BoxCalls(verdict=CallsVerdict.TOO_FEW))


def test_waits() -> None:
    none = BoxWait(seasons=3, buildings=12, used_at_least=0)
    assert tell.wait(none) == (
        "Of 12 buildings whose boxes were followed, none is known to be used within 3 seasons."
    )
    some = BoxWait(seasons=3, buildings=12, used_at_least=3)
    assert "swifts used those of at least 3 within 3 seasons" in tell.wait(some)


@pytest.mark.parametrize(
    ("verdict", "word"), [(CallsVerdict.SOONER, "sooner"), (CallsVerdict.LATER, "later")]
)
def test_calls(verdict: CallsVerdict, word: str) -> None:
    words = tell.calls(BoxCalls(verdict=verdict, buildings_with=11, buildings_without=25))
    assert f"Swifts found boxes {word} where calls were played: 11 buildings with calls" in words
    assert "by chance less than once in twenty times" in words


def test_a_release_without_the_new_figures(release: PublicRelease) -> None:
    """As an older release has none of them, the pages must do without."""
    assert season_charts(release) == {}
    assert box_charts(release) == {}
    assert newest_weeks(release) is None
    season = release.town_seasons[-1]
    assert tell.peak(season) == "no count"
    assert tell.busiest_week(season) == "No screaming party with a date is known from 2026."
    assert tell.last_hour(release.town_figures) == "No screaming party has a time of day yet."


def test_weeks(release: PublicRelease) -> None:
    weeks = (
        WeekOfParties(monday=dt.date(2026, 5, 18), parties=4),
        WeekOfParties(monday=dt.date(2026, 6, 8), parties=4),
        WeekOfParties(monday=dt.date(2026, 6, 15), parties=1),
    )
    season = release.town_seasons[-1].model_copy(update={"weeks": weeks, "parties_near_calls": 1})
    assert tell.busiest_week(season) == (
        "In 2026 most were seen in the weeks beginning 18 May and 8 June: 4 parties each."
    )
    assert tell.near_calls(season).startswith("1 party of 2026 was seen in a square where calls")
    changed = release.model_copy(update={"town_seasons": (*release.town_seasons[:-1], season)})
    svg = season_charts(changed)["weeks"]
    # Weeks without a party keep their place: five weeks from 18 May to 15 June.
    assert svg.count('class="chart-mark"') == 5
    assert all(f">{monday}<" in svg for monday in ("18 May", "25 May", "1 June", "15 June"))


def test_bands_of_minutes() -> None:
    bands = [
        SunsetBand(from_minutes=start, to_minutes=end, parties=2)
        for start, end in ((None, 120), (60, 30), (30, 0), (0, None))
    ]
    assert [tell.sunset_band(band) for band in bands] == [
        "more than 120 minutes before",
        "60 to 30 minutes before",
        "the last 30 minutes before",
        "after sunset",
    ]
