"""A place that was joined to a building stays joined to it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

from eaveline.protect.buildings.premises import Premises, distinct_premises
from eaveline.protect.remembered.joined_places import (
    joined_before,
    joined_now,
    load_joined,
    save_joined,
)
from eaveline.protect.remembered.tables import rehomed

HOUSES = pd.DataFrame(
    [("Mill Lane", "1", 650_000.0, 330_000.0), ("Mill Lane", "3", 650_008.0, 330_000.0)],
    columns=["street", "house", "easting", "northing"],
)
PLACES = pd.DataFrame(
    [(650_003.0, 330_000.0, 0.71), (650_007.126, 330_001.0, 7.1), (650_900.0, 330_000.0, 7.1)],
    columns=["easting", "northing", "uncertainty_m"],
)
JOINED = np.array([0, 1, -1])


def premises_of(houses: pd.DataFrame) -> Premises:
    return distinct_premises(addresses=houses)


def saved(path: Path) -> pd.DataFrame:
    save_joined(path, pd.concat([joined_now(PLACES, JOINED, premises_of(HOUSES))] * 2))
    return load_joined(path)


def test_what_is_saved_is_loaded_once_and_a_damaged_file_is_none(tmp_path: Path) -> None:
    path = tmp_path / "private" / "joined-places.csv"
    assert load_joined(path).empty
    assert saved(path).astype(object).replace(np.nan, None).to_numpy().tolist() == [
        [650_003.0, 330_000.0, 0.71, 650_000.0, 330_000.0],
        [650_007.13, 330_001.0, 7.1, 650_008.0, 330_000.0],
        [650_900.0, 330_000.0, 7.1, None, None],
    ]
    path.write_text("easting,northing\n1,x\n", encoding="utf-8")
    assert load_joined(path).empty


def test_a_nearer_house_in_the_list_changes_nothing(tmp_path: Path) -> None:
    joined = saved(tmp_path / "joined.csv")
    new = pd.DataFrame([("Mill Lane", "2", 650_003.5, 330_000.0)], columns=HOUSES.columns)
    grown = premises_of(pd.concat([new, HOUSES]))
    fresh = np.array([1, 1, 1])
    before = joined_before(PLACES, joined, grown, otherwise=fresh)
    assert grown.buildings["easting"].to_numpy()[before[:2]].tolist() == [650_000.0, 650_008.0]
    assert before[2] == -1  # it lay near no house, and none that is built there takes it
    elsewhere = PLACES.assign(northing=PLACES["northing"] + 1)
    assert joined_before(elsewhere, joined, grown, otherwise=fresh).tolist() == [1, 1, 1]


def test_a_building_that_is_known_no_more_holds_no_place(tmp_path: Path) -> None:
    joined = saved(tmp_path / "joined.csv")
    fewer = premises_of(HOUSES[1:])
    assert joined_before(PLACES, joined, fewer, otherwise=np.array([7, 7, 7])).tolist() == [
        7,
        0,
        -1,
    ]


def test_places_go_where_their_buildings_went(tmp_path: Path) -> None:
    joined = saved(tmp_path / "joined.csv")
    homes = pd.DataFrame(
        [(650_000.0, 330_000.0, 650_020.0, 330_005.0)],
        columns=["building_easting", "building_northing", "easting", "northing"],
    )
    moved = rehomed(joined, homes, ("building_easting", "building_northing"))
    assert moved["building_easting"].tolist()[:2] == [650_020.0, 650_008.0]
    assert moved["building_northing"].isna().tolist() == [False, False, True]
    assert joined["building_easting"].tolist()[0] == 650_000.0
