"""What the computer refuses is told in plain words, and is no fault of ours."""

from __future__ import annotations

import errno

import pytest

from eaveline.system_faults import refused_by_system


@pytest.mark.parametrize(
    ("error", "told"),
    [
        (OSError(errno.ENOSPC, "x", "/home/ann/town/private/a.csv"), "The disc is full."),
        (
            PermissionError(
                errno.EACCES,
                "x",
                "/home/ann/town/private/review/rows-to-fix.csv.part",
                None,
                "/home/ann/town/private/review/rows-to-fix.csv",
            ),
            "private/review/rows-to-fix.csv: The computer does not let this file be",
        ),
        (PermissionError(errno.EACCES, "x", "/home/ann/site.zip"), "site.zip: The computer"),
        (OSError(errno.EIO, "x"), "The computer does not let this file be"),
    ],
)
def test_a_refusal_is_told_with_its_file_below_the_town(error: OSError, told: str) -> None:
    said = str(refused_by_system(error))
    assert said.startswith(told)
    assert "ann" not in said
