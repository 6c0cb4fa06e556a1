"""What may be shown and what may not."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from eaveline.audit.places import Places
from leaks import EAST, NORTH

METRES = st.floats(648_500.0, 651_500.0)


def _published(places: Places, east: float, north: float) -> bool:
    return bool(places.published(np.array([east]), np.array([north]))[0])


@pytest.mark.parametrize(
    ("east", "north", "published"),
    [
        (650_000.0, 330_000.0, True),  # a cell's corner
        (650_050.0, 330_050.0, True),  # its centre
        (650_000.2, 329_999.9, True),  # the corner in degrees with six decimals, and back
        (650_333.3, 330_444.4, True),  # a street's vertex
        (650_333.3, 330_446.4, False),  # two metres beside it
        (650_001.0, 330_000.0, False),
        (EAST, NORTH, False),
    ],
)
def test_cells_and_public_lines_may_be_shown(
    places: Places, east: float, north: float, *, published: bool
) -> None:
    assert _published(places, east, north) is published


@given(i=st.integers(6_480, 6_520), j=st.integers(3_280, 3_320))
def test_every_corner_of_every_cell_may_be_shown(places: Places, i: int, j: int) -> None:
    assert _published(places, 100.0 * i, 100.0 * j)


def test_only_places_away_from_the_register_can_be_allowed(places: Places) -> None:
    x, y = np.array([EAST + 3, EAST + 60]), np.array([NORTH - 4, NORTH])
    near, far = places.hits("coordinate", x, y, source="EPSG:27700")
    assert not near.allowable
    assert far.allowable


def test_a_place_outside_the_town_concerns_nobody(places: Places) -> None:
    x, y = np.array([400_012.3, 650_012.3]), np.array([330_012.3, 400_012.3])
    assert places.hits("coordinate", x, y, source="EPSG:27700") == []


def test_its_text_shows_counts_only(places: Places) -> None:
    assert repr(places) == "Places(1 public, 2 exact points)"
