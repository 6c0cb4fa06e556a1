"""Sentences with numbers say what the numbers mean."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from eaveline.public.records import BoxUse, PublicRelease
from eaveline.public.words.wording import MapLayer as Layer
from eaveline.public.words.wording import (
    bands,
    box_use,
    boxes_standing,
    date,
    share,
    single_share,
    smallest_region,
    streets_squares,
    widest_region,
)


@pytest.mark.parametrize(
    ("found", "looked", "unknown", "words"),
    [
        (0, 0, 0, "Elm Row runs through no square of the map."),
        (
            1,
            0,
            0,
            "Elm Row runs through one square of the map. Swift nest sites have been found in it.",
        ),
        (
            2,
            0,
            0,
            (
                "Elm Row runs through 2 squares of the map. "
                "Swift nest sites have been found in both of them."
            ),
        ),
        (
            1,
            2,
            1,
            (
                "Elm Row runs through 4 squares of the map. "
                "Swift nest sites have been found in one of them. "
                "In 2 more, watching has found none so far. "
                "The other has not been watched enough to say."
            ),
        ),
        (
            0,
            0,
            3,
            (
                "Elm Row runs through 3 squares of the map. "
                "None of them has been watched enough to say."
            ),
        ),
    ],
)
def test_a_street_is_told_by_its_squares(found: int, looked: int, unknown: int, words: str) -> None:
    assert streets_squares("Elm Row", found=found, looked=looked, unknown=unknown) == words


def test_use_of_boxes_is_never_a_bare_share() -> None:
    assert box_use(None) == "too few buildings checked to say"
    assert box_use(BoxUse(buildings_checked=14, used_at_least=0)).startswith("no swifts seen")
    assert box_use(BoxUse(buildings_checked=14, used_at_least=3)) == (
        "swifts used boxes at no fewer than 3 of the 14 buildings checked"
    )


@pytest.mark.parametrize(("count", "verb"), [(1, "There is 1 nest box "), (2, "There are 2 nest ")])
def test_boxes_agree_with_their_verb(count: int, verb: str) -> None:
    assert boxes_standing(count, "Elm").startswith(verb)
    assert "no nest box" in boxes_standing(0, "Elm")


@given(st.integers(0, 10_000), st.integers(0, 10_000))
def test_only_all_reads_as_all_and_only_none_as_none(part: int, rest: int) -> None:
    words = share(part, part + rest)
    assert (words == "none") == (part == 0)
    assert (words == "100%") == (part > 0 and rest == 0)
    assert words != "0%"


@given(st.dates())
def test_a_date_in_words_can_be_read_back(day: dt.date) -> None:
    # Year last and month as a word, so it reads one way only. The C locale's names are English.
    number, month, year = date(day).split()
    assert dt.date(int(year), dt.datetime.strptime(month, "%B").month, int(number)) == day  # noqa: DTZ007


def test_partition_in_numbers(release: PublicRelease) -> None:
    # Regions of one cell hold 14 + 22 + 18 + 31 + 12 + 16 = 113 of 134 premises.
    assert single_share(release) == "84%"
    assert smallest_region(release) == 10
    assert widest_region(release) == 3
    assert bands(release, Layer.SWIFT_NESTS) == "1 to 2, 3 to 5, 6 to 10, 11 or more"
