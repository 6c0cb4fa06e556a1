"""The year's report."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Mapping
from pathlib import Path

import pytest
from pypdf import PdfReader

from eaveline import pipeline
from eaveline.config import load_config
from eaveline.gazetteer import load_gazetteer
from eaveline.papers.annual_report import annual_papers
from small_town import write_town

PLANNING = [(2026, 3, 12, 6, 6, 4, 1)]


@pytest.fixture(scope="module")
def papers(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, bytes]:
    folder = write_town(tmp_path_factory.mktemp("year"))
    config = load_config(folder)
    town = load_gazetteer(folder, config)
    intake = pipeline.take_in_town(folder, town, today=dt.date(2026, 11, 25))
    register, _ = pipeline.merge_town(intake, town, config)
    release, _ = pipeline.protect_town(register, town, config)
    return annual_papers(release, town.basemap, config.town, planning=PLANNING)


def text_of(papers: Mapping[str, bytes]) -> str:
    reader = PdfReader(io.BytesIO(papers["annual-report.pdf"]))
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


def test_what_it_tells(papers: Mapping[str, bytes]) -> None:
    text = text_of(papers)
    # By hand from small_town.py: the first swift of 2026 on 3 June.
    assert "First swift: 3 June 2026" in text
    assert "Boxes in new buildings" in text
    assert "2026 3 12 6 6 4 1" in text
    assert "An unwatched square is no empty one" in text


def test_nobody_and_no_home_is_named(papers: Mapping[str, bytes]) -> None:
    for text in (text_of(papers), papers["annual-report.html"].decode()):
        for secret in ("Ann Poole", "Bob Tarn", "Mill Lane", "650041", "A21"):
            assert secret not in text


def test_it_is_tagged_and_on_a4(papers: Mapping[str, bytes]) -> None:
    reader = PdfReader(io.BytesIO(papers["annual-report.pdf"]))
    assert "/StructTreeRoot" in reader.root_object
    assert [round(float(side)) for side in reader.pages[0].mediabox[2:]] == [595, 842]


def test_without_planning_there_is_no_table_of_it(tmp_path: Path) -> None:
    folder = write_town(tmp_path)
    config = load_config(folder)
    town = load_gazetteer(folder, config)
    intake = pipeline.take_in_town(folder, town, today=dt.date(2026, 11, 25))
    register, _ = pipeline.merge_town(intake, town, config)
    release, _ = pipeline.protect_town(register, town, config)
    made = annual_papers(release, town.basemap, config.town)
    assert "Boxes in new buildings" not in made["annual-report.html"].decode()
