"""Runs the command as a person types it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

PACKAGE = Path(__file__).resolve().parent.parent / "build"


def run(*words: str, cwd: Path, typed: str = "") -> subprocess.CompletedProcess[str]:
    """Run ``eaveline`` with some words in a folder; `typed` answers its questions."""
    environment = dict(os.environ, PYTHONPATH=str(PACKAGE), COLUMNS="100", NO_COLOR="1")
    return subprocess.run(
        [sys.executable, "-m", "eaveline", *words],
        cwd=cwd,
        env=environment,
        input=typed,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
