"""Evidence pulls by kind, age and distance, and never from the future."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from eaveline.private.offers.activity import (
    BOX,
    CONFIRMED,
    LOST,
    PARTY,
    WEIGHTS,
    as_of,
    distance_to,
    pull,
    strongest,
)


def signs(*rows: tuple[float, int, str, str]) -> pd.DataFrame:
    """Return evidence along a line: easting, season, kind, source."""
    return pd.DataFrame(
        {
            "easting": [row[0] for row in rows],
            "northing": 0.0,
            "season": [row[1] for row in rows],
            "kind": [row[2] for row in rows],
            "source": [row[3] for row in rows],
            "building": range(len(rows)),
            "weight": [WEIGHTS[row[2]] for row in rows],
        }
    )


def at(known: pd.DataFrame, *east: float) -> np.ndarray:
    return pull(list(east), [0.0] * len(east), known)


def test_a_nest_on_the_spot_pulls_by_one_half_and_fades_with_distance() -> None:
    known = as_of(signs((0, 2026, CONFIRMED, "a")), 2026)
    on, near, far, beyond = at(known, 0, 100, 500, 700)
    assert on == pytest.approx(0.5)
    assert near == pytest.approx(0.3393, abs=1e-4)  # exp(-2/3) / (1 + exp(-2/3))
    assert 0 < far < 0.05
    assert beyond == 0


def test_five_years_halve_the_weight() -> None:
    """0.87 ** 5 = 0.498: about half the entrances are still used (Verkade and others 2015)."""
    assert as_of(signs((0, 2021, CONFIRMED, "a")), 2026)["weight"][0] == pytest.approx(
        0.498, abs=1e-3
    )


def test_nothing_is_known_before_it_happened() -> None:
    table = signs((0, 2024, PARTY, "a"), (0, 2026, CONFIRMED, "b"))
    assert as_of(table, 2025)["source"].tolist() == ["a"]
    assert len(as_of(table, 2023)) == 0


def test_one_source_counts_once_by_its_strongest_season() -> None:
    table = signs((0, 2020, CONFIRMED, "a"), (0, 2026, PARTY, "a"), (0, 2025, CONFIRMED, "a"))
    known = as_of(table, 2026)
    assert known["weight"].tolist() == [pytest.approx(0.87)]


def test_a_lost_site_draws_for_two_more_seasons_and_then_no_more() -> None:
    table = signs((0, 2023, CONFIRMED, "a"), (0, 2024, LOST, "a"))
    assert as_of(table, 2024)["kind"].tolist() == [LOST]
    assert as_of(table, 2026)["kind"].tolist() == [LOST]
    assert len(as_of(table, 2027)) == 0
    back = signs((0, 2024, LOST, "a"), (0, 2026, CONFIRMED, "a"))
    assert as_of(back, 2027)["kind"].tolist() == [CONFIRMED]


def test_a_buildings_own_box_is_no_evidence_for_it() -> None:
    known = as_of(signs((0, 2026, BOX, "a")), 2026)
    assert pull([0.0], [0.0], known, except_boxes_on=[0]) == pytest.approx(0)
    assert pull([0.0], [0.0], known, except_boxes_on=[5]) == pytest.approx(0.5)


def test_the_strongest_sign_is_named_not_the_nearest() -> None:
    known = as_of(signs((20, 2018, PARTY, "old"), (60, 2026, CONFIRMED, "fresh")), 2026)
    found = strongest([0.0, 5000.0], [0.0, 0.0], known)
    assert known["source"][found.row[0]] == "fresh"
    assert (found.row[1], found.pull[1]) == (-1, 0)
    assert distance_to([0.0], [0.0], known)[0] == 20
