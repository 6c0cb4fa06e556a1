"""Kilometres east and north, and the many numbers that are none."""

from __future__ import annotations

import pytest

from eaveline.audit.kilometres import kilometre_hits
from eaveline.audit.places import places_of
from leaks import town_secrets

PLACES = places_of(town_secrets())


@pytest.mark.parametrize(
    "text",
    [
        "650.112, 330.238",
        "N 330.24 and, further on, E 650.11",
        "x=650,112 y=330,238 km",
        "POINT(650.1124 330.2377)",
    ],
)
def test_a_registered_place_is_a_hit_that_cannot_be_allowed(text: str) -> None:
    assert [hit.allowable for hit in kilometre_hits(text, PLACES)] == [False]


@pytest.mark.parametrize(
    ("text", "hits"),
    [
        ("At 650.337, 330.861 (grid, in km)", 1),
        ("Easting 650.337 km, northing 330.861 km", 1),
        ("M650.337,330.861l5.1,2.2", 0),
        ("650.3 km by 330.9 km", 0),
        ("At 650.300, 330.900 (grid, in km)", 0),
        ("£650.11 in all, and 17 more", 0),
        ("1650.112, 330.2381.5 km", 0),
        ("650.112 km from here", 0),
    ],
)
def test_other_places_need_a_word_that_says_what_they_are(text: str, hits: int) -> None:
    """A corner of the published grid, a tenth of a kilometre, a drawing: none of them tells."""
    assert len(kilometre_hits(text, PLACES)) == hits
