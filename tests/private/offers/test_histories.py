"""What a group's boxes tell: seasons at risk, first use, and nothing from later years."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pandas as pd

from eaveline.private.offers.histories import box_histories


def register(
    boxes: list[tuple[str, str | None, str | None, int]],
    checks: list[tuple[str, int, str]],
    visits: list[tuple[str, int]] | None = None,
) -> Any:
    """Return a stand-in for the register: title, fixed, kind, building; title, season, seen."""
    count = len(boxes)
    return SimpleNamespace(
        boxes=pd.DataFrame(
            {
                "title": [box[0] for box in boxes],
                "standing": 0,
                "fixed_on": pd.to_datetime(pd.Series([box[1] for box in boxes], dtype=object)),
                "removed_on": pd.Series([pd.NaT] * count, dtype="datetime64[s]"),
                "calls_from": pd.Series([pd.NaT] * count, dtype="datetime64[s]"),
                "kind": pd.Series([box[2] for box in boxes], dtype=object),
                "building": [box[3] for box in boxes],
                "easting": 0.0,
                "northing": 0.0,
                "height_m": 6.0,
                "facing": "N",
            }
        ),
        checks=pd.DataFrame(checks, columns=["title", "season", "seen"]),
        box_visits=pd.DataFrame(visits or [], columns=["title", "season"]).astype(
            {"season": "int64"}
        ),
    )


def told(table: pd.DataFrame) -> dict[str, tuple[int, int, bool]]:
    """Return first season, seasons and use by title."""
    return {
        row["title"]: (int(row["first"]), int(row["seasons"]), bool(row["used"]))
        for row in table.to_dict("records")
    }


def test_seasons_count_up_to_the_first_use_and_not_beyond_the_third() -> None:
    made = register(
        [("a", "2022-03-01", None, 1), ("b", "2022-03-01", None, 2), ("c", "2022-03-01", None, 3)],
        [
            *(("a", year, "swift" if year == 2023 else "empty") for year in range(2022, 2026)),
            *(("b", year, "house sparrow") for year in range(2022, 2027)),
            ("c", 2022, "not checked"),
            ("c", 2024, "empty"),
        ],
    )
    assert told(box_histories(made)) == {
        "a": (2022, 2, True),
        "b": (2022, 3, False),
        "c": (2022, 1, False),
    }


def test_a_box_fitted_after_the_first_of_june_starts_next_year() -> None:
    made = register(
        [("a", "2024-06-02", None, 1), ("b", "2024-06-01", None, 2)],
        [(box, year, "empty") for box in "ab" for year in (2024, 2025)],
    )
    assert told(box_histories(made)) == {"a": (2025, 1, False), "b": (2024, 2, False)}


def test_martin_cups_and_boxes_without_a_date_are_left_out() -> None:
    made = register(
        [
            ("a", "2024-03-01", "martin cup", 1),
            ("b", None, None, 2),
            ("c", "2024-03-01", "brick", 3),
        ],
        [(box, 2024, "swift") for box in "abc"],
    )
    assert list(told(box_histories(made))) == ["c"]


def test_a_visit_seen_from_the_street_is_use_and_the_future_is_not_known() -> None:
    made = register([("a", "2024-03-01", None, 1)], [("a", 2024, "empty")], [("a", 2025)])
    assert told(box_histories(made)) == {"a": (2024, 2, True)}
    assert told(box_histories(made, until=2024)) == {"a": (2024, 1, False)}


def test_company_is_what_hung_there_in_the_first_season() -> None:
    made = register(
        [("a", "2022-03-01", None, 1), ("b", "2022-03-01", None, 1), ("c", "2024-03-01", None, 1)],
        [(box, 2024, "empty") for box in "abc"],
    )
    found = box_histories(made)
    assert dict(zip(found["title"], found["company"], strict=True)) == {"a": 2, "b": 2, "c": 3}
