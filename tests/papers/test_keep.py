"""Papers are never lost, and those made no more forget whom they must."""

from __future__ import annotations

from pathlib import Path

import pytest

from eaveline.papers.keep import edited_papers, write_papers

ANNEX, LIST = "officer/26-1/annex.pdf", "review/rows.csv"


@pytest.mark.parametrize("gone", [True, False])
def test_a_paper_made_no_more_goes_where_it_must(tmp_path: Path, *, gone: bool) -> None:
    write_papers(tmp_path, {ANNEX: b"the nest", LIST: b"rows"})
    (tmp_path / "my notes.txt").write_text("mine", encoding="utf-8")
    write_papers(tmp_path, {LIST: b"fewer rows"}, gone=lambda name: name == ANNEX and gone)
    assert (tmp_path / ANNEX).parent.exists() is not gone
    assert (tmp_path / LIST).read_bytes() == b"fewer rows"
    assert (tmp_path / "my notes.txt").exists()


def test_an_edited_paper_stays_and_is_named(tmp_path: Path) -> None:
    write_papers(tmp_path, {ANNEX: b"the nest", LIST: b"rows"})
    assert edited_papers(tmp_path) == ()
    for name in (ANNEX, LIST):
        (tmp_path / name).write_bytes(b"Ann's own words")
    [told] = edited_papers(tmp_path)
    assert f"{ANNEX}, {LIST}" in told.what
    write_papers(tmp_path, {LIST: b"rows"}, gone=lambda _: True)
    assert (tmp_path / ANNEX).read_bytes() == b"Ann's own words"
    [told] = edited_papers(tmp_path)
    assert "review/rows - your edits 1.csv" in told.what
    assert "Ann" not in str(told)
