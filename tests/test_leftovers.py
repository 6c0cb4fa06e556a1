"""A group's own files among what others leave beside them."""

from __future__ import annotations

from pathlib import Path

from eaveline.leftovers import own_files


def test_what_programs_leave_behind_is_nobodys_own(tmp_path: Path) -> None:
    for name in (
        "ann.csv",
        "june/bob.csv",
        ".stversions/ann.csv",
        "june/.hidden/ann.csv",
        "__MACOSX/._ann.csv",
        "~$ann.xlsx",
        ".DS_Store",
        "june/Thumbs.db",
    ):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("x")
    names = [path.relative_to(tmp_path).as_posix() for path in own_files(tmp_path)]
    assert names == ["ann.csv", "june/bob.csv"]
    assert list(own_files(tmp_path / "missing")) == []
