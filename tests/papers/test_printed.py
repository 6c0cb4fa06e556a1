"""A paper is printed again only when something in it has changed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from eaveline.papers import printed as printed_module
from eaveline.papers.keep import write_papers
from eaveline.papers.officer import typeset
from eaveline.papers.officer.document import Document, paragraph
from eaveline.papers.officer.papers import about_no_application
from eaveline.papers.officer.typeset import to_pdf
from eaveline.papers.printed import PRINTED_FILE, PrintedBefore

PAPERS = {
    f"officer/{number}/publishable.pdf": Document(
        title=f"Application {number}", made_on="2026-11-06", blocks=(paragraph("Nothing known."),)
    )
    for number in (1, 2)
}
FIRST, SECOND = PAPERS


@pytest.fixture
def presses(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Return the titles of papers that were really printed."""
    titles: list[str] = []

    def counted(document: Document) -> bytes:
        titles.append(document.title)
        return to_pdf(document)

    monkeypatch.setattr(printed_module, "to_pdf", counted)
    return titles


def build(private: Path, papers: Mapping[str, Document]) -> dict[str, bytes]:
    """Print papers as a build does, and write them."""
    before = PrintedBefore(private)
    made = {name: before.pdf(name, paper) for name, paper in papers.items()}
    write_papers(private, made | {PRINTED_FILE: before.to_json()})
    return made


def test_the_same_papers_are_not_printed_twice(tmp_path: Path, presses: list[str]) -> None:
    first = build(tmp_path, PAPERS)
    assert presses == ["Application 1", "Application 2"]
    presses.clear()
    assert build(tmp_path, PAPERS) == first
    assert presses == []
    assert first[FIRST] == to_pdf(PAPERS[FIRST])


def test_what_has_changed_is_printed_again(tmp_path: Path, presses: list[str]) -> None:
    build(tmp_path, PAPERS)
    presses.clear()
    changed = PAPERS | {SECOND: replace(PAPERS[SECOND], blocks=(paragraph("Swifts nest here."),))}
    made = build(tmp_path, changed)
    assert presses == ["Application 2"]
    assert made[SECOND] == to_pdf(changed[SECOND])
    # And the new one is what the next build keeps.
    presses.clear()
    assert build(tmp_path, changed) == made
    assert presses == []


@pytest.mark.parametrize("part", ["version", "template"])
def test_another_printer_or_template_prints_all_again(
    tmp_path: Path, presses: list[str], monkeypatch: pytest.MonkeyPatch, part: str
) -> None:
    build(tmp_path, PAPERS)
    presses.clear()
    if part == "version":
        monkeypatch.setattr(typeset, "version", lambda _: "99.0")
    else:
        other = typeset._source() + b"\n// changed\n"
        monkeypatch.setattr(typeset, "_source", lambda: other)
    build(tmp_path, PAPERS)
    assert len(presses) == 2


def test_an_edited_paper_is_set_aside_and_printed_again(tmp_path: Path, presses: list[str]) -> None:
    first = build(tmp_path, PAPERS)
    (tmp_path / FIRST).write_bytes(b"my notes")
    (tmp_path / SECOND).unlink()
    presses.clear()
    assert build(tmp_path, PAPERS) == first
    assert presses == ["Application 1", "Application 2"]
    assert (tmp_path / FIRST).read_bytes() == first[FIRST]
    aside = (tmp_path / FIRST).with_name("publishable - your edits 1.pdf")
    assert aside.read_bytes() == b"my notes"


@pytest.mark.parametrize("damaged", ["", "[]", "{", '{"a": 1}', '{"a": ["b"]}'])
def test_a_damaged_list_only_means_printing_again(
    tmp_path: Path, presses: list[str], damaged: str
) -> None:
    first = build(tmp_path, PAPERS)
    (tmp_path / PRINTED_FILE).write_text(damaged, encoding="utf-8")
    presses.clear()
    assert build(tmp_path, PAPERS) == first
    assert len(presses) == 2


def test_a_paper_that_is_no_longer_made_is_forgotten(tmp_path: Path) -> None:
    build(tmp_path, PAPERS)
    build(tmp_path, {SECOND: PAPERS[SECOND]})
    told = json.loads((tmp_path / PRINTED_FILE).read_text(encoding="utf-8"))
    assert list(told) == [SECOND]


def test_a_build_that_broke_off_while_writing_keeps_nothing_false(
    tmp_path: Path, presses: list[str]
) -> None:
    """The list was written and the paper was not: the old paper does not pass for the new."""
    build(tmp_path, PAPERS)
    changed = PAPERS | {FIRST: replace(PAPERS[FIRST], title="Renamed")}
    before = PrintedBefore(tmp_path)
    for name, paper in changed.items():
        before.pdf(name, paper)
    (tmp_path / PRINTED_FILE).write_bytes(before.to_json())
    presses.clear()
    assert build(tmp_path, changed)[FIRST] == to_pdf(changed[FIRST])
    assert presses == ["Renamed"]


def test_papers_of_an_application_that_is_gone_are_removed_and_edited_ones_stay(
    tmp_path: Path,
) -> None:
    gone = about_no_application(pd.DataFrame({"reference": ["2"]}))
    lists = {"officer/applications.csv": b"1, 2"}
    write_papers(tmp_path, dict.fromkeys(PAPERS, b"words") | lists)
    (tmp_path / "officer" / "9").mkdir()
    (tmp_path / "officer" / "9" / "my letter.txt").write_bytes(b"not ours")
    write_papers(tmp_path, {}, gone=gone)
    assert not (tmp_path / "officer" / "1").exists()
    # Still listed, if decided: what the group sent.
    assert (tmp_path / SECOND).exists()
    assert (tmp_path / "officer" / "applications.csv").exists()
    assert (tmp_path / "officer" / "9" / "my letter.txt").exists()
    (tmp_path / SECOND).write_bytes(b"my notes")
    write_papers(tmp_path, {}, gone=about_no_application(pd.DataFrame({"reference": []})))
    assert (tmp_path / SECOND).read_bytes() == b"my notes"
