"""Latitudes and longitudes in every usual typing, and what their figures say of precision."""

from __future__ import annotations

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from eaveline.private.places.latlon import (
    Angle,
    AngleFault,
    parse_angle,
    parse_angles,
    parse_pair,
    precision_uncertainty_m,
)


@pytest.mark.parametrize(
    ("text", "degrees", "axis"),
    [
        ("52.81", 52.81, None),
        ("+52.81", 52.81, None),
        ("-1.74", -1.74, None),
        ("\u22121.74", -1.74, None),
        ("52,81", 52.81, None),
        ("52.81N", 52.81, "latitude"),
        ("N 52.81", 52.81, "latitude"),
        ("1.74 W", -1.74, "longitude"),
        ("1.74 west", -1.74, "longitude"),
        ("52°48'36\"N", 52.81, "latitude"),
        ("52\u00ba 48\u2019 36\u201d n", 52.81, "latitude"),
        ("52\u02da48\u203236\u2033 N", 52.81, "latitude"),
        ("52° 48' 36'' North", 52.81, "latitude"),
        ("52 48 36", 52.81, None),
        ("52-48-36", 52.81, None),
        ("52d48m36s N", 52.81, "latitude"),
        ("52 deg 48.6 min", 52.81, None),
        ("N52 48.600", 52.81, "latitude"),
        ("001 44.400 E", 1.74, "longitude"),
        ("Lat: 52.81", 52.81, None),
        ("Long 1.74", 1.74, None),
    ],
)
def test_angles_are_read(text: str, degrees: float, axis: str | None) -> None:
    angle = parse_angle(text)
    assert isinstance(angle, Angle)
    assert angle.degrees == pytest.approx(degrees, abs=1e-12)
    assert angle.axis == axis


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("52 61 0", "angle-minutes-too-large"),
        ("52 48 60", "angle-minutes-too-large"),
        ("91 N", "angle-out-of-range"),
        ("181", "angle-out-of-range"),
        ("650123", "angle-out-of-range"),
        ("52.5 30", "angle-unreadable"),
        ("52'N", "angle-unreadable"),
        ("N 52.81 N", "angle-unreadable"),
        ("-1.74 W", "angle-unreadable"),
        ("TG 50 30", "angle-unreadable"),
        ("north", "angle-unreadable"),
        ("", "angle-unreadable"),
    ],
)
def test_what_is_wrong_is_named(text: str, code: str) -> None:
    assert parse_angle(text) == AngleFault(code)  # type: ignore[arg-type]  # one of its codes


@pytest.mark.parametrize(
    "text",
    [
        "52.81, 1.74",
        "52.81,1.74",
        "52.81 1.74",
        "(52.81, 1.74)",
        "52.81; 1.74",
        "52.81/1.74",
        "52,81; 1,74",
        "52,81 1,74",
        "52,81, 1,74",
        "52.81N 1.74E",
        "52.81N, 1.74E",
        "N52.81 E1.74",
        "N52 48.600 E001 44.400",
        "1.74E 52.81N",
        "52°48'36\"N 1°44'24\"E",
        "52 48 36, 1 44 24",
        "52 48 36 1 44 24",
        "lat 52.81 long 1.74",
    ],
)
def test_two_angles_in_one_cell_are_read(text: str) -> None:
    pair = parse_pair(text)
    assert isinstance(pair, tuple)
    assert [angle.degrees for angle in pair] == pytest.approx([52.81, 1.74], abs=1e-12)


def test_a_sign_before_the_second_angle_is_its_own() -> None:
    pair = parse_pair("52.81 -1.74")
    assert isinstance(pair, tuple)
    assert pair[1].degrees == -1.74


@pytest.mark.parametrize("text", ["52.81", "52,81,1,74", "52.81N 1.74N", "somewhere", ""])
def test_what_is_no_pair_is_none(text: str) -> None:
    assert parse_pair(text) == AngleFault("angle-unreadable")


@pytest.mark.parametrize(
    ("text", "precision_deg"),
    [
        ("52.8", 0.1),
        ("52.8123", 0.0001),
        ("52", 1.0),
        ("52 48", 1 / 60),
        ("52 48.6", 0.1 / 60),
        ("52 48 36", 1 / 3600),
        ("52 48 36.25", 0.01 / 3600),
    ],
)
def test_precision_is_one_unit_of_the_last_figure(text: str, precision_deg: float) -> None:
    angle = parse_angle(text)
    assert isinstance(angle, Angle)
    assert angle.precision_deg == pytest.approx(precision_deg)


@pytest.mark.parametrize(
    ("latitude", "precision_deg", "metres"),
    # Chapman & Wieczorek 2020, Georeferencing Best Practices, table of uncertainty from
    # coordinate precision (from memory, and agreeing with the ellipsoid's formulas).
    [(0, 1, 156_904), (0, 0.1, 15_691), (0, 0.001, 157), (30, 1, 146_962), (60, 1, 124_605)],
)
def test_precision_becomes_metres(latitude: float, precision_deg: float, metres: float) -> None:
    assert precision_uncertainty_m(latitude, precision_deg) == pytest.approx(metres, rel=3e-3)


@given(st.floats(-179.99, 179.99), st.integers(0, 8))
def test_decimal_degrees_come_back(degrees: float, decimals: int) -> None:
    angle = parse_angle(f"{degrees:.{decimals}f}")
    assert isinstance(angle, Angle)
    assert angle.degrees == round(degrees, decimals)


@given(st.integers(0, 89), st.integers(0, 59), st.integers(0, 599), st.sampled_from("NS"))
def test_degrees_minutes_seconds_come_back(d: int, m: int, tenths: int, letter: str) -> None:
    angle = parse_angle(f"{d}\u00b0{m}\u2032{tenths / 10}\u2033{letter}")
    assert isinstance(angle, Angle)
    expected = d + m / 60 + tenths / 36_000
    assert angle.degrees == pytest.approx(expected if letter == "N" else -expected)


@given(st.text(alphabet="0123456789.,-+ NSEW°'\"dms;/", max_size=24))
def test_no_text_makes_it_fall_over(text: str) -> None:
    assert isinstance(parse_angle(text), Angle | AngleFault)
    parse_pair(text)


cells = st.one_of(
    st.floats(-200, 200).map(lambda value: f"{value:.5f}"),
    st.text(alphabet="0123456789.,- NSEW°'\"", max_size=14),
)


@given(st.lists(cells, max_size=20))
def test_many_at_once_are_read_as_one_by_one(texts: list[str]) -> None:
    read = parse_angles(pd.Series(texts, dtype="str"))
    for text, blank, row in zip(texts, read["degrees"].isna(), read.itertuples(), strict=True):
        single = parse_angle(text)
        if isinstance(single, AngleFault):
            assert row.problem == single.code
            assert blank
        else:
            assert row.degrees == pytest.approx(single.degrees)
            assert row.precision_deg == pytest.approx(single.precision_deg)
