"""A house's number in words, and words that are no house's number."""

from __future__ import annotations

import pytest

from eaveline.audit.number_words import in_figures


@pytest.mark.parametrize(
    ("words", "figures"),
    [
        ("number seven", "number 7"),
        ("No. nineteen", "No. 19"),
        ("house twenty", "house 20"),
        ("Number Forty-Two", "Number 42"),
        ("flat ninety nine", "flat 99"),
        ("number one hundred", "number 100"),
        ("number a hundred and one", "number 101"),
        ("number two hundred and sixty-three", "number 263"),
        ("at thirteen", "at 13"),
        ("at twelve", "at twelve"),  # an hour
        ("seven swifts", "seven swifts"),
        ("number sevenoaks", "number sevenoaks"),
        ("no tenants", "no tenants"),
    ],
)
def test_numbers_after_such_words_are_read_in_figures(words: str, figures: str) -> None:
    read = in_figures(f"x {words}, Mill Lane")
    assert " ".join(read.split()) == f"x {figures}, Mill Lane"
    assert len(read) == len(f"x {words}, Mill Lane")  # what is found is told by its place
