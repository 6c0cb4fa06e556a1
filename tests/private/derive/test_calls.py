"""Boxes with calls against boxes without."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from eaveline.private.derive.box_seasons import BoxHistory, box_history
from eaveline.private.derive.calls import compare_calls, distance_band, distance_to_nests
from towns_drawn import NO_VISITS, box_table, check_table


def history(buildings: int, *, used: set[int], calls: dict[int, str]) -> BoxHistory:
    rows = [
        (
            f"b{number:02d}",
            0,
            number,
            pd.Timestamp("2023-03-01"),
            pd.Timestamp(calls[number]) if number in calls else pd.NaT,
        )
        for number in range(buildings)
    ]
    checks = [
        (f"b{number:02d}", year, "swift" if number in used else "empty")
        for number in range(buildings)
        for year in (2023, 2024)
    ]
    return box_history(box_table(rows), check_table(checks), NO_VISITS, newest=2024)


def test_a_plain_difference_is_found() -> None:
    found = compare_calls(
        history(40, used=set(range(14)), calls=dict.fromkeys(range(20), "2023-05-10")),
        distance_m=np.full(40, 50.0),
    )
    assert found.verdict == "sooner with calls"
    assert found.table[["buildings", "used"]].to_numpy().tolist() == [[20, 0], [20, 14]]
    assert found.ratio is None  # none used without calls, so no ratio can be given


def test_later_calls_are_no_calls() -> None:
    """A caller put up because the box stood empty must not be blamed for its emptiness."""
    found = compare_calls(
        history(40, used=set(range(20, 34)), calls=dict.fromkeys(range(20), "2024-05-10")),
        distance_m=np.full(40, 50.0),
    )
    assert found.verdict == "too few to say"
    assert found.table["with_calls"].tolist() == [False]
    # Twenty boxes wait one season each, until the calls begin; the others one and two.
    assert found.table["seasons"].tolist() == [20 + 14 + 6 * 2]


@pytest.mark.parametrize("buildings", [0, 1, 18])
def test_too_few_to_say(buildings: int) -> None:
    found = compare_calls(
        history(buildings, used={0}, calls=dict.fromkeys(range(buildings // 2), "2023-05-10")),
        distance_m=np.full(buildings, 50.0),
    )
    assert found.verdict == "too few to say"


def test_only_boxes_as_far_from_nests_are_compared() -> None:
    """All near ones have calls and are used, no far one has or is: nothing can be told."""
    near = set(range(20))
    found = compare_calls(
        history(40, used=near, calls=dict.fromkeys(near, "2023-05-10")),
        distance_m=np.where(np.arange(40) < 20, 50.0, 900.0),
    )
    assert found.verdict == "no clear difference"
    assert found.comparison is not None
    assert found.comparison.p_value == 1


def test_bands() -> None:
    assert distance_band(np.array([0, 100, 100.1, 500, 501, np.inf])).tolist() == [0, 0, 1, 1, 2, 2]


def test_distance_to_nests_known_by_then() -> None:
    units = pd.DataFrame(
        {"easting": [0.0, 0.0], "northing": [0.0, 0.0], "first_season": [2022, 2024]}
    )
    sites = pd.DataFrame(
        {
            "species": ["swift", "swift", "house martin", "swift"],
            "easting": [30.0, 300.0, 1.0, 2.0],
            "northing": [40.0, 400.0, 0.0, 0.0],
        }
    )
    evidence = pd.DataFrame(
        [
            (0, 2024, 13, "in use"),
            (1, 2021, 6, "in use"),
            (2, 2020, 16, "in use"),
            (3, 2020, 5, ""),
        ],
        columns=["site", "season", "atlas_code", "status"],
    )
    # 500 m before the nearer was known, then 50 m; martins and screaming parties do not count
    assert distance_to_nests(units, sites, evidence).tolist() == [500.0, 50.0]
    assert np.isinf(distance_to_nests(units, sites.iloc[:0], evidence.iloc[:0])).all()
