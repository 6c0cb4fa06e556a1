"""The export for a local records centre."""

from __future__ import annotations

import datetime as dt
import io
from pathlib import Path

import pandas as pd
import pytest

from eaveline import pipeline
from eaveline.config import load_config
from eaveline.gazetteer import load_gazetteer
from eaveline.papers.records_centre import records_centre_csv
from small_town import write_town


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> pd.DataFrame:
    folder = write_town(tmp_path_factory.mktemp("centre"))
    config = load_config(folder)
    town = load_gazetteer(folder, config)
    intake = pipeline.take_in_town(folder, town, today=dt.date(2026, 11, 25))
    register, _ = pipeline.merge_town(intake, town, config)
    data = records_centre_csv(
        register, config.town, centre="Sealand Records Centre", crs=config.crs
    )
    return pd.read_csv(io.BytesIO(data), dtype=str, keep_default_na=False)


def test_every_site_and_season_and_every_loose_sighting(table: pd.DataFrame) -> None:
    # By hand from small_town.py: A21 and M7 twice, C1, the martins; two parties.
    assert len(table) == 8
    assert table["occurrenceID"].is_unique
    assert table["occurrenceID"].str.startswith("sighting:").sum() == 2


def test_places_are_exact(table: pd.DataFrame) -> None:
    row = table[table["verbatimCoordinates"] == "650041 340100"].iloc[-1]
    assert row["eventDate"] == "2026-06-04"
    assert row["coordinateUncertaintyInMeters"] == "10.0"
    assert row["reproductiveCondition"] == "confirmed breeding (EBCC code 13)"


def test_a_lost_nest_is_an_absence(table: pd.DataFrame) -> None:
    row = table[table["occurrenceRemarks"].str.contains("lost")].iloc[0]
    assert row["occurrenceStatus"] == "notDetected"
    assert (table["occurrenceStatus"] == "notDetected").sum() == 1


def test_nobody_is_named_and_every_row_says_who_may_see_it(table: pd.DataFrame) -> None:
    everything = " ".join(table.to_numpy().ravel())
    assert "Ann Poole" not in everything
    assert "Bob Tarn" not in everything
    assert table["accessRights"].str.startswith("Confidential, for Sealand Records Centre").all()
    assert table["license"].str.startswith("None: for the use agreed").all()


def test_it_is_written_only_for_a_body_that_is_named(tmp_path: Path) -> None:
    folder = write_town(tmp_path)
    pipeline.build_town(folder, today=dt.date(2026, 11, 25))
    export = folder / "private" / "records-centre.csv"
    assert not export.exists()
    settings = folder / "survey_data" / "town.toml"
    settings.write_text(
        'records_centre = "Sealand Records Centre"\n' + settings.read_text(encoding="utf-8"),
        encoding="utf-8",
    )
    pipeline.build_town(folder, today=dt.date(2026, 11, 25))
    assert export.is_file()
