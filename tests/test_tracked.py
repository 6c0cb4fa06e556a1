"""A warning where git would carry records away, and none where it would not."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from eaveline.tracked import tracked_records

pytestmark = pytest.mark.skipif(shutil.which("git") is None, reason="there is no git")


def git(folder: Path, *arguments: str) -> None:
    subprocess.run(
        [
            shutil.which("git") or "git",
            "-C",
            str(folder),
            "-c",
            "user.name=A",
            "-c",
            "user.email=a@b.example",
            *arguments,
        ],
        check=True,
        capture_output=True,
    )


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    (tmp_path / "survey_data").mkdir()
    (tmp_path / "survey_data" / "a.csv").write_text("street,house\n")
    (tmp_path / "content.md").write_text("Hello\n")
    git(tmp_path, "init", "-q", "-b", "main")
    return tmp_path


def test_no_repository_no_warning(tmp_path: Path) -> None:
    assert tracked_records(tmp_path) == ()


def test_records_that_are_tracked_beside_a_remote_or_a_sites_branch(repository: Path) -> None:
    git(repository, "add", "content.md")
    git(repository, "commit", "-qm", "content")
    git(repository, "remote", "add", "origin", "https://git.example/town.git")
    assert tracked_records(repository) == ()  # nothing private is tracked
    git(repository, "add", "survey_data")
    [warning] = tracked_records(repository)
    assert (warning.code, warning.file) == ("records-tracked-by-git", "survey_data")
    assert "git rm -r --cached survey_data" in warning.next_step
    git(repository, "remote", "remove", "origin")
    assert tracked_records(repository) == ()  # a private backup
    git(repository, "branch", "gh-pages")
    assert [w.code for w in tracked_records(repository)] == ["records-tracked-by-git"]
