"""What there is to do in a month."""

from __future__ import annotations

import datetime as dt

import pandas as pd
import pytest

from eaveline.private.derive.box_seasons import BoxHistory, box_history
from eaveline.private.derive.jobs import jobs
from towns_drawn import NO_VISITS, box_table, check_table


def history() -> BoxHistory:
    rows = [
        ("caller", 0, 1, pd.Timestamp("2022-03-01"), pd.Timestamp("2026-05-05")),
        ("sparrow", 0, 2, pd.Timestamp("2022-03-01"), pd.NaT),
        ("forgotten", 0, 3, pd.Timestamp("2022-03-01"), pd.NaT),
        ("gone", 0, 4, pd.Timestamp("2022-03-01"), pd.NaT),
        ("new", 0, 5, pd.Timestamp("2026-03-01"), pd.NaT),
    ]
    boxes = box_table(rows)
    gone = boxes["title"].map({"gone": pd.Timestamp("2025-11-01")})
    boxes = boxes.assign(removed_on=pd.to_datetime(gone))
    checks = check_table(
        [
            ("caller", 2026, "empty"),
            ("sparrow", 2025, "house sparrow"),
            ("forgotten", 2023, "empty"),
        ]
    )
    return box_history(boxes, checks, NO_VISITS, newest=2026)


@pytest.mark.parametrize(
    ("month", "expected"),
    [
        (1, []),
        (4, [("Open the entrance, if it was plugged", "sparrow")]),
        (
            5,
            [
                ("Switch the caller on", "caller"),
                ("Open the entrance, if it was plugged", "sparrow"),
            ],
        ),
        (6, [("Check", "forgotten"), ("Check", "new"), ("Check", "sparrow")]),
        (
            7,
            [
                ("Switch the caller off", "caller"),
                ("Check", "forgotten"),
                ("Check", "new"),
                ("Check", "sparrow"),
            ],
        ),
        (10, [("Switch the caller off", "caller")]),
    ],
)
def test_jobs_of_a_month(month: int, expected: list[tuple[str, str]]) -> None:
    table = jobs(history(), today=dt.date(2026, month, 15))
    found = list(zip(table["job"], table["box"], strict=True))
    planned = ("Plan a check: none for two seasons", "forgotten")
    assert found == [*expected, planned]


def test_the_last_check_is_named() -> None:
    table = jobs(history(), today=dt.date(2026, 10, 15))
    assert table["why"].iloc[-1] == "last checked in 2023"


def test_no_boxes() -> None:
    none = box_history(box_table([]), check_table([]), NO_VISITS, newest=2026)
    for month in range(1, 13):
        assert jobs(none, today=dt.date(2024, month, 29)).empty
