"""Sentences with numbers on the public pages, worked out again from release.json by hand.

Nothing of the site's own wording or statistics is imported: the file is read as plain JSON and
the interval comes from scipy.
"""

from __future__ import annotations

import datetime as dt
import html
import json
import re
from pathlib import Path
from typing import Any

import pytest
from scipy.stats import binomtest

import box_town
from eaveline import pipeline
from eaveline.config import load_config
from eaveline.gazetteer import load_gazetteer
from eaveline.public.records import release_to_json
from small_town import write_town

MONTHS = "January February March April May June July August September October November December"


def day(text: str) -> str:
    """Return 2026-06-15 as 15 June."""
    year, month, number = text.split("-")
    assert len(year) == 4
    return f"{int(number)} {MONTHS.split()[int(month) - 1]}"


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = write_town(tmp_path_factory.mktemp("told"), box_town.everything())
    config = load_config(folder)
    town = load_gazetteer(folder, config)
    intake = pipeline.take_in_town(folder, town, today=dt.date(2026, 11, 25))
    register, _ = pipeline.merge_town(intake, town, config)
    release, _ = pipeline.protect_town(register, town, config)
    out = tmp_path_factory.mktemp("out") / "site"
    pipeline.make_site(folder, release, config, out=out)
    (out / "release-as-made.json").write_text(release_to_json(release), encoding="utf-8")
    return out


@pytest.fixture(scope="module")
def release(site: Path) -> dict[str, Any]:
    made: dict[str, Any] = json.loads((site / "release-as-made.json").read_text(encoding="utf-8"))
    return made


def words(site: Path, page: str) -> str:
    """Return a page's text in one line, its charts left out."""
    text = (site / page / "index.html").read_text(encoding="utf-8")
    text = re.sub(
        r"<svg class=\"chart\".*?</svg>|<svg[^>]*chart.*?</svg>", " ", text, flags=re.DOTALL
    )
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", text)))


def test_seasons_page(site: Path, release: dict[str, Any]) -> None:
    text = words(site, "seasons")
    newest = release["town_seasons"][-1]
    trend = release["town_figures"]["trend"]
    assert (
        f"From {trend['first_season']} to {trend['last_season']}, over {trend['squares']} squares "
        "and groups of squares watched in more than one season, the most swifts seen at once rose "
        f"by about {trend['percent']}% a year: between a rise of {trend['low']}% and a rise of "
        f"{trend['high']}% a year (95% interval)."
    ) in text
    weeks = {week["monday"]: week["parties"] for week in newest["weeks"]}
    top = max(weeks.values())
    (best,) = [monday for monday, count in weeks.items() if count == top]
    assert f"In 2026 most were seen in the week beginning {day(best)}: {top} parties." in text
    assert "No party of 2026 was seen in a square where calls were being played." in text
    for monday, count in weeks.items():
        assert f"{day(monday)} {count} " in text
    bands = release["town_figures"]["parties_by_sunset"]
    late = sum(
        band["parties"]
        for band in bands
        if band["from_minutes"] in (60, 30) and "to_minutes" in band
    )
    timed = sum(band["parties"] for band in bands)
    assert f"{late} of {timed} parties with a time was seen in the last hour before sunset." in text
    assert f"90 to 60 minutes before {bands[2]['parties']} " in text
    assert (
        f"2026 {newest['median_daily_peak']} birds (on {newest['days_with_parties']} days) "
        f"{newest['hours_watched']} " in text
    )


def test_boxes_page(site: Path, release: dict[str, Any]) -> None:
    text = words(site, "boxes")
    figures = release["town_figures"]
    assert f"There are {figures['boxes_standing']} nest boxes" in text
    minimum = release["rule"]["minimum_premises"]
    for season in release["town_seasons"]:
        use = season["box_use"]
        checked, used = use["buildings_checked"], use["used_at_least"]
        interval = binomtest(used, checked).proportion_ci(method="wilson")
        assert used < min(checked // 3, checked - minimum + 1)
        assert (
            f"{season['season']} {season['boxes_standing']} {checked} {used} "
            f"{used / checked:.0%} "
            f"({interval.low:.0%} to {interval.high:.0%})"
        ) in text
    wait = figures["box_wait"]
    assert (
        f"Of {wait['buildings']} buildings whose boxes were followed, swifts used those of at "
        f"least {wait['used_at_least']} within {wait['seasons']} seasons."
    ) in text
    calls = figures["box_calls"]
    assert (
        "Swifts found boxes about as soon with calls as without: "
        f"{calls['buildings_with']} buildings with calls and {calls['buildings_without']} without"
    ) in text
    # 13 is the fewest of which a third may be told: 13 - 10 + 1 = 4 = 13 // 3.
    assert "fewer than 13 buildings with boxes were checked" in text


def test_every_chart_has_a_table_and_a_description(site: Path) -> None:
    for page, count, next_element in (("seasons", 2, "<details"), ("boxes", 1, "<div")):
        text = (site / page / "index.html").read_text(encoding="utf-8")
        figures = re.findall(
            r"<figure class=\"chart-figure\">(.*?)</figure>\s*(<\w+)", text, re.DOTALL
        )
        assert len(figures) == count
        for drawing, following in figures:
            assert following == next_element
            assert re.search(r"<title id=\"[^\"]+\">[^<]+</title>", drawing)
            assert re.search(r"<desc id=\"[^\"]+\">[^<]+</desc>", drawing)
            assert "style" not in drawing
        ids = re.findall(r" id=\"([^\"]+)\"", text)
        assert len(ids) == len(set(ids))
