"""How long a start takes when nothing has to be set up: under 0.3 s more than the command."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

import bootstrap

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def ready_project(tmp_path: Path) -> Path:
    """Return a project with our lock whose ``.venv`` is stamped as finished."""
    for name in ("pyproject.toml", "requirements.lock"):
        (tmp_path / name).write_bytes((ROOT / name).read_bytes())
    python = bootstrap.python_in(tmp_path)
    python.parent.mkdir(parents=True)
    python.touch()
    ready = {"fingerprint": bootstrap.fingerprint(tmp_path), "part": "runtime"}
    (tmp_path / ".venv" / "ready.json").write_text(json.dumps(ready), "utf-8")
    return tmp_path


def test_checking_that_nothing_changed(benchmark: BenchmarkFixture, ready_project: Path) -> None:
    benchmark(bootstrap.prepare, ready_project, "runtime")


def test_whole_start_in_a_process_of_its_own(
    benchmark: BenchmarkFixture, ready_project: Path
) -> None:
    check = (
        f"import sys; sys.path.insert(0, {str(ROOT / 'build')!r}); import pathlib, bootstrap;"
        f"bootstrap.prepare(pathlib.Path({str(ready_project)!r}), 'runtime')"
    )
    # Less the time of `python -S -c ""`, this is what a start adds before the command begins.
    benchmark(subprocess.run, [sys.executable, "-c", check], check=True)
