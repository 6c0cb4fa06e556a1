"""Files written all or nothing."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from eaveline.whole_files import write_whole


def test_a_file_that_says_the_same_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "map" / "regions.csv"
    assert write_whole(path, b"one")
    os.utime(path, (1_000_000_000, 1_000_000_000))
    assert not write_whole(path, b"one")
    assert path.stat().st_mtime == 1_000_000_000
    assert write_whole(path, b"two")
    assert path.read_bytes() == b"two"


def test_a_full_disc_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "regions.csv"
    write_whole(path, b"old")

    def fill_up(part: Path, data: bytes) -> int:
        with part.open("wb") as file:
            file.write(data[:1])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", fill_up)
    with pytest.raises(OSError, match="No space"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such modes")
def test_who_may_read_a_file_is_left_to_the_system(tmp_path: Path) -> None:
    # A group shares its folder; a file that its owner alone can read stops the others' builds.
    before = os.umask(0o022)
    try:
        write_whole(tmp_path / "regions.csv", b"x")
    finally:
        os.umask(before)
    assert (tmp_path / "regions.csv").stat().st_mode & 0o777 == 0o644
