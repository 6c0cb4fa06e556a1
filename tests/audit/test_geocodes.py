"""Geohashes, open location codes, against published pairs."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from eaveline.audit.geocodes import (
    geocode_hits,
    geocode_patterns,
    geohash_box,
    geohash_of,
    open_code_box,
)
from eaveline.audit.places import Places
from leaks import LATITUDE, LONGITUDE


@pytest.mark.parametrize(
    ("code", "latitude", "longitude"),
    # The geohash pairs given wherever the system is described.
    [("ezs42", 42.605, -5.603), ("u4pruydqqvj", 57.64911, 10.40744)],
)
def test_geohashes_decode_to_their_published_places(
    code: str, latitude: float, longitude: float
) -> None:
    found = geohash_box(code).centre
    assert found == pytest.approx((longitude, latitude), abs=0.0005)
    assert geohash_of(latitude, longitude, len(code)) == code


@pytest.mark.parametrize(
    ("code", "latitude", "longitude"),
    # Open Location Code specification, published test data for decoding.
    [
        ("7FG49Q00+", 20.375, 2.775),
        ("7FG49QCJ+2V", 20.3700625, 2.7821875),
        ("7FG49QCJ+2VX", 20.3701125, 2.782234375),
    ],
)
def test_open_codes_decode_to_their_published_places(
    code: str, latitude: float, longitude: float
) -> None:
    # Zeros stand for digits left out.
    assert open_code_box(code.replace("0", "")).centre == pytest.approx((longitude, latitude))


@given(st.floats(-89, 89), st.floats(-179, 179), st.integers(1, 12))
def test_a_geohash_holds_the_point_it_was_made_from(
    latitude: float, longitude: float, letters: int
) -> None:
    box = geohash_box(geohash_of(latitude, longitude, letters))
    assert box.south <= latitude <= box.south + box.height
    assert box.west <= longitude <= box.west + box.width


def _found(text: str, places: Places) -> list[bool]:
    hits = geocode_hits(text, places, geocode_patterns(places))
    return [hit.allowable for hit in hits]


NEST = geohash_of(LATITUDE, LONGITUDE, 9)


def _open_code(latitude: float, longitude: float) -> str:
    """Encode by the specification's integer method, unlike the decoder under test."""
    down, across = int((latitude + 90) * 8000), int((longitude + 180) * 8000)
    digits = ""
    for _ in range(5):
        digits = "23456789CFGHJMPQRVWX"[down % 20] + "23456789CFGHJMPQRVWX"[across % 20] + digits
        down, across = down // 20, across // 20
    return f"{digits[:8]}+{digits[8:]}"


OPEN = _open_code(LATITUDE, LONGITUDE)


@pytest.mark.parametrize(
    "text",
    [
        f"at {NEST}.",
        f"?hash={NEST[:8]}",
        NEST.upper(),
        OPEN,
        f"{OPEN.lower()}9",
        f"{OPEN[4:]} Ottersley",
        f"find={OPEN[2:]}",
    ],
)
def test_codes_of_less_than_a_cell_are_found(places: Places, text: str) -> None:
    assert _found(text, places) == [False]


def test_the_nest_s_own_codes_cannot_be_allowed(places: Places) -> None:
    assert _found(f"{NEST} {OPEN}", places) == [False, False]


@pytest.mark.parametrize(
    "text",
    [
        NEST[:7],  # 153 m by 93 m at this latitude
        f"{OPEN[:8]}+",
        "u4pruydqqvj",
        "7FG49QCJ+2V",
        "2345+67",
        "sha256-" + NEST + "0123456789abcdefghij",
    ],
)
def test_coarse_or_distant_codes_pass(places: Places, text: str) -> None:
    assert _found(text, places) == []
