"""The list of addresses: joined to buildings, asked for houses, and every fault at once."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from eaveline.errors import InputError
from eaveline.private.places.addresses import AddressBook, HouseMatch, load_addresses

ROWS = [
    ("Albert Road", "12", 650_000, 330_000),
    ("Albert Road", "14", 650_010, 330_000),
    ("Albert Road", "16-20", 650_025, 330_000),
    ("Albert Road", "Flat 1, 22", 650_040, 330_000),
    ("Albert Road", "Flat 2, 22", 650_042, 330_000),
    ("Albert Road", "Flat 3, 22", 650_047, 330_003),
    ("Mill Lane", "The Old Forge", 650_100, 330_100),
    ("Mill Lane", "Flat 1, Malthouse Court", 650_120, 330_100),
    ("Mill Lane", "Flat 2, Malthouse Court", 650_122, 330_100),
]


@pytest.fixture(scope="module")
def book() -> AddressBook:
    return AddressBook(pd.DataFrame(ROWS, columns=["street", "house", "easting", "northing"]))


def test_flats_are_one_building_at_the_median_of_their_points(book: AddressBook) -> None:
    assert len(book) == 6
    flats = book.buildings.set_index("house").loc["22"]
    assert (flats["easting"], flats["northing"], flats["addresses"]) == (650_042, 330_000, 3)
    assert "Malthouse Court" in set(book.buildings["house"])


def _house(book: AddressBook, match: HouseMatch) -> str | None:
    return None if match.building is None else str(book.buildings["house"].iloc[match.building])


@pytest.mark.parametrize(
    ("street", "house", "found"),
    [
        ("Albert Road", "12", "12"),
        ("albert rd", "No. 12", "12"),
        ("Albert Road", "Flat 9, 14", "14"),
        ("Albert Road", "18", "16-20"),  # inside the range
        ("Albert Road", "22", "22"),
        ("Albert Road", "22, Flat 2", "22"),
        ("Mill Lane", "old forge", "The Old Forge"),
        ("Mill Lane", "Flat 2, Malthouse Court", "Malthouse Court"),
    ],
)
def test_houses_are_found(book: AddressBook, street: str, house: str, found: str) -> None:
    assert _house(book, book.find(street, house)) == found


@pytest.mark.parametrize(
    ("street", "house", "problem", "suggestion"),
    [
        ("Albert Road", "19", "house-not-listed", None),  # the other side of the street
        ("Albert Road", "12z", "house-not-listed", "12"),
        ("Albert Road", "12-14", "house-several-buildings", "12"),
        ("Albert Road", "99", "house-not-listed", None),
        ("Mill Lane", "The Old Froge", "house-not-listed", "The Old Forge"),
        ("Mill Lane", "?", "house-unreadable", None),
        ("High Street", "1", "street-without-addresses", None),
    ],
)
def test_what_is_not_certain_is_never_taken(
    book: AddressBook, street: str, house: str, problem: str, suggestion: str | None
) -> None:
    assert book.find(street, house) == HouseMatch(problem=problem, suggestion=suggestion)


def test_a_name_found_once_in_the_town_is_known_without_its_street(book: AddressBook) -> None:
    building = book.named("Malthouse Court")
    assert building is not None
    assert book.label(building) == "Malthouse Court, Mill Lane"
    assert book.point(building) == (650_121, 330_100)
    assert book.named("12") is None


def test_the_buildings_do_not_depend_on_the_order_of_the_rows(book: AddressBook) -> None:
    turned = pd.DataFrame(ROWS[::-1], columns=["street", "house", "easting", "northing"])
    before = turned.copy()
    pd.testing.assert_frame_equal(AddressBook(turned).buildings, book.buildings)
    pd.testing.assert_frame_equal(turned, before)


def test_its_repr_holds_no_address(book: AddressBook) -> None:
    assert repr(book) == "<AddressBook of 6 buildings>"


def _write(folder: Path, text: str, encoding: str = "utf-8") -> Path:
    (folder / "map").mkdir()
    (folder / "map" / "addresses.csv").write_bytes(text.encode(encoding))
    return folder


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        ("street,house,easting,northing\nAlbert Road,12,650000,330000\n", "utf-8-sig"),
        ("Road;House No;X;Y\r\nAlbert Road;12;650000.0;330000\r\n", "cp1252"),
        ("Id\tRoad Name\tNo\tEastings\tNorthings\n1\tAlbert Road\t12\t650,000\t330,000", "utf-16"),
    ],
)  # fmt: skip
def test_the_file_is_read_in_usual_shapes(tmp_path: Path, text: str, encoding: str) -> None:
    book = load_addresses(_write(tmp_path, text, encoding))
    assert book is not None
    assert book.find("Albert Road", "12").building == 0
    assert book.point(0) == (650_000, 330_000)


def test_no_file_is_no_list(tmp_path: Path) -> None:
    assert load_addresses(tmp_path) is None


def test_every_fault_is_told_at_once_with_its_row_and_no_value(tmp_path: Path) -> None:
    text = (
        "street,house,easting,northing\n"
        "Secret Road,12,650000,330000\n"
        "Secret Road,,650010,330000\n"
        "Secret Road,13,here,330000\n"
        "Secret Road,12,650900,330000\n"
        "Secret Road,!!,650020,330000\n"
        ",15,650030,\n"
    )
    with pytest.raises(InputError) as caught:
        load_addresses(_write(tmp_path, text))
    told = [(problem.code, problem.row, problem.column) for problem in caught.value.problems]
    assert told == [
        ("addresses-cell-missing", 3, "house"),
        ("addresses-not-a-number", 4, "easting"),
        ("addresses-at-two-places", 5, "house"),
        ("addresses-house-unreadable", 6, "house"),
        ("addresses-cell-missing", 7, "street"),
        ("addresses-cell-missing", 7, "northing"),
    ]
    message = str(caught.value)
    assert "Secret" not in message
    assert "650" not in message


def test_missing_headings_are_all_named(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        load_addresses(_write(tmp_path, "street,house,postcode\nAlbert Road,12,\n"))
    assert [problem.column for problem in caught.value.problems] == ["easting", "northing"]


def test_of_very_many_faults_the_first_fifty_are_told(tmp_path: Path) -> None:
    rows = "".join(f"Albert Road,{number},x,330000\n" for number in range(1, 81))
    with pytest.raises(InputError) as caught:
        load_addresses(_write(tmp_path, "street,house,easting,northing\n" + rows))
    assert len(caught.value.problems) == 51
    assert caught.value.problems[-1].what == "The list has 30 more faults."
