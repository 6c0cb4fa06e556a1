"""The command as a person types it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from small_town import SIGHTINGS, write_records, write_town
from typing_commands import PACKAGE, run


@pytest.fixture(scope="module")
def town(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = write_town(tmp_path_factory.mktemp("town"))
    bad = "31/6/2026,21:40,TG 5005 4020,,,swift,screaming party,4,Wilfred Oakapple,\n"
    write_records(folder, {"sightings/bad.csv": SIGHTINGS + bad})
    return folder


def test_without_a_verb_it_builds_and_says_what_became_of_every_row(town: Path) -> None:
    done = run(cwd=town)
    assert done.returncode == 0, done.stderr
    for words in (
        "Rows read",
        "used",
        "held back",
        "nest sites",
        "site/index.html",
        "rows-to-fix.csv",
    ):
        assert words in done.stdout
    assert "Oakapple" not in done.stdout + done.stderr
    again = run("build", str(town), cwd=town.parent)
    assert "0 files new or changed" in again.stdout.replace("\n", " ")


def test_check_groups_what_is_wrong_and_fits_a_script(town: Path) -> None:
    done = run("check", str(town), cwd=town.parent)
    assert done.returncode == 0
    assert "There is no such day." in done.stdout
    assert "Oakapple" not in done.stdout + done.stderr


def test_audit_passes_and_refuses(town: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    shutil.copytree(town, copy)
    run("build", cwd=copy)
    assert run("audit", cwd=copy).returncode == 0
    (copy / "site" / "index.html").write_text("<p>Ann Poole</p>", encoding="utf-8")
    refused = run("audit", cwd=copy)
    assert refused.returncode == 1
    assert "Ann" not in refused.stdout + refused.stderr


def test_a_folder_without_a_town_is_bad_input(tmp_path: Path) -> None:
    done = run(cwd=tmp_path)
    assert done.returncode == 2
    assert "town-file-missing" in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    "words", [["--from-release", "x"], ["build", "--to", "y"], ["check", "--nonsense"]]
)
def test_wrong_words_are_bad_input(tmp_path: Path, words: list[str]) -> None:
    done = run(*words, cwd=tmp_path)
    assert done.returncode == 2
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["build", "--boxes", "many"], "--boxes needs a whole number from 0 to 10,000."),
        (["build", "--boxes", "-2"], "--boxes needs a whole number from 0 to 10,000."),
        (["build", "--boxes"], "--boxes needs something after it."),
        (["build", "--budget", "£900"], "--budget needs a number from 0 to 10,000,000"),
        (["--premises-are-gone=yes"], "--premises-are-gone takes no value."),
        (["build", "--from-release", "x", "--to", "y"], "--from-release names a file that is not"),
        (["build", "--from-release", ".", "--to", "y"], "a folder where a file is needed."),
        (["build", "a-file"], "FOLDER names a file where a folder is needed."),
        (["preview", "--port", "99999"], "--port needs a whole number from 0 to 65,535."),
        (["check", "--format", "xml"], "--format needs one of text, json."),
        (["completion", "tcsh"], "SHELL needs one of bash, zsh, fish."),
        (["ask"], "PLACE is missing."),
        (["ask", "12", "Elm", "Row"], "goes between quotation marks."),
        (["publish", "--zipp", "x"], "There is no option --zipp. Did you mean --zip?"),
        (["check", "--nonsense"], "There is no option --nonsense."),
        (["publish", "--repository", "x"], "--repository goes with --branch."),
    ],
)
def test_a_misused_option_is_told_in_our_words(tmp_path: Path, words: list[str], told: str) -> None:
    (tmp_path / "a-file").write_text("")
    done = run(*words, cwd=tmp_path)
    assert done.returncode == 2
    assert told in done.stderr
    assert " --help to see what it takes" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    for theirs in ("Error", "Usage", "Invalid", "valid", "argument", "Elm"):
        assert theirs not in done.stderr


def test_help_tells_the_verbs_and_loads_no_table_library(tmp_path: Path) -> None:
    done = run("--help", cwd=tmp_path)
    assert done.returncode == 0
    for verb in ("build", "check", "audit"):
        assert verb in done.stdout
    code = "import sys, eaveline.cli; sys.exit('pandas' in sys.modules or 'numpy' in sys.modules)"
    environment = dict(os.environ, PYTHONPATH=str(PACKAGE))
    assert (
        subprocess.run([sys.executable, "-c", code], env=environment, check=False).returncode == 0
    )


def build_that_raises(error: str, *, town: Path) -> subprocess.CompletedProcess[str]:
    """Run a build that comes to an error, given as code."""
    code = (
        "import errno, sys\n"
        "from eaveline import cli, pipeline\n"
        f"def broken(*words, **options): raise {error}\n"
        "pipeline.build_town = broken\n"
        "sys.argv = ['eaveline', 'build']\n"
        "cli.main()\n"
    )
    return subprocess.run(
        [sys.executable, "-c", code],
        cwd=town,
        env=dict(os.environ, PYTHONPATH=str(PACKAGE)),
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.parametrize(
    ("error", "told"),
    [
        ("OSError(errno.ENOSPC, 'x', 'private/a.csv')", "[disc-full]"),
        ("PermissionError(errno.EACCES, 'x', '/t/private/a.csv')", "private/a.csv: The"),
    ],
)
def test_what_the_computer_refuses_is_no_fault_of_ours(town: Path, error: str, told: str) -> None:
    done = build_that_raises(error, town=town)
    assert done.returncode == 2
    assert told in done.stderr
    assert "our-fault" not in done.stderr


def test_a_fault_of_ours_is_one_line_and_exit_code_three(town: Path) -> None:
    done = build_that_raises("RuntimeError('12 Elm Row')", town=town)
    assert done.returncode == 3
    assert "our-fault" in done.stderr
    assert "Elm" not in done.stderr
    assert "Traceback" not in done.stderr


def test_letters_that_a_pipe_does_not_take_are_no_fault(
    town: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # What a pipe is on Windows: it has no letter for the y of a Welsh house.
    monkeypatch.setenv("PYTHONIOENCODING", "cp1252")
    done = run("ask", "21 Albert Road, Tŷ Gwyn", cwd=town)
    assert done.returncode == 0, done.stderr
    assert "21 Albert Road, T? Gwyn" in done.stdout


def test_a_mistyped_verb_is_told_with_the_nearest(tmp_path: Path) -> None:
    done = run("biuld", cwd=tmp_path)
    assert done.returncode == 2
    assert "There is no command and no folder called 'biuld'. Did you mean build?" in done.stderr
    assert "Did you mean" not in run("our-town", cwd=tmp_path).stderr
