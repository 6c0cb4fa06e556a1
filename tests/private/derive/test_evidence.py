"""What a nest site is worth as evidence, season by season."""

from __future__ import annotations

import pandas as pd
import pytest

from eaveline.private.derive.evidence import evidence_class, site_seasons, site_status

SITES = pd.DataFrame({"species": ["swift"] * 5}, index=pd.RangeIndex(5, name="site"))
EVIDENCE = pd.DataFrame(
    [
        (0, 2021, 16, "in use"),
        (0, 2026, 6, "in use"),
        (1, 2026, 13, "in use"),
        (2, 2024, 14, "in use"),
        (2, 2025, 0, "lost"),
        (3, 2022, 0, "lost"),
        (3, 2024, 9, "in use"),
    ],
    columns=["site", "season", "atlas_code", "status"],
)


def test_classes_are_the_second_atlass() -> None:
    """EBCC: possible 1-2, probable 3-9, confirmed 10-16."""
    classes = {code: str(evidence_class(code)) for code in range(17)}
    assert classes[0] == "None"
    assert {classes[code] for code in (1, 2)} == {"possible"}
    assert {classes[code] for code in range(3, 10)} == {"probable"}
    assert {classes[code] for code in range(10, 17)} == {"confirmed"}


def test_a_confirmation_is_never_carried_forward() -> None:
    status = site_status(SITES, EVIDENCE, season=2026)
    assert status.loc[0, "highest_code"] == 6
    assert status.loc[0, "evidence"] == "probable"
    assert status.loc[0, "last_confirmed"] == 2021
    by_season = site_seasons(EVIDENCE)
    assert by_season["evidence"].tolist() == [
        "confirmed",
        "probable",
        "confirmed",
        "confirmed",
        "",
        "",
        "probable",
    ]


def test_an_old_confirmation_is_worth_half_after_five_years() -> None:
    """0.87^5 = 0.498 (about half of entrances still used after five years)."""
    status = site_status(SITES, EVIDENCE, season=2026)
    assert status.loc[0, "weight"] == pytest.approx(0.498, abs=5e-4)
    assert status.loc[1, "weight"] == 1


def test_lost_until_seen_again() -> None:
    status = site_status(SITES, EVIDENCE, season=2026)
    assert status.loc[2, "lost_in"] == 2025
    assert status.loc[2, "weight"] == 0
    assert status["lost_in"].isna()[3]
    assert status.loc[3, "last_occupied"] == 2024


def test_looking_back_from_an_earlier_season() -> None:
    status = site_status(SITES, EVIDENCE, season=2024)
    assert status["lost_in"].isna()[2]
    assert status.loc[2, "weight"] == 1
    assert status.loc[1, "weight"] == 0


def test_a_site_nobody_reported_on() -> None:
    status = site_status(SITES, EVIDENCE, season=2026)
    assert status.loc[4, ["highest_code", "evidence", "weight"]].to_numpy().tolist() == [0, "", 0]


def test_no_sites() -> None:
    assert site_status(SITES.iloc[:0], EVIDENCE.iloc[:0], season=2026).empty
