"""What lies near a street."""

from __future__ import annotations

from pathlib import Path

import pytest

from eaveline.public.maps.basemap import load_basemap
from eaveline.public.pages.near_by import NearBy
from eaveline.public.pages.site_views import StreetView, square_views, street_views
from eaveline.public.records import PublicRelease


@pytest.fixture
def streets(release: PublicRelease, map_folder: Path) -> dict[str, StreetView]:
    basemap = load_basemap(map_folder, crs=release.crs)
    views = street_views(release, basemap, square_views(release))
    return {street.slug: street for street in views}


def test_streets_that_share_squares_are_near(
    release: PublicRelease, streets: dict[str, StreetView]
) -> None:
    near = NearBy(release, streets.values())
    # Swan Street runs through R004 with Market Place, and through R007 with Mill Lane.
    assert [street.slug for street in near.streets(streets["swan-street"])] == [
        "market-place",
        "mill-lane",
    ]
    assert near.streets(streets["sea-bank"]) == ()


def test_the_nearest_square_with_swifts_is_measured_in_squares(
    release: PublicRelease, streets: dict[str, StreetView]
) -> None:
    near = NearBy(release, streets.values())
    assert near.nearest_swifts(streets["albert-road"]) is None  # has some itself
    assert near.nearest_swifts(streets["sea-bank"]) is None  # lies outside
    # From R008's cell (6504, 3303) to R006's cell (6502, 3301): two squares each way, 283 m.
    nearest = near.nearest_swifts(streets["far-common-lane"])
    assert nearest is not None
    assert nearest.distance_m == 300
    assert nearest.number == "6"
