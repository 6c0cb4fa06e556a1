"""Streets and houses as the audit looks for them."""

from __future__ import annotations

from eaveline.audit.houses import house_numbers, street_words


def test_houses_have_numbers() -> None:
    assert house_numbers("12A") == {12}
    assert house_numbers("12-14") == {12, 14}
    assert house_numbers("Rose Cottage") == set()


def test_streets_have_one_spelling() -> None:
    assert street_words("St. Mary's Road") == street_words("SAINT MARYS RD")
    assert street_words("Elm Avenue") != street_words("Elm Close")
