"""What became of applications."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest

from eaveline.private.planning.tally import reminders, tally

NAT = pd.NaT


def applications(**columns: object) -> pd.DataFrame:
    base: dict[str, object] = {
        "reference": ["A1"],
        "received": [pd.Timestamp(2025, 3, 1)],
        "comments_due": [NAT],
        "decided_on": [pd.Timestamp(2025, 6, 1)],
        "outcome": ["Approved"],
        "boxes_asked": [np.nan],
        "boxes_granted": [np.nan],
        "boxes_drawn": [np.nan],
        "boxes_fitted": [np.nan],
        "photographed": [False],
    }
    return pd.DataFrame(base | columns)


def test_a_tally_by_year() -> None:
    table = applications(
        reference=["A1", "A2", "A3"],
        received=[pd.Timestamp(2025, 3, 1), pd.Timestamp(2026, 2, 1), NAT],
        comments_due=[NAT] * 3,
        decided_on=[NAT] * 3,
        outcome=["Approved"] * 3,
        boxes_asked=[12, 3, np.nan],
        boxes_granted=[6, np.nan, np.nan],
        boxes_drawn=[6, np.nan, np.nan],
        boxes_fitted=[4, np.nan, np.nan],
        photographed=[True, False, False],
    )
    assert tally(table) == [
        (2025, 1, 12, 6, 6, 4, 1),
        (2026, 1, 3, 0, 0, 0, 0),
        ("no date", 1, 0, 0, 0, 0, 0),
    ]


@pytest.mark.parametrize(
    ("columns", "words"),
    [
        ({"outcome": [None], "comments_due": [pd.Timestamp(2026, 10, 1)]}, "look up the decision"),
        ({"boxes_asked": [4]}, "count the boxes"),
        ({"boxes_granted": [4]}, "look for them on the drawings"),
        ({"boxes_granted": [4], "boxes_drawn": [2]}, "fewer boxes than were granted"),
        ({"boxes_granted": [4], "boxes_drawn": [4]}, "has building begun"),
        ({"boxes_granted": [4], "boxes_drawn": [4], "boxes_fitted": [4]}, "photograph"),
        (
            {
                "boxes_granted": [4],
                "boxes_drawn": [4],
                "boxes_fitted": [3],
                "photographed": [True],
            },
            "tell the council",
        ),
    ],
)
def test_reminders(columns: dict[str, object], words: str) -> None:
    ((reference, reminder),) = reminders(applications(**columns), today=dt.date(2026, 11, 25))
    assert reference == "A1"
    assert words in str(reminder)


@pytest.mark.parametrize(
    "columns",
    [
        {"outcome": ["Refused"], "boxes_asked": [4]},
        {"outcome": [None], "comments_due": [pd.Timestamp(2026, 12, 1)]},
        {
            "boxes_granted": [4],
            "boxes_drawn": [4],
            "boxes_fitted": [4],
            "photographed": [True],
        },
    ],
)
def test_nothing_to_chase(columns: dict[str, object]) -> None:
    assert not reminders(applications(**columns), today=dt.date(2026, 11, 25))
