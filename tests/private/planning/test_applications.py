"""Council lists, read, checked and joined."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest
import shapely

from eaveline import pipeline
from eaveline.config import load_config
from eaveline.gazetteer import load_gazetteer
from eaveline.private.intake.ledger import RowState
from eaveline.private.planning.applications import merge_applications
from planned_town import Planned
from small_town import write_town

HEADER = "Reference,Date received,Consultation expiry,Address,Easting,Northing,wkt,Decision\n"


def faults_of(tmp_path: Path, row: str) -> set[tuple[str, str]]:
    import datetime as dt  # noqa: PLC0415 - for this one line

    write_town(tmp_path, {"planning/list.csv": HEADER + row})
    config = load_config(tmp_path)
    town = load_gazetteer(tmp_path, config)
    intake = pipeline.take_in_town(tmp_path, town, today=dt.date(2026, 11, 25))
    return set(zip(intake.faults["column"], intake.faults["code"], strict=True))


def test_an_address_of_several_lines_finds_its_house(plan: Planned) -> None:
    row = plan.applications.set_index("reference").loc["26/00101/FUL"]
    # Number 21 is the eleventh house on the left of Albert Road: 50 - 9, 20 + 10 * 8.
    assert row["shape"] == shapely.Point(650041, 340100)
    assert row["address"] == "21 Albert Road, Little Ottersley"


def test_dates_are_day_first(plan: Planned) -> None:
    row = plan.applications.set_index("reference").loc["26/00101/FUL"]
    assert row["received"] == pd.Timestamp(2026, 9, 1)
    assert row["comments_due"] == pd.Timestamp(2026, 12, 15)


def test_a_repeated_reference_is_one_application(plan: Planned) -> None:
    assert list(plan.applications["reference"]) == ["26/00101/FUL", "26/00102/FUL", "26/00103/FUL"]
    row = plan.applications.set_index("reference").loc["26/00103/FUL"]
    assert row["outcome"] == "Approved"
    assert row["dwellings"] == 0
    assert row["shape"].area == 3600
    assert plan.register.ledger.counts()[RowState.MERGED] >= 1


def test_the_order_of_rows_does_not_matter(plan: Planned) -> None:
    table = plan.intake.tables["planning"]
    turned, _ = merge_applications(table.iloc[::-1], crs="EPSG:27700")
    pd.testing.assert_frame_equal(turned, plan.applications)


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ("A1,31/13/2026,,,650100,340100,,", ("received", "date-impossible")),
        ("A1,01/09/2026,,,0,0,,", ("easting", "outside-town")),
        ("A1,01/09/2026,,99 Nowhere Street,,,,", ("street", "street-unknown")),
        ("A1,01/09/2026,,,,,,", ("place", "place-missing")),
        ("A1,01/09/2026,01/08/2026,,650100,340100,,", ("comments_due", "comments-before-received")),
        (",01/09/2026,,,650100,340100,,", ("reference", "cell-missing")),
        ('A1,01/09/2026,,,,,"POLYGON ((1 2, 3",', ("site_wkt", "outline-unreadable")),
    ],
)
def test_what_is_held(tmp_path: Path, row: str, fault: tuple[str, str]) -> None:
    assert fault in faults_of(tmp_path, row + "\n")


def test_a_day_for_comments_may_lie_ahead(tmp_path: Path) -> None:
    assert not faults_of(tmp_path, "A1,01/11/2026,24/12/2026,,650100,340100,,\n")


def test_an_outline_stands_for_a_place(tmp_path: Path) -> None:
    assert not faults_of(tmp_path, 'A1,01/11/2026,,,,,"POINT (650100 340100)",\n')
