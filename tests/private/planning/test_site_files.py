"""Applications in map files."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import geopandas as gpd
import pytest
import shapely

from eaveline import pipeline
from eaveline.config import load_config
from eaveline.gazetteer import load_gazetteer
from small_town import ordinary_records, write_town

SITE = shapely.box(650130, 340010, 650170, 340090)


@pytest.mark.parametrize(
    ("name", "crs"),
    [("sites.gpkg", "EPSG:27700"), ("sites.geojson", "EPSG:4326"), ("sites.shp", "EPSG:27700")],
)
def test_a_map_file_gives_applications(tmp_path: Path, name: str, crs: str) -> None:
    folder = write_town(tmp_path, ordinary_records())
    table = gpd.GeoDataFrame(
        {"reference": ["26/1"], "received": ["01/09/2026"], "dwellings": [3]},
        geometry=[SITE],
        crs="EPSG:27700",
    )
    (folder / "survey_data" / "planning").mkdir()
    table.to_crs(crs).to_file(folder / "survey_data" / "planning" / name)
    config = load_config(folder)
    town = load_gazetteer(folder, config)
    intake = pipeline.take_in_town(folder, town, today=dt.date(2026, 11, 25))
    register, _ = pipeline.merge_town(intake, town, config)
    applications, _ = pipeline.merge_planning(intake, register, config)
    (row,) = applications.to_dict("records")
    assert row["reference"] == "26/1"
    assert row["dwellings"] == 3
    assert row["received"].date() == dt.date(2026, 9, 1)
    # PROJ's own shift is up to 5 m off in degrees; in the town's grid nothing is lost.
    off_m = 5.0 if crs == "EPSG:4326" else 0.001
    assert shapely.hausdorff_distance(row["shape"], SITE) < off_m
    assert not intake.notices


def test_a_broken_map_file_is_a_notice(tmp_path: Path) -> None:
    folder = write_town(tmp_path, ordinary_records())
    (folder / "survey_data" / "planning").mkdir()
    (folder / "survey_data" / "planning" / "sites.gpkg").write_bytes(b"no database")
    config = load_config(folder)
    intake = pipeline.take_in_town(
        folder, load_gazetteer(folder, config), today=dt.date(2026, 11, 25)
    )
    codes = {notice.code for notice in intake.notices}
    codes |= {notice.code for raw in intake.files for notice in raw.notices}
    assert "site-file-unreadable" in codes
