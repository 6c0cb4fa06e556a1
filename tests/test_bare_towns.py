"""Whole towns that lack what figures are made of: every page and paper still reads as it should."""

from __future__ import annotations

import datetime as dt
import html
import re
from collections.abc import Mapping
from pathlib import Path

import pytest
from pypdf import PdfReader

from eaveline import pipeline
from small_town import CHECKS, NEST_SITES, SIGHTINGS, WATCHES, write_town

TODAY = dt.date(2026, 11, 25)
BOXES = "box,street,house,fixed_on,cost\n"
PARTY = "15/6/{season},21:40,TG 5005 4005,,,swift,screaming party,6,Ann,\n"
PARTIES = SIGHTINGS + PARTY.format(season=2025) + PARTY.format(season=2026)
NEST = NEST_SITES + "N1,Albert Road,9,,swift,2026,in use,entering or leaving a nest,,Ann\n"
WATCH = WATCHES + "16/6/2026,20:50,22:20,Albert Road,dry,Ann,4\n"
EIGHT = "".join(f"B{n},Mill Lane,{n},1/3/2025,0\n" for n in range(1, 9))
MANY = "".join(f"B{n},Mill Lane,{n},1/3/2025,0\n" for n in range(1, 15))

TOWNS: Mapping[str, Mapping[str, str]] = {
    "a single sighting": {"sightings/a.csv": SIGHTINGS + PARTY.format(season=2026)},
    "a box fitted on a leap day": {
        "boxes/a.csv": BOXES + "B1,Mill Lane,3,29/2/2024,0\n",
        "checks/a.csv": CHECKS + "B1,1/7/2024,swift,Ann\n",
    },
    "no watches": {"sightings/a.csv": PARTIES, "nest_sites/a.csv": NEST},
    "two seasons": {"sightings/a.csv": PARTIES, "watches/a.csv": WATCH},
    "one box, checked once": {
        "sightings/a.csv": PARTIES,
        "boxes/a.csv": BOXES + "B1,Mill Lane,3,1/3/2026,40\n",
        "checks/a.csv": CHECKS + "B1,1/7/2026,swift,Ann\n",
    },
    "a season without a check": {
        "sightings/a.csv": PARTIES,
        "boxes/a.csv": BOXES + EIGHT,
        "checks/a.csv": CHECKS + "".join(f"B{n},1/7/2025,empty,Ann\n" for n in range(1, 9)),
    },
    "every box taken by sparrows": {
        "sightings/a.csv": PARTIES,
        "boxes/a.csv": BOXES + MANY,
        "checks/a.csv": CHECKS
        + "".join(f"B{n},1/7/2026,house sparrow,Ann\n" for n in range(1, 15)),
    },
    "a box fitted after June, for nothing": {
        "sightings/a.csv": PARTIES,
        "boxes/a.csv": BOXES + "B1,Mill Lane,3,20/7/2026,0\n",
        "checks/a.csv": CHECKS + "B1,1/8/2026,empty,Ann\n",
    },
}


@pytest.fixture(scope="module", params=TOWNS, ids=str)
def built(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a town's folder after a whole build: every paper, and the site past its audit."""
    folder = write_town(tmp_path_factory.mktemp("bare"), TOWNS[request.param])
    pipeline.build_town(folder, today=TODAY)
    return folder


def words_of(path: Path) -> str:
    if path.suffix == ".pdf":
        return " ".join(page.extract_text() for page in PdfReader(path).pages)
    text = path.read_text(encoding="utf-8-sig")
    if path.suffix == ".html":
        text = re.sub(r"<(script|style)\b.*?</\1>", " ", text, flags=re.DOTALL)
        text = re.sub(r"</t[dh]>", " | ", text)
        text = html.unescape(re.sub(r"<[^>]+>", " ", text))
    return " ".join(text.split())


def read_by_people(folder: Path) -> list[Path]:
    site = sorted((folder / "site").rglob("*.html"))
    private = sorted((folder / "private").rglob("*"))
    return site + [path for path in private if path.suffix in {".html", ".csv", ".pdf"}]


NO_FIGURE = re.compile(r"(?<![\w./-])(nan|NaN|NaT|None(?! of |: )|inf|infinity|-0|<NA>)(?![\w/-])")
"""What a division by nothing, or a missing cell, leaves where a number should stand."""
ONE_OF_MANY = re.compile(
    r"(?<![\d.,/-])1 (boxes|buildings|seasons|nest sites|houses|birds|watches|squares|records|years"
    r"|streets|checks|doors|rows|hours|minutes|weeks|swifts)\b"
)
"""One of several; but not the end of 21 or of 0.1."""


def test_every_number_is_one(built: Path) -> None:
    papers = read_by_people(built)
    assert {path.suffix for path in papers} == {".html", ".csv", ".pdf"}
    for path in papers:
        text = words_of(path)
        for fault in (NO_FIGURE, ONE_OF_MANY):
            found = fault.search(text)
            around = text[max(0, found.start() - 60) : found.end() + 60] if found else ""
            assert found is None, f"{path.relative_to(built)}: {around}"


def test_too_little_is_said_to_be_too_little(built: Path) -> None:
    """In no town are there enough watched squares for a trend, nor boxes with a caller."""
    seasons = words_of(built / "site" / "seasons" / "index.html")
    assert "Too few squares have been watched in several seasons to say whether" in seasons
    private = words_of(built / "private" / "private-figures.html")
    assert "Too few buildings have boxes with calls, or without, to say" in private
    if (built / "survey_data" / "boxes").is_dir():
        boxes = words_of(built / "site" / "boxes" / "index.html")
        assert "too few buildings checked to say" in boxes
