"""The first page of the private folder leads to every paper there is, and to no other."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest

from eaveline import pipeline
from eaveline.papers.contents import shelves
from planned_town import HEADER, ROWS
from small_town import ordinary_records, write_town

UNLISTED = re.compile(r"figures/(?!jobs)|officer/.+/|(.+/)?\.")
"""Tables of private-figures.html, papers of applications.html, and what is remembered."""


@pytest.fixture(scope="module")
def private(tmp_path_factory: pytest.TempPathFactory) -> Path:
    records = ordinary_records() | {"planning/list.csv": HEADER + ROWS}
    folder = write_town(tmp_path_factory.mktemp("contents"), records)
    pipeline.build_town(folder, today=dt.date(2026, 11, 25))
    return folder / "private"


def test_every_paper_is_led_to_and_every_link_leads_to_one(private: Path) -> None:
    text = (private / "index.html").read_text("utf-8")
    linked = re.findall(r'href="([^"]+)"', text)
    assert len(linked) == len(set(linked))
    marks = (private / ".written.json").read_text("utf-8")
    papers = {name for name in re.findall(r'"([^"]+)": "', marks) if name != "index.html"}
    assert set(linked) == {name for name in papers if not UNLISTED.match(name)}
    for name in linked:
        assert (private / name).is_file(), name


def test_a_shelf_without_papers_is_left_out() -> None:
    (shelf,) = shelves({"officer/tally.csv", "something-else.csv"})
    assert [entry.file for entry in shelf.entries] == ["officer/tally.csv"]
    assert shelves(set()) == ()


def test_a_copy_that_was_not_made_is_not_linked() -> None:
    (shelf,) = shelves({"doorstep-list.html"})
    (entry,) = shelf.entries
    assert entry.copies == ()
