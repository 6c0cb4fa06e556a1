"""Helpers for the private side's tests."""

from __future__ import annotations

from pathlib import Path

import pytest

from eaveline.private.intake.take_in import Intake, take_in
from taking import TODAY, Take, locate_metres


@pytest.fixture
def take(tmp_path: Path) -> Take:
    """Write files into a folder of records and take them in."""

    def take_files(**files: str) -> Intake:
        for name, text in files.items():
            folder, _, stem = name.partition("__")
            path = tmp_path / folder / f"{stem or 'a'}.csv"
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, encoding="utf-8")
        return take_in(tmp_path, locator=locate_metres, today=TODAY)

    return take_files
