"""The catalogue of places: full sentences, no values, and every code the code uses."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import eaveline.private
from eaveline.private.places.place_problems import PLACE_PROBLEMS, PLACE_REPAIRS

SOURCES = "\n".join(
    path.read_text(encoding="utf-8")
    for path in sorted(Path(eaveline.private.__path__[0]).rglob("*.py"))
    if path.name != "place_problems.py"
)


@pytest.mark.parametrize("code", PLACE_PROBLEMS)
def test_each_problem_says_what_and_what_next(code: str) -> None:
    what, next_step = PLACE_PROBLEMS[code]
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", code)
    assert what.endswith(".")
    assert next_step.endswith(".")


@pytest.mark.parametrize("code", [*PLACE_PROBLEMS, *PLACE_REPAIRS])
def test_no_code_is_left_over(code: str) -> None:
    assert f'"{code}"' in SOURCES


def test_no_code_is_both_a_problem_and_a_repair() -> None:
    assert not PLACE_PROBLEMS.keys() & PLACE_REPAIRS.keys()
