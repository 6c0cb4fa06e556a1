"""How boxes do, and what they cost."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from eaveline.private.derive.box_seasons import BoxHistory, box_history
from eaveline.private.derive.box_use import (
    costs,
    failed_boxes,
    occupancy_by_place,
    occupancy_by_season,
)
from towns_drawn import NO_VISITS, box_table, check_table

SPRING = pd.Timestamp("2023-03-01")


def history(checks: list[tuple[str, int, str]], boxes: int = 8, **columns: Any) -> BoxHistory:
    rows = [(f"b{number}", 0, number, SPRING, pd.NaT) for number in range(boxes)]
    return box_history(
        box_table(rows).assign(**columns), check_table(checks), NO_VISITS, newest=2026
    )


def test_used_of_those_checked_with_the_unchecked_shown() -> None:
    checks = [(f"b{number}", 2026, "swift" if number < 2 else "empty") for number in range(6)]
    checks += [("b6", 2026, "house sparrow"), ("b7", 2026, "not checked")]
    row = occupancy_by_season(history(checks)).set_index("season").loc[2026]
    assert (row["standing"], row["checked"], row["used"], row["other_species"]) == (8, 7, 2, 1)
    # Wilson, 2 of 7 (computed by hand): 0.082 to 0.641. The buildings' own variance is
    # 7/6 of independence, and Student's t with 6 degrees of freedom widens it.
    assert row["share"] == pytest.approx(0.286, abs=5e-4)
    assert row["low"] <= 0.082
    assert row["high"] >= 0.641


def test_a_season_without_checks_says_nothing() -> None:
    table = occupancy_by_season(history([("b0", 2024, "not checked")]))
    assert table["checked"].tolist() == [0, 0, 0, 0]
    assert table[["share", "low", "high"]].isna().all().all()


def test_four_are_too_few_to_say() -> None:
    checks = [(f"b{number}", 2026, "swift") for number in range(4)]
    row = occupancy_by_season(history(checks)).iloc[-1]
    assert (row["checked"], row["used"]) == (4, 4)
    assert np.isnan(row["share"])


def test_all_boxes_taken_by_sparrows() -> None:
    checks = [
        (f"b{number}", year, "house sparrow") for number in range(8) for year in range(2023, 2027)
    ]
    found = history(checks)
    row = occupancy_by_season(found).iloc[-1]
    assert (row["used"], row["share"], row["low"], row["other_species"]) == (0, 0, 0, 8)
    assert set(failed_boxes(found)["why"]) == {"taken over (house sparrow)"}


def test_by_place() -> None:
    checks = [(f"b{number}", 2026, "swift" if number % 2 else "empty") for number in range(8)]
    found = history(
        checks,
        kind=["brick"] * 5 + [None] * 3,
        height_m=[4.4, 5.0, 6.9, 7.0, 9.9, 10.0, np.nan, 30.0],
        facing=["N"] * 8,
    )
    table = occupancy_by_place(found).set_index(["what", "value"])
    brick = table.loc[[("kind", "brick")]]
    assert (brick["standing"].item(), brick["checked"].item(), brick["used"].item()) == (5, 5, 2)
    assert table.loc[("kind", "not said"), "standing"] == 3
    heights = table.loc["height"]["standing"].to_dict()
    assert heights == {
        "below 5 m": 1,
        "5 to 6.9 m": 2,
        "7 to 9.9 m": 2,
        "10 m and higher": 2,
        "not said": 1,
    }
    assert table.loc[("facing", "N"), "share"] == 0.5
    assert table.loc[("boxes on the building", "1"), "standing"] == 8


def test_why_boxes_failed() -> None:
    found = history(
        [("b1", 2024, "empty"), ("b2", 2024, "swift"), ("b3", 2024, "starling")],
        boxes=5,
        height_m=[6.0, 4.0, 4.0, 6.0, 6.0],
        clear_drop_m=[6.0, 6.0, 3.0, 3.0, 6.0],
        entrance_mm=[28.0, 28.0, 28.0, 45.0, 28.0],
    )
    why = failed_boxes(found).set_index("box")["why"].to_dict()
    assert why == {
        "b0": "never checked, so nobody knows",
        "b1": "low: below 4.5 m",
        "b3": "taken over (starling); clear fall below 4.5 m; "
        "entrance over 30 mm, which lets starlings in",
        "b4": "never checked, so nobody knows",
    }


def test_two_seasons_are_no_failure() -> None:
    rows = [("a", 0, 1, pd.Timestamp("2025-03-01"), pd.NaT)]
    found = box_history(box_table(rows), check_table([]), NO_VISITS, newest=2026)
    assert failed_boxes(found).empty


def test_costs() -> None:
    checks = check_table([("b0", 2025, "swift"), ("b1", 2026, "swift"), ("b2", 2026, "swift")])
    rows = [(f"b{number}", 0, number, SPRING, pd.NaT) for number in range(5)]
    boxes = box_table(rows).assign(cost=[40.0, 20.0, np.nan, 30.0, 30.0])
    found = box_history(boxes, checks.assign(fledged=[2.0, 1.0, 9.0]), NO_VISITS, newest=2026)
    # 120 pounds for 4 boxes, 2 of them used, 3 young; the box without a price is left out
    assert costs(found).to_dict("records") == [
        {"what": "box", "number": 4, "pounds_each": 30.0},
        {"what": "box used by swifts", "number": 2, "pounds_each": 60.0},
        {"what": "young fledged", "number": 3, "pounds_each": 40.0},
    ]


def test_no_costs_and_no_boxes() -> None:
    for found in (history([]), history([], boxes=0)):
        assert costs(found)["number"].tolist() == [0, 0, 0]
        assert costs(found)["pounds_each"].isna().all()
        assert list(occupancy_by_place(found).columns)[:2] == ["what", "value"]
    assert occupancy_by_season(history([], boxes=0)).empty
    assert failed_boxes(history([], boxes=0)).empty
