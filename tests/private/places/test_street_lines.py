"""A street as one place, and distances to it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import LineString

from eaveline.private.places.street_lines import FRONTAGE_M, StreetLines


def test_a_straight_street_is_its_middle_and_half_its_length() -> None:
    lines = StreetLines(["Albert Road"], [LineString([(0, 0), (300, 400)])])
    assert lines.place("albert rd") == pytest.approx((150, 200, 250 + FRONTAGE_M))


def test_a_bent_street_is_a_point_on_it_that_reaches_both_ends() -> None:
    # The smallest circle of this right angle is centred on its hypotenuse, (50, 50); the
    # nearest points of the street are (50, 0) and (0, 50), 111.8 m from the further end.
    lines = StreetLines(["Mill Lane"], [LineString([(100, 0), (0, 0), (0, 100)])])
    place = lines.place("Mill Lane")
    assert place is not None
    assert place[2] == pytest.approx(math.hypot(100, 50) + FRONTAGE_M)
    assert min(place[:2]) == pytest.approx(0, abs=1e-9)


def test_two_lines_of_one_name_are_one_street() -> None:
    parts = [LineString([(0, 0), (100, 0)]), LineString([(100, 0), (400, 0)])]
    lines = StreetLines(["High Street", "High St"], parts)
    assert lines.place("High Street") == pytest.approx((200, 0, 200 + FRONTAGE_M))
    assert repr(lines) == "<StreetLines of 1 streets>"


def test_distances_are_to_the_street_named_and_nan_for_none() -> None:
    lines = StreetLines(["High Street"], [LineString([(0, 0), (400, 0)])])
    away = lines.distance_m(
        ["High St", "High St", "Back Lane", None], [50, 430, 0, 0], [30, 40, 0, 0]
    )
    np.testing.assert_allclose(away, [30, 50, np.nan, np.nan])
    assert lines.place("Back Lane") is None
