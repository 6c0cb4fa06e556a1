"""Positions as two numbers, against the same nest written in many ways."""

from __future__ import annotations

import pytest
from convertbng.cutil import convert_osgb36_to_ll
from hypothesis import given
from hypothesis import strategies as st
from pyproj import Transformer

from eaveline.audit.coordinates import Halves, coordinate_hits
from eaveline.audit.places import Places
from eaveline.audit.text import BREAK
from leaks import EAST, LATITUDE, LONGITUDE, NORTH

LAT, LON = f"{LATITUDE:.5f}", f"{LONGITUDE:.5f}"
MERCATOR_X, MERCATOR_Y = Transformer.from_crs(4326, 3857, always_xy=True).transform(
    LONGITUDE, LATITUDE
)
UTM_X, UTM_Y = Transformer.from_crs(4326, 32631, always_xy=True).transform(LONGITUDE, LATITUDE)


@pytest.mark.parametrize(
    "text",
    [
        f"{LAT}, {LON}",
        f"{LON} {LAT}",
        f"{LAT};{LON}",
        f"{LAT}/{LON}",
        f"{LAT}N {LON}E",
        f"lat={LAT}&lon={LON}&zoom=17",
        f"#map=17/{LAT}/{LON}",
        f"@{LAT},{LON},17z",
        f"geo:{LAT},{LON}",
        f"+{LAT}+00{LON}/",
        f"{LAT} {LON}".replace(".", ","),
        f"{LAT} {LON}".replace(".", "\u00b7"),
        f"latitude (north) {LAT} degrees, and then the longitude (east of Greenwich) {LON}",
        f"POINT Z ({LON} {LAT} 12.0)",
        f'{{"type": "Point", "coordinates": [{LON}, {LAT}]}}',
        f"{LATITUDE:.4f}, {LONGITUDE:.4f}",
        f"{EAST:.0f} {NORTH:.0f}",
        f"{EAST:.0f},{NORTH:.0f}",
        f"{EAST:,.1f} E, {NORTH:,.1f} N",
        f"E{EAST:.0f}N{NORTH:.0f}",
        "650 112 / 330 238",
        f'"easting": {EAST}, "northing": {NORTH}',
        f"northing {NORTH:.0f}, easting {EAST:.0f}",
        f"M{EAST:.1f} -{NORTH:.1f}",
        f"{MERCATOR_X:.1f}, {MERCATOR_Y:.1f}",
        f"31U {UTM_X:.0f} {UTM_Y:.0f}",
    ],
)
def test_every_way_to_write_the_nest_is_found(places: Places, text: str) -> None:
    hits, _ = coordinate_hits(text, places)
    assert hits
    assert not any(hit.allowable for hit in hits)
    # Worked back: the hit's value is the nest to a few metres, as exact as the notation.
    _, east, north = hits[0].value.split()
    assert float(east) == pytest.approx(EAST, abs=8)
    assert float(north) == pytest.approx(NORTH, abs=8)


@pytest.mark.parametrize(
    "text",
    [
        f"{LATITUDE:.2f}, {LONGITUDE:.2f}",  # about a kilometre
        "650000 330000",  # a cell's corner
        "650050,330050",  # its centre
        "53.81234, -1.54321",  # elsewhere
        f"{LAT} of them",
        "chapter 52.8, section 1.7",
        "[6501, 3302]",  # a cell's two small numbers
        "margin: 1.713rem; width: 52.812%",
        "650112 visitors",
        "2026-06-03T21:40:00+01:00",
    ],
)
def test_what_is_no_finer_than_a_cell_passes(places: Places, text: str) -> None:
    assert coordinate_hits(text, places)[0] == []


def test_published_vertices_pass_and_a_nest_among_them_does_not(places: Places) -> None:
    corners = [(650_000.0, 330_000.0), (650_333.3, 330_444.4), (650_100.0, 330_200.0)]
    lon, lat = convert_osgb36_to_ll(*map(list, zip(*corners, strict=True)))
    public = [f"[{x:.6f},{y:.6f}]" for x, y in zip(lon, lat, strict=True)]
    assert coordinate_hits(",".join(public), places)[0] == []
    public.insert(2, f"[{LONGITUDE:.6f},{LATITUDE:.6f}]")
    hits, _ = coordinate_hits(",".join(public), places)
    assert len(hits) == 1
    assert hits[0].offset == len(",".join(public[:2])) + 2


@given(east=st.floats(648_200, 651_800), north=st.floats(328_200, 331_800))
def test_any_place_in_town_off_the_grid_is_found(places: Places, east: float, north: float) -> None:
    lon, lat = convert_osgb36_to_ll([east], [north])
    # The conversion's own error aside, the point must be clearly off the half-cell grid.
    off = max(abs(east - round(east / 50) * 50), abs(north - round(north / 50) * 50))
    if off > 1.5:
        assert coordinate_hits(f"{lat[0]:.6f} {lon[0]:.6f}", places)[0]


def test_texts_apart_are_not_read_as_one(places: Places) -> None:
    hits, lone = coordinate_hits(f"{LAT}{BREAK}{LON}", places)
    assert hits == []
    assert {number.axis for number in lone} == {"latitudes", "longitudes"}


def test_halves_far_apart_in_a_file_make_a_place() -> None:
    assert Halves.of(["latitudes", "longitudes"]).make_a_place
    assert Halves.of(["eastings", "northings"] * 3).make_a_place


def test_a_half_alone_makes_none() -> None:
    assert not Halves.of(["latitudes"] * 9).make_a_place
    assert not Halves.of(["eastings", "northings"]).make_a_place


def test_numbers_on_the_grid_are_no_halves(places: Places) -> None:
    assert coordinate_hits("650100, 650150", places)[1] == []
