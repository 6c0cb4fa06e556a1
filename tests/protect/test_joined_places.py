"""A place that was joined to a building stays joined to it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

from eaveline.protect.joined_places import joined_before, joined_now, load_joined, save_joined
from eaveline.protect.premises import Premises, distinct_premises

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
    save_joined(path, [joined_now(PLACES, JOINED, premises_of(HOUSES))] * 2)
    return load_joined(path)


def test_what_is_saved_is_loaded_once_and_a_damaged_file_is_none(tmp_path: Path) -> None:
    path = tmp_path / "private" / "joined-places.csv"
    assert load_joined(path).empty
    assert saved(path).to_numpy().tolist() == [
        [650_003.0, 330_000.0, 0.71, 650_000.0, 330_000.0],
        [650_007.13, 330_001.0, 7.1, 650_008.0, 330_000.0],
    ]
    path.write_text("easting,northing\n1,x\n", encoding="utf-8")
    assert load_joined(path).empty


def test_a_nearer_house_in_the_list_changes_nothing(tmp_path: Path) -> None:
    joined = saved(tmp_path / "joined.csv")
    new = pd.DataFrame([("Mill Lane", "2", 650_003.5, 330_000.0)], columns=HOUSES.columns)
    grown = premises_of(pd.concat([new, HOUSES]))
    home = grown.buildings["easting"].to_numpy()[joined_before(PLACES, joined, grown)[:2]]
    assert home.tolist() == [650_000.0, 650_008.0]
    elsewhere = PLACES.assign(northing=PLACES["northing"] + 1)
    assert joined_before(elsewhere, joined, grown).tolist() == [-1, -1, -1]


def test_a_building_that_is_known_no_more_holds_no_place(tmp_path: Path) -> None:
    joined = saved(tmp_path / "joined.csv")
    assert joined_before(PLACES, joined, premises_of(HOUSES[1:])).tolist() == [-1, 0, -1]
