"""The rectangle a town's records must lie in."""

from __future__ import annotations

import numpy as np
import pytest

from eaveline.private.places.frame import TownFrame

TOWN = TownFrame("EPSG:27700", (648_000, 328_000, 652_000, 332_000))


@pytest.mark.parametrize(
    ("place", "uncertainty_m", "inside"),
    [
        ((650_000, 330_000), 0, True),
        ((646_001, 330_000), 0, True),  # within the margin of 2 km
        ((645_999, 330_000), 0, False),
        ((645_900, 330_000), 100, True),  # its circle reaches the margin
        ((645_900, 325_900), 141, False),  # at the corner the diagonal counts: 141.4 m
        ((645_900, 325_900), 142, True),
        ((np.nan, 330_000), 1e6, False),
    ],
)
def test_a_place_is_inside_if_its_circle_reaches_in(
    place: tuple[float, float], uncertainty_m: float, *, inside: bool
) -> None:
    assert TOWN.contains(*place, uncertainty_m=uncertainty_m) == inside


@pytest.mark.parametrize(
    "bounds", [(652_000, 328_000, 648_000, 332_000), (648_000, 332_000, 652_000, 332_000)]
)
def test_bounds_that_hold_nothing_are_refused(bounds: tuple[float, float, float, float]) -> None:
    with pytest.raises(ValueError, match="west"):
        TownFrame("EPSG:27700", bounds)
