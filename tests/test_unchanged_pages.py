"""A page whose content did not change keeps its bytes and its modification time."""

from __future__ import annotations

import datetime as dt
import os
import shutil
from pathlib import Path

import pytest

from eaveline import pipeline
from small_town import write_town

TODAY = dt.date(2026, 11, 25)
LONG_AGO_NS = 1_000_000_000_000_000_000


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a built town whose site's files are all dated long ago."""
    folder = write_town(tmp_path_factory.mktemp("built"))
    pipeline.build_town(folder, today=TODAY)
    for path in (folder / "site").rglob("*"):
        os.utime(path, ns=(LONG_AGO_NS, LONG_AGO_NS))
    return folder


@pytest.fixture
def town(built: Path, tmp_path: Path) -> Path:
    """Return a copy of it, dates and all."""
    return Path(shutil.copytree(built, tmp_path / "town"))


def changed_by_building_again(town: Path) -> set[str]:
    """Build again; return the files that have another date, having compared all bytes."""
    site = town / "site"
    before = {path: path.read_bytes() for path in site.rglob("*") if path.is_file()}
    pipeline.build_town(town, today=TODAY)
    changed = set()
    for path in (path for path in site.rglob("*") if path.is_file()):
        kept = path.stat().st_mtime_ns == LONG_AGO_NS
        assert kept == (before.get(path) == path.read_bytes()), path.name
        if not kept:
            changed.add(path.relative_to(site).as_posix())
    return changed


def test_a_page_that_was_edited_changes_alone(town: Path) -> None:
    page = town / "content" / "pages" / "about.md"
    page.write_text(page.read_text("utf-8") + "\nAnd for martins.\n", encoding="utf-8")
    changed = changed_by_building_again(town)
    assert "about/index.html" in changed
    # The search page knows the words of every page.
    assert changed <= {"about/index.html", "search/index.js"}


def test_a_private_note_changes_no_page(town: Path) -> None:
    records = town / "survey_data" / "sightings" / "ann.csv"
    text = records.read_text("utf-8")
    assert "6,Ann Poole,\n" in text
    records.write_text(
        text.replace("6,Ann Poole,\n", "6,Ann Poole,over the bakery\n"), encoding="utf-8"
    )
    assert changed_by_building_again(town) == set()


def test_a_birds_more_leaves_pages_of_streets_as_they_are(town: Path) -> None:
    records = town / "survey_data" / "sightings" / "ann.csv"
    text = records.read_text("utf-8")
    records.write_text(text.replace("screaming party,4,", "screaming party,5,"), encoding="utf-8")
    changed = changed_by_building_again(town)
    # The largest party of 2025 and its daily peak stand on the page of seasons.
    assert "seasons/index.html" in changed
    assert not {name for name in changed if name.startswith("streets/")}
