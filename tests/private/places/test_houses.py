"""House numbers and names, however they are typed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from eaveline.private.places.houses import House, numbers_within, read_house


@pytest.mark.parametrize(
    ("text", "house"),
    [
        ("12", House("12")),
        ("012", House("12")),
        ("12.0", House("12")),
        ("12a", House("12a")),
        ("12 A", House("12a")),
        ("No. 12", House("12")),
        ("no 12", House("12")),
        ("Number 12", House("12")),
        ("#12", House("12")),
        ("House 12", House("12")),
        ("12\u00bd", House("12\u00bd")),
        ("12-14", House("12-14")),
        ("12 \u2013 14", House("12-14")),
        ("12 to 14", House("12-14")),
        ("12/14", House("12-14")),
        ("12 & 14", House("12-14")),
        ("12/3", House("12", unit="3")),
        ("Flat 3, 12", House("12", unit="3")),
        ("Flat B, 12a", House("12a", unit="b")),
        ("12 flat 3", House("12", unit="3")),
        ("Ground floor flat, 12", House("12", unit="ground floor flat")),
        ("Flat 3, Malthouse Court", House(name="malthouse court", unit="3")),
        ("The Old Forge", House(name="old forge")),
        ("the old forge.", House(name="old forge")),
        ("St Anne's Church", House(name="st annes church")),
        ("12 The Old Forge", House("12", "old forge")),
        ("The Old Forge, 12", House("12", "old forge")),
        ("Flat 3", House(unit="3")),
        ("", House()),
        ("?", House()),
    ],
)
def test_houses_are_read(text: str, house: House) -> None:
    assert read_house(text) == house


def test_a_flat_alone_finds_no_building() -> None:
    assert not read_house("Flat 3")
    assert read_house("12")


@pytest.mark.parametrize(
    ("house_range", "numbers"),
    [
        ("12", ("12",)),
        ("12-16", ("12", "14", "16")),
        ("11-13", ("11", "13")),
        ("12-13", ("12", "13")),  # both sides of the street: only the ends
        ("12-200", ("12", "200")),
    ],
)
def test_a_range_stands_for_one_side_of_the_street(
    house_range: str, numbers: tuple[str, ...]
) -> None:
    assert numbers_within(house_range) == numbers


@given(st.integers(1, 99_999), st.sampled_from(["", *"abcdefgh"]))
def test_every_plain_number_is_itself(number: int, letter: str) -> None:
    assert read_house(f" {number}{letter.upper()} ").number == f"{number}{letter}"


@given(st.text(max_size=30))
def test_no_text_makes_it_fall_over(text: str) -> None:
    read_house(text)
