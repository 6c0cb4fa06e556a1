"""Buildings with records stay known when the lists lose them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from eaveline.private.places.addresses import AddressBook
from eaveline.private.register import GONE
from eaveline.protect.buildings.premises import assign_building, distinct_premises
from eaveline.protect.remembered.recorded import load_recorded, save_recorded, with_gone

COLUMNS = ["street", "house", "easting", "northing"]
LIST = pd.DataFrame(
    [("Mill Lane", "1", 650_000.0, 330_000.0), ("Mill Lane", "3", 650_008.0, 330_000.0)],
    columns=COLUMNS,
)


HOME = ["building_easting", "building_northing"]


def recorded(
    *rows: tuple[str, str, float, float], home: tuple[float, float] | None = None
) -> pd.DataFrame:
    """Return addresses of a building each, or of one at `home`."""
    table = pd.DataFrame(rows, columns=COLUMNS)
    where = table[["easting", "northing"]].to_numpy() if home is None else [home] * len(table)
    return table.join(pd.DataFrame(where, columns=HOME))


def test_what_is_saved_is_loaded_and_a_damaged_file_is_none(tmp_path: Path) -> None:
    path = tmp_path / "private" / "recorded-buildings.csv"
    assert load_recorded(path).empty
    rows = recorded(("Mill Lane", "5, The Nook", 650_016.25, 330_000.0), ("", "", 1.0, 2.0))
    save_recorded(path, rows)
    pd.testing.assert_frame_equal(load_recorded(path), rows)
    path.write_text("street,house\nMill Lane,5\n", encoding="utf-8")
    assert load_recorded(path).empty


def test_a_building_that_left_the_list_is_found_and_is_no_premises() -> None:
    premises, book = distinct_premises(addresses=LIST), AddressBook(LIST)
    rows = recorded(("Mill Lane", "5", 650_016.0, 330_000.0))
    both, known, _ = with_gone(premises, book, rows)
    assert known is not None
    assert book.find("Mill Lane", "5").building is None
    assert known.find("mill lane", "5").building is not None
    assert both.buildings["source"].tolist() == ["addresses", "addresses", GONE]
    assert len(both.standing) == 2
    at = assign_building([650_016.0, 650_001.0], [330_000.0] * 2, np.zeros(2), both)
    assert at.tolist() == [2, 0]


@pytest.mark.parametrize(
    "row",
    [
        ("Mill Lane", "3", 650_008.0, 330_000.0),  # still in the list
        ("Mill Lane", "Flat 2, 3", 650_008.0, 330_000.0),
        ("", "", 650_000.4, 330_000.3),  # a point that still stands
    ],
)
def test_what_the_lists_still_hold_is_left_alone(row: tuple[str, str, float, float]) -> None:
    premises, book = distinct_premises(addresses=LIST), AddressBook(LIST)
    both, known, _ = with_gone(premises, book, recorded(row))
    assert len(both.buildings) == 2
    assert both.standing.equals(premises.buildings)
    assert known is not None
    assert known.buildings[COLUMNS].equals(book.buildings[COLUMNS])


def test_a_house_with_a_new_number_is_one_building() -> None:
    premises, book = distinct_premises(addresses=LIST), AddressBook(LIST)
    both, known, _ = with_gone(premises, book, recorded(("Mill Lane", "2", 650_008.0, 330_000.5)))
    assert known is not None
    assert len(both.buildings) == 2
    number = known.find("Mill Lane", "2").building
    assert number is not None
    place = known.buildings.iloc[[number]]
    assert assign_building(place["easting"], place["northing"], [0.0], both).tolist() == [1]


def todays(houses: pd.DataFrame, rows: pd.DataFrame) -> list[tuple[float, float, str]]:
    """Return easting, northing and source of what each recorded building is in a list."""
    both, _, homes = with_gone(distinct_premises(addresses=houses), AddressBook(houses), rows)
    table = homes.merge(both.buildings, on=["easting", "northing"])
    return sorted(zip(table["easting"], table["northing"], table["source"], strict=True))


def test_two_recorded_houses_stay_two() -> None:
    """A list draws them as one; only the nearer can be that one."""
    rows = recorded(
        ("Mill Lane", "1", 650_000.0, 330_000.0), ("Mill Lane", "3", 650_008.0, 330_000.0)
    )
    as_one = LIST.assign(easting=[650_007.5, 650_008.0])
    assert todays(as_one, rows) == [
        (650_000.0, 330_000.0, GONE),
        (650_007.5, 330_000.0, "addresses"),
    ]


def test_one_recorded_building_stays_one() -> None:
    """A list tells its two numbers apart; both lead to the one at its point."""
    rows = recorded(
        ("Mill Lane", "1", 650_000.0, 330_000.0),
        ("Mill Lane", "3", 650_001.0, 330_000.0),
        home=(650_000.0, 330_000.0),
    )
    both, known, homes = with_gone(distinct_premises(addresses=LIST), AddressBook(LIST), rows)
    assert known is not None
    assert homes[["easting", "northing"]].to_numpy().tolist() == [[650_000.0, 330_000.0]]
    places = known.buildings[known.buildings["house"] == "3"]
    at = assign_building(places["easting"], places["northing"], [0.0], both)
    assert both.buildings["easting"].to_numpy()[at].tolist() == [650_000.0]


def test_a_recorded_house_follows_its_point_within_its_square_alone() -> None:
    rows = recorded(("Mill Lane", "3", 650_098.5, 330_000.0))
    within = LIST.assign(easting=[650_000.0, 650_080.0])
    assert todays(within, rows) == [(650_080.0, 330_000.0, "addresses")]
    over = LIST.assign(easting=[650_000.0, 650_100.0])  # nearer than two points of one roof
    assert todays(over, rows) == [(650_098.5, 330_000.0, GONE)]
