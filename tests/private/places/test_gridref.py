"""Grid references: the published examples, every usual typing, and there and back again."""

from __future__ import annotations

import math

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from eaveline.private.places.gridref import (
    SQUARES,
    GridFault,
    GridSquare,
    format_grid_ref,
    parse_grid_ref,
    parse_grid_refs,
)


@pytest.mark.parametrize(
    ("text", "easting", "northing", "size_m"),
    [
        # Ordnance Survey, A guide to coordinate systems in Great Britain, worked example:
        # E 651409, N 313177 is TG 51409 13177.
        ("TG 51409 13177", 651409, 313177, 1),
        # Ordnance Survey, Using the National Grid: NN 166 712 is the summit of Ben Nevis.
        ("NN 166 712", 216600, 771200, 100),
        ("SV", 0, 0, 100_000),
        ("HP 60 10", 460000, 1210000, 1000),
        ("TG 50 30", 650000, 330000, 1000),
        ("tg5030", 650000, 330000, 1000),
        ("TG 5012,3045", 650120, 330450, 10),
        ("TG 5012 3045", 650120, 330450, 10),
        ("TG5012,3045", 650120, 330450, 10),
        ("tg.501.304", 650100, 330400, 100),
        ("TG-501-304", 650100, 330400, 100),
        ("T G 501 304", 650100, 330400, 100),
        ("NGR: TG 501 304", 650100, 330400, 100),
        ("Grid ref TG501304", 650100, 330400, 100),
        ("TG 50123.4 30456.9", 650123, 330456, 1),
        ("TG53", 650000, 330000, 10_000),
        # DINTY: A is the south-west tetrad, E the north-west, V the south-east, Z the
        # north-east; letters run up the columns, and O is left out.
        ("TG53A", 650000, 330000, 2000),
        ("TG53E", 650000, 338000, 2000),
        ("tg 53 n", 654000, 336000, 2000),
        ("TG53P", 654000, 338000, 2000),
        ("TG53V", 658000, 330000, 2000),
        ("TG53Z", 658000, 338000, 2000),
        ("TG53NE", 655000, 335000, 5000),
    ],
)
def test_british_references_are_read(text: str, easting: int, northing: int, size_m: int) -> None:
    assert parse_grid_ref(text) == GridSquare(easting, northing, size_m, "GB")


def test_irish_references_have_one_letter() -> None:
    # The Spire of Dublin, the usual example of the Irish Grid: O 15904 34671 (from memory).
    assert parse_grid_ref("O 15904 34671") == GridSquare(315904, 234671, 1, "IE")
    assert parse_grid_ref("j 33 74") == GridSquare(333000, 374000, 1000, "IE")


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("TG 501 30", "grid-ref-odd-figures"),
        ("TG 50 304", "grid-ref-odd-figures"),
        ("TG 5 304", "grid-ref-odd-figures"),
        ("TG501", "grid-ref-odd-figures"),
        ("TG 501234 304567", "grid-ref-too-long"),
        ("501 304", "grid-ref-letters-missing"),
        ("TI 50 30", "grid-ref-letters-unknown"),
        ("TH 50 30", "grid-ref-letters-unknown"),
        ("GT 50 30", "grid-ref-letters-unknown"),
        ("TG53O", "grid-ref-unreadable"),
        ("TG501304A", "grid-ref-unreadable"),
        ("TG5O13O4", "grid-ref-unreadable"),
        ("by the church", "grid-ref-unreadable"),
        ("", "grid-ref-unreadable"),
    ],
)
def test_what_is_wrong_is_named(text: str, code: str) -> None:
    fault = parse_grid_ref(text)
    assert isinstance(fault, GridFault)
    assert fault.code == code


@pytest.mark.parametrize(
    ("size_m", "uncertainty_m"),
    # Chapman & Wieczorek 2020, Georeferencing Best Practices: half the diagonal.
    [(100, 70.71), (1000, 707.1), (2000, 1414.2), (10_000, 7071.1)],
)
def test_uncertainty_is_half_the_diagonal(size_m: int, uncertainty_m: float) -> None:
    square = GridSquare(650000, 330000, size_m, "GB")
    assert square.uncertainty_m == pytest.approx(uncertainty_m, rel=1e-4)
    assert square.centre == (650000 + size_m / 2, 330000 + size_m / 2)


def test_there_are_91_british_and_25_irish_squares() -> None:
    # 7 columns of 100 km by 13 rows; 5 by 5.
    assert sum(len(letters) == 2 for letters in SQUARES) == 91
    assert sum(len(letters) == 1 for letters in SQUARES) == 25
    assert len(set(SQUARES)) == 116


eastings = st.floats(0, 699_999.99)
northings = st.floats(0, 1_299_999.99)


@given(eastings, northings, st.sampled_from([0, 2, 4, 6, 8, 10]))
def test_a_reference_is_truncated_and_never_rounded(e: float, n: float, figures: int) -> None:
    square = parse_grid_ref(format_grid_ref(e, n, figures=figures))
    assert isinstance(square, GridSquare)
    assert square.size_m == 10 ** (5 - figures // 2)
    assert square.easting == math.floor(e) // square.size_m * square.size_m
    assert square.northing == math.floor(n) // square.size_m * square.size_m


@given(st.floats(0, 499_999.99), st.floats(0, 499_999.99), st.sampled_from([2000, 100, 1]))
def test_irish_references_come_back(e: float, n: float, size_m: int) -> None:
    square = parse_grid_ref(format_grid_ref(e, n, size_m=size_m, system="IE"))
    assert isinstance(square, GridSquare)
    assert square.system == "IE"
    assert 0 <= e - square.easting < size_m
    assert 0 <= n - square.northing < size_m


@given(st.text(max_size=25))
def test_no_text_makes_it_fall_over(text: str) -> None:
    assert isinstance(parse_grid_ref(text), GridSquare | GridFault)


@pytest.mark.parametrize(
    "wrong",
    [{}, {"figures": 6, "size_m": 100}, {"figures": 5}, {"figures": 12}, {"size_m": 50}],
)
def test_precision_must_be_one_there_is(wrong: dict[str, int]) -> None:
    with pytest.raises(ValueError, match="figures"):
        format_grid_ref(650000, 330000, **wrong)  # type: ignore[arg-type]  # wrong on purpose


@pytest.mark.parametrize("place", [(-1, 0), (700_000, 0), (0, 1_300_000), (math.nan, 0)])
def test_a_point_off_the_grid_has_no_reference(place: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="outside"):
        format_grid_ref(*place, figures=4)


written = st.one_of(
    st.builds(
        lambda e, n, figures, squeeze: format_grid_ref(e, n, figures=figures).replace(
            " ", "" if squeeze else " "
        ),
        eastings,
        northings,
        st.sampled_from([0, 2, 4, 6, 8, 10]),
        st.booleans(),
    ),
    st.from_regex(r"[A-Za-z]{2} ?\d{0,6} ?\d{0,6}", fullmatch=True),
    st.text(max_size=14),
)


@given(st.lists(written, max_size=30))
def test_many_at_once_are_read_as_one_by_one(texts: list[str]) -> None:
    read = parse_grid_refs(pd.Series(texts, dtype="str"))
    for text, blank, row in zip(texts, read["easting"].isna(), read.itertuples(), strict=True):
        single = parse_grid_ref(text)
        if isinstance(single, GridFault):
            assert row.problem == single.code
            assert blank
        else:
            assert (row.easting, row.northing) == single.centre
            assert (row.size_m, row.system) == (single.size_m, single.system)
            assert not isinstance(row.problem, str)
