"""Columns of text, and row keys made from content."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from eaveline.private.intake.cells import (
    blank_column,
    content_keys,
    key_from_text,
    key_text,
    text_column,
    text_column_of,
)


def test_cells_are_trimmed_and_blank_ones_are_missing() -> None:
    column = text_column_of([" a ", "", "\u00a0", "a", "b\ufeff"])
    assert list(column.categories) == ["a", "b"]
    assert column.codes.tolist() == [0, -1, -1, 0, 1]


def test_distinct_texts_that_differ_in_white_space_become_one() -> None:
    column = text_column(["a", "a ", ""], np.array([0, 1, 2, -1]))
    assert column.codes.tolist() == [0, 0, -1, -1]


@given(st.integers(0, 2**64 - 1))
def test_keys_survive_being_written_down(key: int) -> None:
    text = key_text(key)
    assert text.startswith("r")
    assert key_from_text(f" {text.upper()} ") == key


@pytest.mark.parametrize("text", ["", "x", "r", "r1234567890123", "raaaaaaaaaaaaaaaa", "1e10"])
def test_what_is_no_key_is_none(text: str) -> None:
    assert key_from_text(text) is None


def test_a_key_depends_on_content_alone() -> None:
    rows = {"date": text_column_of(["3/6/26", "4/6/26"]), "who": text_column_of(["Ann", "Bob"])}
    key = content_keys(rows, kind="sightings")
    turned = {"who": text_column_of(["BOB", " ann"]), "date": text_column_of(["4/6/26", "3/6/26"])}
    assert content_keys(turned, kind="sightings").tolist() == key[::-1].tolist()
    with_blank = rows | {"notes": blank_column(2)}
    assert content_keys(with_blank, kind="sightings").tolist() == key.tolist()
    assert content_keys(rows, kind="watches").tolist() != key.tolist()


def test_a_value_in_another_column_is_another_row() -> None:
    street = content_keys({"street": text_column_of(["12"])}, kind="boxes")
    house = content_keys({"house": text_column_of(["12"])}, kind="boxes")
    assert street.tolist() != house.tolist()
