"""What pyproject.toml, requirements.lock and the wheel say of each other is true."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
import zipfile
from importlib import metadata
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

import bootstrap
import make_lock
import python_version

ROOT = Path(__file__).resolve().parent.parent
PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))

RUNTIME = [
    *PYPROJECT["project"]["dependencies"],
    *PYPROJECT["dependency-groups"]["setup"],
    *PYPROJECT["build-system"]["requires"],
]
TESTS = PYPROJECT["project"]["optional-dependencies"]["test"]


def pins(part: bootstrap.Part) -> dict[str, str]:
    """Return the locked version of each package of a part."""
    lines = make_lock.entries(bootstrap.lock_part(ROOT, part))
    return {name: re.split(r"==|\s", text, maxsplit=2)[1] for name, text in lines.items()}


@pytest.mark.parametrize(
    ("part", "requirement"),
    [*(("runtime", text) for text in RUNTIME), *(("tests", text) for text in TESTS)],
)
def test_lock_satisfies_pyproject(part: bootstrap.Part, requirement: str) -> None:
    wanted = Requirement(requirement)
    pinned = pins(part).get(canonicalize_name(wanted.name))
    assert pinned is not None, "not in requirements.lock; run: python3 tests/make_lock.py"
    assert wanted.specifier.contains(pinned, prereleases=True)


def test_every_locked_package_has_hashes() -> None:
    lines = make_lock.entries(bootstrap.lock_part(ROOT, "tests"))
    assert len(lines) > 80
    assert [name for name, text in lines.items() if "--hash=sha256:" not in text] == []


def test_lock_has_two_parts_without_overlap() -> None:
    first, second = (ROOT / "requirements.lock").read_text("utf-8").split(bootstrap.LOCK_DIVIDER)
    runtime, tests = make_lock.entries(first), make_lock.entries(second)
    assert runtime
    assert tests
    assert runtime.keys() & tests.keys() == set()
    everything = make_lock.entries(bootstrap.lock_part(ROOT, "tests"))
    assert everything == runtime | tests
    assert bootstrap.count_packages(first) == len(runtime)


@pytest.mark.parametrize("part", ["runtime", "tests"])
def test_lock_holds_what_its_packages_need(part: bootstrap.Part) -> None:
    # It is installed with --no-deps: a gap would show only when a module is first imported.
    locked = pins(part)
    missing = {
        (name, needed.name)
        for name in locked
        for text in installed_needs(name, locked[name])
        for needed in [Requirement(text)]
        if needed.marker is None or needed.marker.evaluate({"extra": ""})
        if canonicalize_name(needed.name) not in locked
    }
    assert missing == set()


def installed_needs(name: str, version: str) -> list[str]:
    """Return what a locked package requires; nothing where that version is not installed."""
    try:
        installed = metadata.distribution(name)
    except metadata.PackageNotFoundError:  # of another system, or of the tests only
        return []
    return installed.requires or [] if installed.version == version else []


def test_oldest_python_is_stated_once() -> None:
    oldest = ".".join(str(number) for number in python_version.OLDEST)
    assert PYPROJECT["project"]["requires-python"] == f">={oldest}"
    assert PYPROJECT["tool"]["mypy"]["python_version"] == oldest


def test_package_imports_only_what_it_declares() -> None:
    declared = {
        canonicalize_name(Requirement(text).name) for text in PYPROJECT["project"]["dependencies"]
    }
    providers = metadata.packages_distributions()
    undeclared = {
        (path.relative_to(ROOT).as_posix(), module)
        for path in (ROOT / "build" / "eaveline").rglob("*.py")
        for module in imported_modules(path)
        if module not in sys.stdlib_module_names and module != "eaveline"
        if not declared & {canonicalize_name(name) for name in providers.get(module, [])}
    }
    assert undeclared == set()


def imported_modules(path: Path) -> set[str]:
    """Return the top-level names a file imports, wherever in it."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            found.add(node.module.partition(".")[0])
    return found


def test_wheel_carries_package_and_theme_and_nothing_else(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)],
        cwd=ROOT,
        check=False,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    (wheel,) = tmp_path.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
        (entry_points,) = [name for name in names if name.endswith("entry_points.txt")]
        assert "eaveline = eaveline.cli:main" in archive.read(entry_points).decode()
    own = {name for name in names if ".dist-info/" not in name}
    modules = (ROOT / "build" / "eaveline").rglob("*.py")
    expected = {
        f"eaveline/{path.relative_to(ROOT / 'build/eaveline').as_posix()}" for path in modules
    }
    assert expected <= own
    assert any(name.startswith("eaveline/theme/") for name in own)
    for name in (
        "content/pages/watching-for-swifts.md",
        "group/assets/preview.js",
        "data/messages/messages.pot",
    ):
        assert f"eaveline/{name}" in own
    assert {name for name in own if not name.startswith("eaveline/")} == set()
