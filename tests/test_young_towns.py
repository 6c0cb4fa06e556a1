"""Towns that have only just begun: every page is an invitation, and no figure a bare nought."""

from __future__ import annotations

import datetime as dt
import html
import re
from pathlib import Path

import pytest

from eaveline import pipeline
from small_town import SIGHTINGS, ordinary_records, write_town

TODAY = dt.date(2026, 11, 25)
MARTINS_ALONE = {
    "sightings/a.csv": SIGHTINGS
    + "5/6/2026,10:10,,Church Street,60,house martin,visiting wall or eaves,2,Ann Poole,\n"
    + "6/6/2026,10:10,,Mill Lane,20,house martin,entering or leaving a nest,2,Ann Poole,\n"
}
WITHOUT_BOXES = {
    name: text
    for name, text in ordinary_records().items()
    if not name.startswith(("boxes", "checks"))
}


@pytest.fixture(scope="module")
def martins(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the site of a town where two house martins' nests are all that is known."""
    folder = write_town(tmp_path_factory.mktemp("martins"), MARTINS_ALONE)
    return pipeline.build_town(folder, today=TODAY).site


def words(site: Path, page: str) -> str:
    """Return what a page says in its main part, in one line."""
    text = (site / page / "index.html").read_text(encoding="utf-8")
    main = text.split("<main", 1)[1].split("</main>", 1)[0]
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", main)))


def test_a_town_without_boxes_is_built_and_asks_for_them(tmp_path: Path) -> None:
    site = pipeline.build_town(write_town(tmp_path, WITHOUT_BOXES), today=TODAY).site
    text = words(site, "boxes")
    assert "We know of no nest box" in text
    assert "Is there one at your house?" in text
    assert "too few" not in text
    assert "Do calls help?" not in text


def test_the_home_page_of_a_young_town_names_its_streets(martins: Path) -> None:
    text = words(martins, ".")
    for street in ("Albert Road", "Mill Lane", "St Anne's Terrace", "Church Street"):
        assert street in text
    assert "at least 2" in text
    assert "none yet" in text
    assert "Nobody has watched for a whole hour yet: yours could be the first." in text
    assert "No square is known to have swifts yet." in text


@pytest.mark.parametrize("page", [".", "boxes", "offers", "streets/albert-road"])
def test_no_page_counts_to_nought(martins: Path, page: str) -> None:
    assert re.findall(r"(?<![\d.,:])0(?![\d.,:])", words(martins, page)) == []


def test_a_street_of_which_nothing_is_known_invites(martins: Path) -> None:
    text = words(martins, "streets/albert-road")
    assert "Nobody has told us of anything here yet" in text
    assert "Square by square" not in text
    # The newest record is of 6 June, so the evenings are those that are left of that summer.
    assert "Saturday 13 June" in text
    assert "Saturday 6 June" not in text


def test_nothing_is_said_of_a_trend_nobody_could_see(martins: Path) -> None:
    text = words(martins, "seasons")
    assert "Too few squares have been watched in several seasons" in text
    assert "We compare each square" not in text
    assert "Median daily peak" not in text
