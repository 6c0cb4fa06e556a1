"""Placing records: every way to say where, what is put right, and what is held."""

from __future__ import annotations

import random

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString

from eaveline.geodesy import to_degrees
from eaveline.private.intake.schema import PLACE_COLUMNS
from eaveline.private.places.addresses import AddressBook
from eaveline.private.places.frame import TownFrame
from eaveline.private.places.gridref import format_grid_ref
from eaveline.private.places.locate import locate
from eaveline.private.places.place_problems import PLACE_PROBLEMS, PLACE_REPAIRS
from eaveline.private.places.street_lines import StreetLines
from eaveline.private.places.streets import StreetMatcher

TOWN = TownFrame("EPSG:27700", (648_000, 328_000, 652_000, 332_000))
NAMES = ["Albert Road", "Mill Lane", "Alma Street"]
SLUGS = {"Albert Road": "albert-road", "Mill Lane": "mill-lane", "Alma Street": "alma-street"}
STREETS = StreetMatcher(NAMES)
LINES = StreetLines(
    NAMES[:2],
    [
        LineString([(650_000, 330_000), (650_400, 330_000)]),
        LineString([(649_000, 331_000), (649_000, 331_200)]),
    ],
)
ADDRESSES = AddressBook(
    pd.DataFrame(
        [
            ("Albert Road", "12", 650_120, 330_010),
            ("Albert Road", "14", 650_126, 330_010),
            ("Mill Lane", "The Old Forge", 649_010, 331_050),
        ],
        columns=["street", "house", "easting", "northing"],
    )
)

# Computed with the Ordnance Survey's transformation, tested in test_transform: this position
# is easting 650120, northing 330010.
POINT = to_degrees([650_120.0], [330_010.0], crs="EPSG:27700")
LATITUDE, LONGITUDE = f"{POINT.y[0]:.6f}", f"{POINT.x[0]:.6f}"
assert (LATITUDE[:5], LONGITUDE[:4]) == ("52.80", "1.70")


def _locate(rows: pd.DataFrame, **options: object) -> pd.DataFrame:
    arguments = {
        "town": TOWN, "streets": STREETS, "addresses": ADDRESSES, "lines": LINES, "slugs": SLUGS,
    }  # fmt: skip
    return locate(rows, **(arguments | options))  # type: ignore[arg-type]  # a test's shorthand


def _place(**cells: str) -> pd.Series:
    return _locate(pd.DataFrame([cells])).iloc[0]


@pytest.mark.parametrize(
    ("cells", "easting", "northing", "method"),
    [
        ({"grid_ref": "TG 501 300"}, 650_150, 330_050, "grid reference"),
        ({"grid_ref": "tg53a"}, 651_000, 331_000, "grid reference"),
        (
            {"latitude": LATITUDE, "longitude": LONGITUDE},
            650_120,
            330_010,
            "latitude and longitude",
        ),
        ({"latitude": f"{LATITUDE}, {LONGITUDE}"}, 650_120, 330_010, "latitude and longitude"),
        ({"easting": "650120", "northing": "330010"}, 650_120, 330_010, "easting and northing"),
        ({"easting": "650,120", "northing": "330 010 m"}, 650_120, 330_010, "easting and northing"),
        ({"easting": "650120, 330010"}, 650_120, 330_010, "easting and northing"),
        ({"street": "Albert Rd", "house": "12"}, 650_120, 330_010, "address"),
        ({"street": "12 Albert Rd"}, 650_120, 330_010, "address"),
        ({"street": "The Old Forge, Mill Ln"}, 649_010, 331_050, "address"),
        ({"street": "Albert Road"}, 650_200, 330_000, "street"),
        ({"street": "Albert Road", "house": "?"}, 650_200, 330_000, "street"),
    ],
)  # fmt: skip
def test_every_way_to_say_where_is_placed(
    cells: dict[str, str], easting: float, northing: float, method: str
) -> None:
    place = _place(**cells)
    assert (place["easting"], place["northing"]) == (
        pytest.approx(easting, abs=0.2),
        pytest.approx(northing, abs=0.2),
    )
    assert place["method"] == method
    assert pd.isna(place["problem"])
    assert pd.isna(place["repair"])


@pytest.mark.parametrize(
    ("cells", "uncertainty_m"),
    [
        ({"grid_ref": "TG 501 300"}, 70.71),  # Chapman & Wieczorek 2020: half the diagonal
        ({"grid_ref": "TG 5012 3001"}, 7.07),
        ({"easting": "650120", "northing": "330010"}, 10 * 2**0.5 + 10),  # both end in one 0
        ({"easting": "650123", "northing": "330010"}, 2**0.5 + 10),
        ({"street": "Albert Road"}, 200 + 15),  # half of 400 m, and the fronts
        ({"street": "Albert Road", "house": "12"}, 10),
        # Four decimals: 11.1 m by 6.7 m there, 13.0 m across, and 10 m for the instrument.
        ({"latitude": LATITUDE[:7], "longitude": LONGITUDE[:6]}, 23.0),
    ],
)
def test_uncertainty_says_how_it_was_given(cells: dict[str, str], uncertainty_m: float) -> None:
    assert _place(**cells)["uncertainty_m"] == pytest.approx(uncertainty_m, abs=0.05)


def test_an_address_names_its_street_and_house_and_building() -> None:
    place = _place(street="albert rd", house="No 14")
    assert (place["street_slug"], place["house_name"]) == ("albert-road", "14")
    assert ADDRESSES.label(int(place["building"])) == "14, Albert Road"


@pytest.mark.parametrize(
    ("cells", "repair", "column"),
    [
        ({"latitude": LATITUDE, "longitude": f"-{LONGITUDE}"}, "sign-put-right", "longitude"),
        ({"latitude": f"-{LATITUDE}", "longitude": LONGITUDE}, "sign-put-right", "latitude"),
        ({"latitude": LONGITUDE, "longitude": LATITUDE}, "latitude-longitude-swapped", "latitude"),
        (
            {"latitude": f"{LONGITUDE} E", "longitude": f"{LATITUDE} N"},
            "latitude-longitude-swapped",
            "latitude",
        ),
        ({"easting": "330010", "northing": "650120"}, "easting-northing-swapped", "easting"),
        ({"easting": "50120", "northing": "30010"}, "square-figures-added", "easting"),
        ({"latitude": "330010", "longitude": "650120"}, "metres-among-degrees", "latitude"),
        ({"easting": LONGITUDE, "northing": LATITUDE}, "degrees-among-metres", "easting"),
        ({"grid_ref": f"{LATITUDE}, {LONGITUDE}"}, "place-in-another-column", "grid_ref"),
        ({"latitude": "TG 5012 3001"}, "place-in-another-column", "latitude"),
        ({"street": "TG 5012 3001"}, "place-in-another-column", "street"),
        ({"house": "12 Albert Road"}, "place-in-another-column", "house"),
        ({"street": "12 Albrt Raod"}, "street-spelling-corrected", "street"),
        ({"street": "Albert", "house": "12"}, "street-kind-added", "street"),
    ],
)
def test_what_is_certain_is_put_right_and_listed(
    cells: dict[str, str], repair: str, column: str
) -> None:
    place = _place(**cells)
    assert pd.isna(place["problem"])
    assert (place["repair"], place["problem_column"]) == (repair, column)
    assert np.hypot(place["easting"] - 650_120, place["northing"] - 330_010) < 10
    assert repair in PLACE_REPAIRS


@pytest.mark.parametrize(
    ("cells", "problem", "column", "suggestion"),
    [
        ({"grid_ref": "?"}, "place-missing", "place", None),
        ({"grid_ref": "TG 501 30"}, "grid-ref-odd-figures", "grid_ref", None),
        ({"grid_ref": "GT 501 300"}, "grid-ref-letters-unknown", "grid_ref", "TG 501 300"),
        ({"grid_ref": "SG 501 300"}, "grid-ref-letters-elsewhere", "grid_ref", "TG 501 300"),
        ({"grid_ref": "501 300"}, "grid-ref-letters-missing", "grid_ref", "TG 501 300"),
        ({"grid_ref": "TG 300 501"}, "outside-town", "grid_ref", "TG 501 300"),
        ({"grid_ref": "TG5O13OO"}, "grid-ref-unreadable", "grid_ref", "TG 501 300"),
        ({"grid_ref": "TG 999 999"}, "outside-town", "grid_ref", None),
        ({"grid_ref": "TG"}, "grid-ref-too-vague", "grid_ref", None),
        ({"grid_ref": "O 159 346"}, "outside-town", "grid_ref", None),
        ({"latitude": "51.5", "longitude": "-0.1"}, "outside-town", "latitude", None),
        ({"latitude": "52.8"}, "coordinate-half-missing", "longitude", None),
        ({"northing": "330010"}, "coordinate-half-missing", "easting", None),
        ({"latitude": "here", "longitude": "1.7"}, "angle-unreadable", "latitude", None),
        ({"latitude": "52 61 0", "longitude": "1.7"}, "angle-minutes-too-large", "latitude", None),
        (
            {"latitude": LATITUDE, "longitude": f"{LONGITUDE} N"},
            "angle-hemisphere-wrong",
            "latitude",
            None,
        ),
        ({"latitude": "52.8O9", "longitude": "1.7"}, "angle-unreadable", "latitude", "52.809"),
        ({"easting": "65O120", "northing": "330010"}, "metres-unreadable", "easting", "650120"),
        ({"easting": "here", "northing": "330010"}, "metres-unreadable", "easting", None),
        ({"easting": "250120", "northing": "330010"}, "outside-town", "easting", None),
        ({"house": "12"}, "street-missing", "street", None),
        ({"street": "Alma Street"}, "street-not-on-map", "street", None),
        ({"street": "Alma Street", "house": "1"}, "street-without-addresses", "house", None),
        ({"street": "Hill Lane"}, "street-unknown", "street", "Mill Lane"),
        ({"street": "SU 1234 5678"}, "outside-town", "street", None),
        ({"street": "TG 300 501"}, "outside-town", "street", "TG 501 300"),
        ({"street": "SG 501 300"}, "grid-ref-letters-elsewhere", "street", "TG 501 300"),
        ({"street": "TG 5012 300"}, "grid-ref-odd-figures", "street", None),
        ({"street": "A1066"}, "street-unknown", "street", None),
        ({"street": "Old Forge"}, "street-unknown", "street", "The Old Forge, Mill Lane"),
        ({"street": "opp 12 Albert Rd"}, "place-is-opposite", "street", "Albert Road"),
        ({"street": "Albert Road", "house": "99"}, "house-not-listed", "house", None),
        ({"street": "Albert Road", "house": "12b"}, "house-not-listed", "house", "12"),
        ({"street": "12b Albert Road"}, "house-not-listed", "street", "12 Albert Road"),
        ({"street": "Albert Road", "house": "12-14"}, "house-several-buildings", "house", "12"),
        ({"street": "12 Albert Road", "house": "14"}, "house-given-twice", "house", None),
        ({"street": "Albert Road", "house": "!!"}, "house-unreadable", "house", None),
    ],
)
def test_what_is_not_certain_is_held_with_what_was_probably_meant(
    cells: dict[str, str], problem: str, column: str, suggestion: str | None
) -> None:
    place = _place(**cells)
    assert (place["problem"], place["problem_column"]) == (problem, column)
    assert (None if pd.isna(place["suggestion"]) else place["suggestion"]) == suggestion
    assert place[["easting", "northing", "uncertainty_m", "method", "street_slug"]].isna().all()
    assert problem in PLACE_PROBLEMS


def test_a_suggestion_put_in_the_cell_mends_it() -> None:
    for cells in (
        {"grid_ref": "GT 501 300"},
        {"street": "Hill Lane"},
        {"street": "Old Forge"},
        {"street": "12b Albert Road"},
    ):
        held = _place(**cells)
        mended = _place(**(cells | {held["problem_column"]: held["suggestion"]}))
        assert pd.isna(mended["problem"]), held["problem"]


@pytest.mark.parametrize(
    ("cells", "agree"),
    [
        # 6 figures reach 70.7 m from the centre (650150, 330050), the house 10 m; 25 m more.
        ({"grid_ref": "TG 501 300", "street": "Albert Road", "house": "12"}, True),
        ({"grid_ref": "TG 503 300", "street": "Albert Road", "house": "12"}, False),
        ({"grid_ref": "TG 501 300", "easting": "650123", "northing": "330011"}, True),
        ({"grid_ref": "TG 5050 3001", "easting": "650123", "northing": "330011"}, False),
        # A street alone must hold the point: 60 m off its line and the point's uncertainty.
        ({"grid_ref": "TG 5012 3004", "street": "Albert Road"}, True),
        ({"grid_ref": "TG 5012 3012", "street": "Albert Road"}, False),
    ],
)
def test_two_places_must_agree_within_their_precision(
    cells: dict[str, str], *, agree: bool
) -> None:
    place = _place(**cells)
    assert (place["problem"] == "places-disagree") is not agree


def test_where_places_agree_the_building_is_taken_else_the_most_precise() -> None:
    building = _place(grid_ref="TG 501 300", street="Albert Road", house="12")
    assert (building["method"], building["easting"]) == ("address", 650_120)
    precise = _place(grid_ref="TG 501 300", easting="650123", northing="330011")
    assert (precise["method"], precise["easting"]) == ("easting and northing", 650_123)
    beside_a_street = _place(grid_ref="TG 5012 3001", street="Albert Road")
    assert beside_a_street["method"] == "grid reference"
    assert beside_a_street["street_slug"] == "albert-road"
    assert pd.isna(beside_a_street["building"])


@pytest.mark.parametrize(
    ("street", "house", "repair", "slug"),
    [
        ("behind the shop", None, "street-not-used", None),
        ("Albert Road", "99", "house-not-used", "albert-road"),
        # In doubt by itself; the grid reference on Mill Lane settles it.
        ("Hill Lane", None, "street-spelling-corrected", "mill-lane"),
    ],
)
def test_beside_a_point_words_that_place_nothing_are_listed(
    street: str, house: str | None, repair: str, slug: str | None
) -> None:
    grid_ref = "TG 4900 3110" if street == "Hill Lane" else "TG 5012 3001"
    place = _place(grid_ref=grid_ref, street=street, **({"house": house} if house else {}))
    assert pd.isna(place["problem"])
    assert (place["method"], place["repair"]) == ("grid reference", repair)
    assert (None if pd.isna(place["street_slug"]) else place["street_slug"]) == slug


def test_a_bad_reference_is_not_saved_by_a_good_address() -> None:
    assert _place(grid_ref="TG 501 30", street="12 Albert Rd")["problem"] == "grid-ref-odd-figures"


def test_without_lists_figures_still_work_and_houses_say_what_is_missing() -> None:
    rows = pd.DataFrame({"grid_ref": ["TG 501 300", None], "street": [None, "12 Albert Road"]})
    table = _locate(rows, addresses=None, lines=None)
    assert table["problem"].isna().tolist() == [True, False]
    assert table["problem"].iloc[1] == "address-list-missing"


def test_an_irish_town_adds_its_transformations_metre() -> None:
    belfast = TownFrame("EPSG:29903", (330_000, 370_000, 340_000, 380_000))
    rows = pd.DataFrame({"grid_ref": ["J 33 74", None], "latitude": [None, "54.5970"],
                         "longitude": [None, "-5.9300"]})  # fmt: skip
    table = _locate(rows, town=belfast)
    assert table["problem"].isna().all()
    assert table["easting"].iloc[0] == 333_500
    # Four decimals at 54.6 degrees: 11.1 m by 6.5 m, 12.9 m across; 10 m; 1 m.
    assert table["uncertainty_m"].iloc[1] == pytest.approx(23.9, abs=0.1)


ROWS = st.lists(
    st.fixed_dictionaries(
        {},
        optional={
            "grid_ref": st.sampled_from(["TG 501 300", "TG 5012 3001", "GT 50 30", "?", "x"]),
            "latitude": st.sampled_from([LATITUDE, "52.8", LONGITUDE, "9"]),
            "longitude": st.sampled_from([LONGITUDE, f"-{LONGITUDE}", LATITUDE]),
            "easting": st.sampled_from(["650120", "330010", "50120", "e"]),
            "northing": st.sampled_from(["330010", "650120", "30010"]),
            "street": st.sampled_from(["Albert Rd", "12 Albert Rd", "Hill Lane", "opp 3"]),
            "house": st.sampled_from(["12", "14", "99", "12 Albert Road"]),
        },
    ),
    min_size=1,
    max_size=12,
)


@settings(max_examples=60, deadline=None)
@given(ROWS, st.randoms(use_true_random=False))
def test_each_row_is_placed_by_itself_alone(
    rows: list[dict[str, str]], shuffle: random.Random
) -> None:
    frame = pd.DataFrame(rows, columns=list(PLACE_COLUMNS), dtype=object)
    frame.index = pd.Index(shuffle.sample(range(1000), len(frame)))
    before = frame.copy()
    table = _locate(frame)
    pd.testing.assert_frame_equal(frame, before)
    assert table.index.equals(frame.index)
    # Every row has a place or a problem, and never both.
    assert (table["easting"].notna() ^ table["problem"].notna()).all()
    assert (table["easting"].notna() == table["method"].notna()).all()
    as_categories = _locate(frame.astype("category"))
    for at in range(len(frame)):
        alone = _locate(frame.iloc[[at]]).iloc[0]
        for other in (table.iloc[at], as_categories.iloc[at]):
            assert [None if pd.isna(value) else value for value in alone] == [
                None if pd.isna(value) else value for value in other
            ]


@given(st.floats(648_000, 651_999), st.floats(328_000, 331_999), st.sampled_from([4, 6, 8, 10]))
@settings(max_examples=50, deadline=None)
def test_the_true_place_lies_within_the_uncertainty(e: float, n: float, figures: int) -> None:
    place = _place(grid_ref=format_grid_ref(e, n, figures=figures))
    assert np.hypot(place["easting"] - e, place["northing"] - n) <= place["uncertainty_m"] + 1e-6


@given(st.floats(648_100, 651_900), st.floats(328_100, 331_900), st.integers(3, 7))
@settings(max_examples=50, deadline=None)
def test_typed_degrees_hold_the_true_place(e: float, n: float, decimals: int) -> None:
    degrees = to_degrees([e], [n], crs="EPSG:27700")
    place = _place(
        latitude=f"{degrees.y[0]:.{decimals}f}", longitude=f"{degrees.x[0]:.{decimals}f}"
    )
    assert np.hypot(place["easting"] - e, place["northing"] - n) <= place["uncertainty_m"]


def test_nothing_gives_an_empty_table_with_every_column() -> None:
    table = _locate(pd.DataFrame(columns=list(PLACE_COLUMNS)))
    assert len(table) == 0
    assert {"easting", "problem", "street_slug", "building"} <= set(table.columns)


@pytest.mark.parametrize("column", ["grid_ref", "latitude", "easting", "street", "house"])
def test_a_long_row_of_figures_is_turned_down(column: str) -> None:
    # A bar code or a list of telephone numbers in the wrong cell. A way of reading that tries every
    # division of the figures would not come to an end.
    for cell in ("TG" + "1" * 26 + "!", "1" * 1_000 + "!", "01632 960001 " * 100 + "or so"):
        assert np.isnan(_place(**{column: cell})["easting"])
