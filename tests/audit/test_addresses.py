"""Houses with their streets, in either order; counts and dates beside a street."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from eaveline.audit.addresses import address_hits
from eaveline.audit.houses import addresses_of
from eaveline.audit.secrets import Secrets
from eaveline.audit.text import CELL
from leaks import town_secrets


def _found(text: str, secrets: Secrets) -> list[str]:
    return sorted({hit.value for hit in address_hits(text, addresses_of(secrets))})


@pytest.mark.parametrize(
    "text",
    [
        "17 Albert Road",
        "17, Albert Road",
        "17 ALBERT ROAD.",
        "17 Albert Rd",
        "17 albert rd.",
        "17Albert Road",
        "No. 17 Albert Road",
        "no.17 Albert Road",
        "number 17 in Albert Road",
        "house 17, on Albert Road",
        "17a Albert Road",
        "15-17 Albert Road",
        "15, 17 and 19 Albert Road",
        "15/17 Albert Road",
        "15 to 17 Albert Road",
        "At 21:40, 17 Albert Road",
        "17\nAlbert\nRoad",
        "Flat 2, 17 Albert Road",
        "17-albert-road",
        "nest_17_albert-road.jpg",
        "17+Albert+Road",
        "photo/17-albert-rd/index.html",
        "Albert Road 17",
        "Albert Road, 17.",
        "Albert Road no. 17 has a nest",
        "Albert Road number 17",
        "Albert Road #17",
        "Albert Road 17 again has one",
        "Albert Road 17 may have one",
        "albert-road-17.html",
        '{"house": "17", "street": "Albert Road"}',
        '{"street":"Albert Road","birds":3,"house_number":17}',
        "data-street='Albert Road' data-house='17'",
        f"street: Albert Road {CELL} number: 17",
        "addr:housenumber=17; addr:street=Albert Road",
        "number seventeen, Albert Road",
        "No. seventeen in Albert Road",
        "at seventeen Albert Road",
        "No. 17 on the Albert Road",
        "Albert Road (number 17)",
        "In Albert Road the house at number 17 has them.",
        "We stood outside no. 17 and looked along Albert Road",
        "17AlbertRoad.jpg",
        "17albertroad",
        "AlbertRd17.jpg",
        "17aAlbertRoad",
        "17 \u0410lbert R\u043e\u0430d",
        "17 \u0391lbert Road",
    ],
)
def test_a_house_with_its_street_is_found(secrets: Secrets, text: str) -> None:
    assert _found(text, secrets) == ["albert rd 17"]


@pytest.mark.parametrize(
    "text",
    [
        "17 Albert Close",
        "170 Albert Road",
        "19 Albert Road",
        "17 swifts over Albert Road",
        "17 in Albert Road",
        "Albert Road 17 swifts",
        "Albert Road, 17 premises",
        "Albert Road (17)",
        "Albert Road: 17",
        "Albert Road 17:40",
        "Albert Road 17.30",
        "Albert Road 17th",
        "Albert Road 17 June",
        "Albert Road 17 May",
        "Albert Road 17 to 24 swifts",
        "Albert Road 17%",
        "21.17 Albert Road",
        "21:17 Albert Road",
        "2026-06-17 Albert Road",
        "17/06/2026 Albert Road",
        "2026-06-17-albert-road-watch",
        "On June 17, Albert Road was quiet",
        "£17 Albert Road",
        f"Albert Road {CELL} 17",
        f"17 {CELL} Albert Road",
        '{"street": "Albert Road", "premises": 17}',
        '["Albert Road", 17]',
        "R017 Albert Road",
        "1 Market Place",
        "two Albert Road residents",
        "at eight, Albert Road was quiet",
        "Newsletter number 17 is about our neighbours in Albert Road",
        "Look at number 19 of the list: Albert Road",
        "19AlbertRoad.jpg",
        "albertroad2017",
    ],
)
def test_counts_or_dates_beside_a_street_pass(secrets: Secrets, text: str) -> None:
    assert _found(text, secrets) == []


@pytest.mark.parametrize(
    "text",
    [
        "3 St Mary's Lane",
        "3 St. Mary's Lane",
        "3 Saint Marys Ln",
        "3 st marys lane",
    ],
)
def test_a_saint_s_street_has_many_spellings(secrets: Secrets, text: str) -> None:
    assert _found(text, secrets) == ["st marys ln 3"]


def test_an_apostrophe_ends_no_field(secrets: Secrets) -> None:
    assert _found('{"street": "St Mary\'s Lane", "house": 3}', secrets) == ["st marys ln 3"]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Saltmarsh Cottage, Mill Lane", True),
        ("saltmarsh cottage in mill lane", True),
        ("Mill Lane, Saltmarsh Cottage", True),
        ("saltmarsh-cottage-mill-lane", True),
        ("Saltmarsh Cottage had three pairs", True),
        ("a saltmarsh cottage somewhere", False),
        ("Saltmarsh", False),
    ],
)
def test_a_house_s_name_is_an_address(secrets: Secrets, text: str, *, found: bool) -> None:
    assert bool(_found(text, secrets)) is found


def test_a_common_house_name_needs_its_street() -> None:
    secrets = town_secrets(addresses=frozenset({("Mill Lane", "Rosebank")}))
    assert _found("Rosebank has a nest", secrets) == []
    assert _found("Rosebank, Mill Lane", secrets) == ["mill ln rosebank"]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("The Old Forge has a nest", True),
        ("Old Forge has a nest", True),
        ("the old forge has a nest", False),
        ("Rosebank's eaves in Mill Lane", True),
        ("Rosebank, a house in Mill Lane", True),
        ("Rosebank. Later we went to Mill Lane", False),
        ("The Rectory has a nest", True),
        ("a Rectory in Rectory Lane", False),
        ("Rectory Lane, rectory-lane", False),
    ],
)
def test_a_house_s_name_with_an_article_or_away_from_its_street(text: str, *, found: bool) -> None:
    named = {("Mill Lane", "The Old Forge"), ("Mill Lane", "Rosebank")}
    secrets = town_secrets(addresses=frozenset({*named, ("Rectory Lane", "The Rectory")}))
    assert bool(_found(text, secrets)) is found


def test_a_public_building_s_name_may_stand() -> None:
    secrets = town_secrets(
        addresses=frozenset({("Mill Lane", "Ottersley Primary School")}),
        public_names=frozenset({"Ottersley Primary School"}),
    )
    assert _found("Ottersley Primary School, Mill Lane", secrets) == []


def test_a_slip_of_the_pen_is_no_street() -> None:
    slips = frozenset({("road", "17"), ("the", "17"), ("", "17"), ("St", "17")})
    assert _found("17 the road, 17 st", town_secrets(addresses=slips)) == []


def test_nobody_may_allow_an_address(secrets: Secrets) -> None:
    hits = address_hits("17 Albert Road", addresses_of(secrets))
    assert hits
    assert not any(hit.allowable for hit in hits)


@given(
    number=st.integers(1, 999),
    street=st.sampled_from(["Albert Road", "High Street", "Elm Avenue", "The Crescent"]),
    gap=st.sampled_from([" ", ", ", "-", "_", "+", "\n", " \n"]),
    change=st.sampled_from([str.upper, str.lower, str.title]),
)
def test_any_house_of_the_list_is_found(number: int, street: str, gap: str, change: object) -> None:
    assert callable(change)
    secrets = town_secrets(addresses=frozenset({(street, str(number))}))
    assert _found(f"at {number}{gap}{change(street)} today", secrets)
    assert not _found(f"at {number + 1}{gap}{change(street)} today", secrets)


@pytest.mark.parametrize("number", ["1,", "12/", "3, "])
def test_a_long_list_of_numbers_is_read_to_its_end(secrets: Secrets, number: str) -> None:
    # Numbers of a chart or a drawing; read from each of them to the end, they took minutes.
    assert not _found(number * 10_000, secrets)
    assert _found(f"{number * 50}17 Albert Road", secrets)
