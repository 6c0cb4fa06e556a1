"""A new town from nothing to a published archive, typed as a person would."""

from __future__ import annotations

import json
import shutil
import subprocess
import zipfile
from pathlib import Path

import pytest

from small_town import ordinary_records, write_map, write_records
from typing_commands import run

ANSWERS = (
    "Little Ottersley",
    "Englandshire",  # is asked again
    "england",
    "the market place",  # is asked again
    "TG 502 402",
    "Little Ottersley Swift Group",
    "birds",  # is asked again
    "birds@little-ottersley.example",
    "",
)


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a town that was started by answering every question, filled and built."""
    base = tmp_path_factory.mktemp("group")
    started = run("start", "town", cwd=base, typed="\n".join(ANSWERS) + "\n")
    assert started.returncode == 0, started.stderr
    assert started.stdout.count("Please try again.") == 3
    assert started.stdout.rstrip().endswith('eaveline build "town"')
    town = base / "town"
    settings = (town / "survey_data" / "town.toml").read_text("utf-8")
    empty = run("build", "town", cwd=base)
    assert empty.returncode == 2
    assert "[map-streets-missing]" in empty.stderr
    write_map(town)
    (town / "survey_data" / "town.toml").write_text(settings, encoding="utf-8")
    no_records = run("build", "town", cwd=base)
    assert no_records.returncode == 2
    assert "[nothing-to-publish]" in no_records.stderr
    write_records(town, ordinary_records())
    done = run("build", "town", cwd=base)
    assert done.returncode == 0, done.stderr
    return town


@pytest.fixture
def town(built: Path, tmp_path: Path) -> Path:
    """Return a copy to do as one likes with."""
    return Path(shutil.copytree(built, tmp_path / "town"))


def test_the_pages_that_come_along_need_no_map(town: Path) -> None:
    for name in ("survey_data/map/addresses.csv", "survey_data/map/regions.csv"):
        (town / name).unlink()
    (town / "survey_data" / "map" / "districts.csv").unlink()
    shutil.rmtree(town / "private")
    shutil.rmtree(town / "site")
    done = run("build", cwd=town)
    assert done.returncode == 0, done.stderr
    assert not (town / "site" / "data" / "colony.gpkg").exists()


def test_the_archive_holds_the_site_and_is_the_same_again(town: Path) -> None:
    first = run("publish", "--zip", "../site.zip", cwd=town)
    assert first.returncode == 0, first.stderr
    assert "This is the first time" in first.stdout
    archive = town.parent / "site.zip"
    data = archive.read_bytes()
    with zipfile.ZipFile(archive) as opened:
        assert opened.testzip() is None
        names = opened.namelist()
    site = town / "site"
    assert sorted(names) == sorted(
        path.relative_to(site).as_posix() for path in site.rglob("*") if path.is_file()
    )
    assert {"index.html", "streets/albert-road/index.html", "putting-up-boxes/index.html"} <= set(
        names
    )
    again = run("publish", "--zip", "../site.zip", cwd=town)
    assert "Nothing has changed since last time." in again.stdout
    assert archive.read_bytes() == data


def test_changes_are_told_in_plain_words_before_anything_is_published(town: Path) -> None:
    run("publish", "--zip", "../site.zip", cwd=town)
    boxes = town / "survey_data" / "boxes" / "list.csv"
    boxes.write_text(boxes.read_text("utf-8") + "B99,Mill Lane,14,1/3/2024,,\n", encoding="utf-8")
    news = town / "content" / "news" / "2026-07-01-one-more.md"
    news.write_text("Title: One more box\n\nIt hangs.\n", encoding="utf-8")
    stale = run("publish", cwd=town)
    assert stale.returncode == 2
    assert "[site-stale]" in stale.stderr
    assert run("build", cwd=town).returncode == 0
    # One of the thirteen is shown by consent and leaves the counts.
    told = run("publish", cwd=town)
    assert told.returncode == 0, told.stderr
    assert "Boxes standing: 12 (last time 11)." in told.stdout
    assert "New: 1 news page." in told.stdout
    assert "Nothing was published yet" in told.stdout


def test_a_site_changed_after_the_audit_is_refused(town: Path) -> None:
    (town / "site" / "extra.html").write_text("<p>12 Elm Row</p>", encoding="utf-8")
    refused = run("publish", "--zip", "../site.zip", cwd=town)
    assert refused.returncode == 2
    assert "[site-unaudited]" in refused.stderr
    assert not (town.parent / "site.zip").exists()


def test_a_site_without_a_stamp_and_no_site_are_refused(town: Path) -> None:
    (town / "private" / "last-build.json").unlink()
    assert "[site-unaudited]" in run("publish", cwd=town).stderr
    shutil.rmtree(town / "site")
    assert "[site-missing]" in run("publish", cwd=town).stderr


def test_a_folder_ends_up_with_the_site_alone(town: Path) -> None:
    out = town.parent / "public"
    first = run("publish", "--folder", str(out), cwd=town)
    assert first.returncode == 0, first.stderr
    (out / ".htaccess").write_text("of the host", encoding="utf-8")
    (out / "streets" / "old-lane").mkdir()
    (out / "streets" / "old-lane" / "index.html").write_text("forgotten", encoding="utf-8")
    again = run("publish", "--folder", str(out), cwd=town)
    assert "no files written" in again.stdout
    assert (out / ".htaccess").is_file()
    assert not (out / "streets" / "old-lane").exists()
    others = town.parent / "photographs"
    others.mkdir()
    (others / "summer.txt").write_text("mine", encoding="utf-8")
    assert "[publish-folder-not-ours]" in run("publish", "--folder", str(others), cwd=town).stderr
    assert (others / "summer.txt").is_file()
    inside = run("publish", "--folder", "site/copy", cwd=town)
    assert "[publish-into-the-town]" in inside.stderr


def git(folder: Path, *words: str) -> str:
    """Run git and return what it says."""
    return subprocess.run(
        ["git", *words],  # noqa: S607 - git is found on the path
        cwd=folder,
        capture_output=True,
        text=True,
        check=True,
    ).stdout


@pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")
def test_a_git_branch_holds_one_commit_and_the_site_alone(town: Path) -> None:
    assert "[git-no-repository]" in run("publish", "--branch", "website", cwd=town).stderr
    git(town, "init", "--quiet", "--initial-branch", "main")
    first = run("publish", "--branch", "website", cwd=town)
    assert first.returncode == 0, first.stderr
    commit = git(town, "rev-parse", "website")
    assert run("publish", "--branch", "website", cwd=town).returncode == 0
    assert git(town, "rev-parse", "website") == commit
    assert git(town, "rev-list", "--count", "website").strip() == "1"
    assert git(town, "log", "-1", "--format=%P|%an|%ae|%cn", "website").strip() == (
        "|Little Ottersley Swift Group|birds@little-ottersley.example|Little Ottersley Swift Group"
    )
    site = town / "site"
    names = git(town, "ls-tree", "-r", "--name-only", "website").splitlines()
    assert sorted(names) == sorted(
        path.relative_to(site).as_posix() for path in site.rglob("*") if path.is_file()
    )
    assert git(town, "show", "website:data/release.json") == (
        site / "data" / "release.json"
    ).read_text("utf-8")
    assert git(town, "status", "--porcelain", "--", "site") == ""
    assert "[git-branch-in-use]" in run("publish", "--branch", "main", cwd=town).stderr
    assert "[git-branch-name]" in run("publish", "--branch", "a..b", cwd=town).stderr
    who = ("-c", "user.name=A", "-c", "user.email=a@b.example")
    git(town, *who, "commit", "--quiet", "--allow-empty", "-m", "one")
    git(town, "branch", "other")
    assert "[git-branch-not-ours]" in run("publish", "--branch", "other", cwd=town).stderr


def test_start_refuses_what_it_would_overwrite(built: Path, tmp_path: Path) -> None:
    full = run("start", str(built), cwd=tmp_path)
    assert full.returncode == 2
    assert "[start-folder-not-empty]" in full.stderr
    (tmp_path / "file").write_text("x", encoding="utf-8")
    assert "[start-folder-is-a-file]" in run("start", "file", cwd=tmp_path).stderr


def test_start_with_options_asks_nothing_and_names_every_wrong_one(tmp_path: Path) -> None:
    options = {
        "name": 'St "Anne\'s"',
        "nation": "Wales",
        "centre": "TG 502 402",
        "group": "A group",
        "email": "birds@st-annes.example",
        "site-url": "https://st-annes.example/birds/",
    }
    words = [word for name, value in options.items() for word in (f"--{name}", value)]
    done = run("start", "new", *words, cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "Your town's name" not in done.stdout
    wrong = run("start", "other", *words, "--email", "x", "--centre", "J 33 74", cwd=tmp_path)
    assert wrong.returncode == 2
    assert "column email" in wrong.stderr
    assert not (tmp_path / "other").exists()
    wrong = run("start", "other", *words, "--centre", "J 33 74", cwd=tmp_path)
    assert "another nation's grid" in wrong.stderr


def test_start_stopped_half_way_leaves_nothing(tmp_path: Path) -> None:
    stopped = run("start", "town", cwd=tmp_path, typed="Ottersley\n")
    assert stopped.returncode == 130
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "words",
    [("--zip", "a.zip", "--branch", "website"), ("--repository", ".")],
)
def test_publishing_two_ways_at_once_is_bad_input(town: Path, words: tuple[str, ...]) -> None:
    assert run("publish", *words, cwd=town).returncode == 2


def test_the_stamp_names_no_file_and_no_value(built: Path) -> None:
    stamp = json.loads((built / "private" / "last-build.json").read_text("utf-8"))
    assert {len(value) for value in stamp.values()} == {64}
