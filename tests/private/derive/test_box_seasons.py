"""What became of each box."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from eaveline.estimation.survival import CENSORED, COMPETING, EVENT
from eaveline.private.derive.box_seasons import (
    BoxHistory,
    box_history,
    first_occupant,
    first_use,
)
from towns_drawn import NO_VISITS, box_table, check_table


def history(
    fitted: dict[str, str | None],
    checks: list[tuple[str, int, str]],
    *,
    newest: int = 2026,
    visits: pd.DataFrame = NO_VISITS,
    **columns: Any,
) -> BoxHistory:
    rows = [
        (title, 0, number, pd.Timestamp(day) if day else pd.NaT, pd.NaT)
        for number, (title, day) in enumerate(fitted.items())
    ]
    return box_history(
        box_table(rows).assign(**columns), check_table(checks), visits, newest=newest
    )


@pytest.mark.parametrize(
    ("fitted", "first"),
    [
        ("2024-02-29", 2024),
        ("2024-06-01", 2024),
        ("2024-06-02", 2025),
        ("2024-11-20", 2025),
        (None, 2025),  # from its first check
    ],
)
def test_first_season(fitted: str | None, first: int) -> None:
    found = history({"a": fitted}, [("a", 2025, "empty")])
    assert found.units["first_season"].tolist() == [first]
    assert found.seasons["season"].tolist() == list(range(first, 2027))
    assert found.seasons["age"].tolist() == list(range(1, 2028 - first))


def test_fitted_after_the_newest_season() -> None:
    found = history({"a": "2026-10-01"}, [])
    assert found.seasons.empty
    assert first_use(found).empty


def test_used_in_the_summer_it_was_fitted() -> None:
    """Somebody saw it, so the rule on late fitting gives way."""
    found = history({"a": "2024-06-20"}, [("a", 2024, "swift")])
    assert found.units["first_season"].tolist() == [2024]
    assert first_use(found).to_dict("records") == [{"time": 1, "ending": EVENT}]


def test_waits() -> None:
    fitted: dict[str, str | None] = dict.fromkeys("abcdef", "2022-03-01")
    found = history(
        fitted,
        [
            ("a", 2023, "empty"),
            ("a", 2024, "swift"),
            ("a", 2025, "empty"),
            ("b", 2024, "empty"),  # last looked into in its third season
            ("c", 2022, "house sparrow"),
            ("c", 2025, "swift"),
            ("d", 2023, "tit"),
            ("d", 2024, "empty"),
            ("e", 2026, "not checked"),
        ],
    )
    by_title = found.units["title"]
    alone = first_use(found).rename(index=by_title.to_dict())
    assert alone["time"].to_dict() == {"a": 3, "b": 3, "c": 4, "d": 3}
    assert alone["ending"].to_dict() == {"a": EVENT, "b": CENSORED, "c": EVENT, "d": CENSORED}
    against = first_occupant(found).rename(index=by_title.to_dict())
    assert against["time"].to_dict() == {"a": 3, "b": 3, "c": 1, "d": 2}
    assert against["ending"].to_dict() == {
        "a": EVENT,
        "b": CENSORED,
        "c": COMPETING,
        "d": COMPETING,
    }


def test_swifts_seen_going_in_count_without_a_check() -> None:
    visits = pd.DataFrame({"title": ["a"], "season": [2025]})
    found = history({"a": "2024-03-01"}, [], visits=visits)
    assert first_use(found).to_dict("records") == [{"time": 2, "ending": EVENT}]


def test_a_box_stands_until_it_is_taken_down() -> None:
    before, after = pd.Timestamp("2025-03-31"), pd.Timestamp("2025-07-01")
    fitted: dict[str, str | None] = {"a": "2023-03-01", "b": "2023-03-01"}
    found = history(fitted, [], removed_on=[before, after])
    assert found.units["last_season"].tolist() == [2024, 2025]


def test_a_moved_box_stands_at_its_old_place_until_the_new() -> None:
    rows = [
        ("a", 0, 7, pd.Timestamp("2022-03-01"), pd.NaT),
        ("a", 1, 9, pd.Timestamp("2024-03-01"), pd.NaT),
    ]
    checks = check_table([("a", 2023, "swift"), ("a", 2025, "empty")])
    found = box_history(box_table(rows), checks, NO_VISITS, newest=2025)
    assert found.units[["first_season", "last_season"]].to_numpy().tolist() == [
        [2022, 2023],
        [2024, 2025],
    ]
    assert first_use(found)["ending"].tolist() == [EVENT, CENSORED]


def test_fledged_is_the_most_of_each_cavity_added_up() -> None:
    checks = check_table([("a", 2025, "swift")] * 3).assign(
        cavity=["1", "1", "2"], fledged=[1.0, 2.0, 3.0]
    )
    rows = [("a", 0, 1, pd.Timestamp("2024-03-01"), pd.NaT)]
    found = box_history(box_table(rows), checks, NO_VISITS, newest=2025)
    assert found.seasons["fledged"].dropna().tolist() == [5.0]


def test_boxes_near_no_building_stand_alone() -> None:
    rows = [(title, 0, -1, pd.Timestamp("2024-03-01"), pd.NaT) for title in "abc"]
    units = box_history(box_table(rows), check_table([]), NO_VISITS, newest=2025).units
    assert units["cluster"].nunique() == 3
    assert (units["cluster"] < -1).all()
    assert units["neighbours"].tolist() == [1, 1, 1]


def test_no_boxes() -> None:
    found = history({}, [])
    assert found.seasons.empty
    assert first_use(found).empty
    assert first_occupant(found).empty
