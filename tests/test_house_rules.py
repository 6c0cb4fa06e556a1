"""The whole tree keeps the rules that DEVELOPERS.md states."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "build" / "eaveline"
LONGEST_MODULE = 400

LONG_MODULES: dict[str, str] = {}
"""Modules of the package over 400 lines, each with the reason it is still one idea."""


def run(*words: str) -> None:
    """Run a tool of this environment over the tree; fail with what it wrote."""
    done = subprocess.run(
        [sys.executable, "-m", *words], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if done.returncode:
        pytest.fail(f"{' '.join(words)}\n{done.stdout}{done.stderr}", pytrace=False)


def test_ruff_finds_nothing() -> None:
    run("ruff", "check", "--quiet", "--output-format", "concise", ".")


def test_files_are_formatted() -> None:
    run("ruff", "format", "--quiet", "--check", "--diff", ".")


@pytest.mark.slow
def test_mypy_finds_nothing() -> None:
    run("mypy", "--no-error-summary")


@pytest.mark.slow
def test_mypy_finds_nothing_in_the_starter_of_the_tests() -> None:
    # Apart, since mypy takes two files named __main__.py for one module.
    run("mypy", "--no-error-summary", "tests/__main__.py")


def test_imports_keep_the_walls() -> None:
    # The documented command is lint-imports, which is this function.
    call = (
        "import sys; sys.path.insert(0, 'build');"
        "from importlinter.cli import lint_imports_command; lint_imports_command()"
    )
    done = subprocess.run(
        [sys.executable, "-c", call, "--no-cache", "--no-logo"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        pytest.fail(done.stdout + done.stderr, pytrace=False)


def modules() -> Iterator[Path]:
    """Yield every module of the package."""
    yield from sorted(PACKAGE.rglob("*.py"))


def test_modules_are_short_or_say_why() -> None:
    lengths = {
        path.relative_to(PACKAGE).as_posix(): len(path.read_text("utf-8").splitlines())
        for path in modules()
    }
    long = {name: length for name, length in lengths.items() if length > LONGEST_MODULE}
    assert {name: long[name] for name in long.keys() - LONG_MODULES.keys()} == {}
    assert LONG_MODULES.keys() <= long.keys(), "this one is short now; take it off the list"


def ci_commands() -> list[str]:
    """Return the commands of ours that CI runs."""
    lines = (ROOT / ".ci" / "run").read_text("utf-8").splitlines()
    return [line for line in lines if line.startswith("python3 ")]


def test_ci_runs_the_two_commands_and_no_others() -> None:
    assert ci_commands() == ["python3 build", "python3 tests"]


@pytest.mark.parametrize("guide", ["README.md", "DEVELOPERS.md"])
def test_guides_give_the_commands_that_ci_runs(guide: str) -> None:
    text = (ROOT / guide).read_text("utf-8")
    blocks = re.findall(r"^```.*?^```|^ {4}\S[^\n]*$", text, re.MULTILINE | re.DOTALL)
    shown = {re.split(r"\s{2,}|\s#", line.strip())[0] for line in "\n".join(blocks).splitlines()}
    assert set(ci_commands()) <= shown


CARRIERS = {"Problem": 0, "CannotCleanError": 0, "unusable": 2}
"""What makes a message, and which of its arguments is the code."""


def called(node: ast.AST) -> str:
    """Return the plain name of what a call calls."""
    return node.func.id if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) else ""


def carriers_of(tree: ast.Module) -> dict[str, int]:
    """Return the carriers that a module has: those of all, and its own shorthands for them."""
    found = dict(CARRIERS)
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            names = [argument.arg for argument in node.args.args]
            if "code" in names and any(called(inner) in CARRIERS for inner in ast.walk(node)):
                found[node.name] = names.index("code")
    return found


def problem_codes() -> dict[str, str]:
    """Return each problem code the package spells out, and one file that has it.

    A code made from a name, as in ``f"content-no-{name}"``, is given up to that name.
    """
    codes: dict[str, str] = {}
    for path in modules():
        tree = ast.parse(path.read_text("utf-8"))
        carriers = carriers_of(tree)
        for node in ast.walk(tree):
            if not isinstance(node, ast.Call):
                continue
            given = [word.value for word in node.keywords if word.arg == "code"]
            if called(node) in carriers:
                at = carriers[called(node)]
                given += node.args[at : at + 1]
            for value in given:
                if isinstance(value, ast.JoinedStr):
                    value = value.values[0]  # noqa: PLW2901 - the part before the name
                if isinstance(value, ast.Constant) and isinstance(value.value, str):
                    codes[value.value] = path.relative_to(ROOT).as_posix()
    return codes


def test_every_problem_code_is_documented() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    codes = problem_codes()
    # One of each way to say it; without them the search finds nothing, and nothing is missing.
    assert {"town-file-missing", "file-empty", "districts-lost", "drawing-active"} <= codes.keys()
    missing = {code: file for code, file in codes.items() if f"`{code}" not in guide}
    assert missing == {}


def test_the_list_of_codes_is_current() -> None:
    from make_code_list import written  # noqa: PLC0415 - it imports the search above

    guide = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    assert written(guide) == guide, "run tests/make_code_list.py"


def test_problem_codes_are_kebab_case() -> None:
    odd = [code for code in problem_codes() if not re.fullmatch(r"[a-z]+(-[a-z0-9]+)*-?", code)]
    assert odd == []


def test_git_ignores_only_anchored_folders() -> None:
    # A bare `build/` or `private/` would keep source folders of that name out of git.
    lines = (ROOT / ".gitignore").read_text("utf-8").splitlines()
    rules = [line for line in lines if line and not line.startswith("#")]
    bare = {rule for rule in rules if not rule.startswith(("/", "."))}
    assert bare <= {"__pycache__/", "*.pyc"}
    assert {"/site/", "/private/", "/.venv/"} <= set(rules)


def test_no_file_is_borrowed_or_huge() -> None:
    # Third-party scripts and styles come from packages at build time, never from the tree.
    kept = [
        path
        for folder in ("build", "content", "theme", "tests")
        for path in (ROOT / folder).rglob("*")
        if path.is_file()
        if not any(part == "__pycache__" or part[0] == "." for part in path.relative_to(ROOT).parts)
    ]
    assert [path.name for path in kept if path.name.endswith((".min.js", ".min.css"))] == []
    assert [path.name for path in kept if path.stat().st_size > 500_000] == []
