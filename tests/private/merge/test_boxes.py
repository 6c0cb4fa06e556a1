"""Boxes that are moved, replaced or renumbered stay the boxes they are."""

from __future__ import annotations

import datetime as dt

import numpy as np
import numpy.typing as npt
import pandas as pd
import pytest

from eaveline.private.intake.cells import key_text
from eaveline.private.intake.take_in import Intake
from eaveline.private.merge.boxes import MergedBoxes, merge_boxes
from eaveline.private.merge.decisions import decisions_from
from taking import Take

HEAD = "box,easting,northing,fixed_on,removed_on,height_m\n"
CHECKS = "box,date,seen\n"


def assign(
    easting: npt.ArrayLike, northing: npt.ArrayLike, uncertainty_m: npt.ArrayLike
) -> npt.NDArray[np.int64]:
    """Return every 100 m as a building of its own."""
    del northing, uncertainty_m
    return (np.asarray(easting, dtype=np.float64) // 100).astype(np.int64)


def merged(intake: Intake) -> MergedBoxes:
    tables = intake.tables
    return merge_boxes(
        tables["boxes"],
        tables["checks"],
        assign_building=assign,
        decisions=decisions_from(tables["decisions"]),
    )


def stood(boxes: pd.DataFrame) -> list[tuple[str, int, int, int | None, int | None]]:
    """Return title, standing, easting, and the years it went up and came down."""
    years = boxes[["fixed_on", "removed_on"]].apply(lambda column: column.dt.year)
    return [
        (title, standing, int(easting), *(None if pd.isna(year) else int(year) for year in pair))
        for title, standing, easting, pair in zip(
            boxes["title"], boxes["standing"], boxes["easting"], years.to_numpy(), strict=True
        )
    ]


def test_a_moved_box_stands_twice(take: Take) -> None:
    made = merged(
        take(boxes=HEAD + "B1,650100,330100,1/3/2020,1/2/2024,\nb 1,650900,330100,1/3/2024,,5\n")
    )
    assert stood(made.boxes) == [
        ("b1", 0, 650_100, 2020, 2024),
        ("b1", 1, 650_900, 2024, None),
    ]


def test_a_replaced_box_stands_twice_at_one_place(take: Take) -> None:
    made = merged(
        take(boxes=HEAD + "B1,650100,330100,1/3/2020,1/2/2024,\nB1,650100,330100,1/3/2025,,5\n")
    )
    assert stood(made.boxes) == [
        ("b1", 0, 650_100, 2020, 2024),
        ("b1", 1, 650_100, 2025, None),
    ]
    assert made.members == {}


def test_a_box_moved_away_and_back_stands_three_times(take: Take) -> None:
    made = merged(
        take(
            boxes=HEAD
            + "B1,650100,330100,1/3/2020,1/2/2021,\n"
            + "B1,650900,330100,1/3/2021,1/2/2022,\n"
            + "B1,650100,330100,1/3/2022,,\n"
        )
    )
    assert [each[1:4] for each in stood(made.boxes)] == [
        (0, 650_100, 2020),
        (1, 650_900, 2021),
        (2, 650_100, 2022),
    ]


@pytest.mark.parametrize("second", ["B1,650110,330100,1/3/2020,,5\n", "B1,,,,,5\n"])
def test_rows_of_one_box_fill_each_other_in(take: Take, second: str) -> None:
    made = merged(take(boxes=HEAD + "B1,650100,330100,1/3/2020,,\n" + second))
    assert len(made.boxes) == 1
    assert made.boxes["height_m"].tolist() == [5.0]
    assert len(made.members) == 1


def test_a_later_row_that_brings_the_removal_is_the_same_box(take: Take) -> None:
    made = merged(
        take(boxes=HEAD + "B1,650100,330100,1/3/2020,,\nB1,650100,330100,1/3/2020,1/9/2024,\n")
    )
    assert stood(made.boxes) == [("b1", 0, 650_100, 2020, 2024)]


def renumbered(take: Take, decision: str) -> MergedBoxes:
    files = {
        "boxes": HEAD + "B1,650100,330100,1/3/2020,,\nN7,650100,330100,2/3/2020,,5\n",
        "checks": CHECKS + "B1,1/7/2021,swift\nN7,1/7/2024,empty\n",
    }
    keys = [key_text(key) for key in take(**files).tables["boxes"]["key"].tolist()]
    return merged(
        take(**files, decisions=f"first,second,decision\n{keys[0]},{keys[1]},{decision}\n")
    )


def test_a_renumbered_box_is_one_with_all_its_checks(take: Take) -> None:
    made = renumbered(take, "same")
    assert stood(made.boxes) == [("n7", 0, 650_100, 2020, None)]
    assert made.checks[["title", "season", "seen"]].to_numpy().tolist() == [
        ["n7", 2021, "swift"],
        ["n7", 2024, "empty"],
    ]


def test_without_a_decision_two_numbers_are_two_boxes(take: Take) -> None:
    made = renumbered(take, "different")
    assert made.boxes["title"].tolist() == ["b1", "n7"]
    assert made.checks["title"].tolist() == ["b1", "n7"]


def test_titles_are_texts_even_if_every_box_is_held_back(take: Take) -> None:
    made = merged(take(boxes=HEAD + "B1,650100,330100,31/2/2020,,\n"))
    assert made.boxes.empty
    assert made.boxes["title"].dtype == object
    checks = pd.DataFrame({"title": pd.Series(["b1"], dtype=object)})
    assert checks.join(made.boxes.set_index("title"), on="title", how="inner").empty


def test_columns_nobody_fills_are_empty_numbers(take: Take) -> None:
    made = merged(take(boxes=HEAD + "B1,650100,330100,1/3/2020,,\n"))
    assert made.boxes["height_m"].dtype == np.float64
    assert made.boxes["fixed_on"].iloc[0].date() == dt.date(2020, 3, 1)
