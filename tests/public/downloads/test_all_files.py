"""The files for other programs."""

from __future__ import annotations

import csv
import datetime as dt
import json
from pathlib import Path
from typing import Any

import frictionless
import jsonschema
import numpy as np
import pytest

from eaveline.geodesy import from_wgs84
from eaveline.public.downloads.all_files import write_downloads
from eaveline.public.downloads.tables import tables
from eaveline.public.maps.basemap import load_basemap
from eaveline.public.records import (
    Layers,
    PublicRelease,
    Species,
    WeekOfParties,
    release_from_json,
)
from eaveline.public.town import PublicTown

FILES = {
    "colony.gpkg",
    "darwin-core.zip",
    "datapackage.json",
    "figures.csv",
    "regions.csv",
    "release.json",
    "release.schema.json",
    "seasons.csv",
    "squares.geojson",
    "streets.csv",
}


@pytest.fixture(scope="module")
def data(
    release: PublicRelease,
    map_folder: Path,
    public_town: PublicTown,
    tmp_path_factory: pytest.TempPathFactory,
) -> Path:
    folder = tmp_path_factory.mktemp("downloads") / "data"
    basemap = load_basemap(map_folder, crs=release.crs)
    write_downloads(release, basemap, public_town, folder)
    return folder


def read_json(path: Path) -> Any:
    return json.loads(path.read_text(encoding="utf-8"))


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_files(data: Path) -> None:
    assert {path.name for path in data.iterdir()} == FILES


def test_the_release_can_be_read_back(data: Path, release: PublicRelease) -> None:
    assert release_from_json((data / "release.json").read_text(encoding="utf-8")) == release


def test_the_release_follows_its_schema_and_a_wrong_one_does_not(data: Path) -> None:
    schema = read_json(data / "release.schema.json")
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["title"] == "PublicRelease"
    validator = jsonschema.Draft202012Validator(
        schema, format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER
    )
    written = read_json(data / "release.json")
    validator.validate(written)
    for fault in (
        {"notes": "12 Mill Lane"},
        {"regions": [{**written["regions"][0], "cells": [[650123, 330456]]}]},
        {"format": "eaveline-release/2"},
    ):
        with pytest.raises(jsonschema.ValidationError):
            validator.validate(written | fault)


UNCLOSED = pytest.mark.filterwarnings(
    # frictionless opens an archive and leaves closing it to the garbage collector.
    "ignore::pytest.PytestUnraisableExceptionWarning"
)


@UNCLOSED
def test_the_package_is_valid(data: Path) -> None:
    report = frictionless.validate(str(data / "datapackage.json"))
    assert report.valid, report.flatten(["name", "title", "message"])


@UNCLOSED
def test_the_package_notices_a_changed_file(data: Path, tmp_path: Path) -> None:
    for path in data.iterdir():
        (tmp_path / path.name).write_bytes(path.read_bytes())
    changed = tmp_path / "seasons.csv"
    changed.write_text(
        changed.read_text(encoding="utf-8").replace("2026", "2036"), encoding="utf-8"
    )
    assert not frictionless.validate(str(tmp_path / "datapackage.json")).valid


def test_the_package_says_whose_and_what(data: Path) -> None:
    package = read_json(data / "datapackage.json")
    assert package["licenses"] == [
        {
            "name": "CC-BY-4.0",
            "path": "https://creativecommons.org/licenses/by/4.0/",
            "title": "CC BY 4.0",
        }
    ]
    assert package["created"] == "2026-08-14T00:00:00Z"
    assert "at least 10 premises" in package["description"]
    assert "invented" in package["description"]
    listed = {resource["path"] for resource in package["resources"]}
    assert listed == FILES - {"datapackage.json", "release.schema.json"}


def test_corners_of_squares_lie_on_the_grid(data: Path, release: PublicRelease) -> None:
    for feature in read_json(data / "squares.geojson")["features"]:
        geometry = feature["geometry"]
        polygons = geometry["coordinates"]
        if geometry["type"] == "Polygon":
            polygons = [polygons]
        corners = np.array([point for rings in polygons for ring in rings for point in ring])
        metres = from_wgs84(corners, crs=release.crs)
        # Six decimals of a degree are within 0.06 m here.
        assert np.abs(metres - np.round(metres, -2)).max() < 0.1


def test_squares_tell_the_figures(data: Path) -> None:
    features = {f["id"]: f["properties"] for f in read_json(data / "squares.geojson")["features"]}
    assert len(features) == 8
    first = features["R001"]
    assert first["swift_nest_sites_2026"] == 3  # 3 to 5 in the release: at least 3
    assert first["boxes_2026"] == 0
    assert first["hours_watched_2026"] == 6
    assert features["R003"]["swift_nest_sites_2026"] == 0  # watched, none found
    assert features["R005"]["swift_nest_sites_2026"] is None  # nobody has watched enough
    assert first["streets"] == "albert-road b-oneill-sohne-b"


def test_squares_state_their_uncertainty_as_darwin_core_does(data: Path) -> None:
    features = {f["id"]: f["properties"] for f in read_json(data / "squares.geojson")["features"]}
    # Half the diagonal: of 100 m by 100 m, 70.71 m; of 300 m by 100 m, 158.11 m.
    assert features["R001"]["coordinateUncertaintyInMeters"] == 71
    assert features["R008"]["coordinateUncertaintyInMeters"] == 159
    assert "100 m squares of EPSG:27700" in features["R001"]["dataGeneralizations"]


def test_no_table_has_a_figure_for_a_street(data: Path) -> None:
    streets = rows(data / "streets.csv")
    assert list(streets[0]) == ["street", "name", "regions"]
    by_slug = {row["street"]: row for row in streets}
    assert by_slug["albert-road"]["regions"] == "R001 R002 R003"
    assert by_slug["sea-bank"]["regions"] == ""
    assert by_slug["b-oneill-sohne-b"]["name"] == "<b>O'Neill & Söhne</b>"


def test_figures_keep_the_three_answers_apart(data: Path) -> None:
    found = {
        (row["region"], row["layer"], row["season"]): row for row in rows(data / "figures.csv")
    }
    assert len(found) == 8 * 5 * 4  # regions, layers, three seasons and all
    nests = "swift_nest_sites"
    assert found["R001", nests, "2026"] == {
        "region": "R001",
        "layer": nests,
        "season": "2026",
        "state": "some",
        "low": "3",
        "high": "5",
        "surest_evidence": "confirmed",
    }
    assert found["R003", nests, "2026"]["state"] == "looked, none found"
    assert found["R005", nests, "2026"]["state"] == "not looked"
    assert found["R001", "boxes", "2026"]["state"] == "none known"


def test_seasons(data: Path) -> None:
    season = {row["season"]: row for row in rows(data / "seasons.csv")}
    assert list(season) == ["2024", "2025", "2026"]
    assert season["2026"]["swift_nest_sites_at_least"] == "5"
    assert season["2026"]["swift_first_seen"] == "2026-05-03"
    assert season["2026"]["box_buildings_used_at_least"] == "4"
    assert season["2024"]["box_buildings_used_at_least"] == ""
    assert season["2024"]["house_martin_first_seen"] == ""


def test_seasons_tell_of_parties_what_the_page_tells(release: PublicRelease) -> None:
    """Of two equally busy weeks the earlier is told; a season without parties has none."""
    weeks = tuple(
        WeekOfParties(monday=dt.date(2026, 6, day), parties=parties)
        for day, parties in ((1, 2), (8, 5), (15, 5))
    )
    told = {"weeks": weeks, "median_daily_peak": 7, "days_with_parties": 9, "parties_near_calls": 3}
    quiet = release.town_seasons[0].model_copy(update={"weeks": (), "median_daily_peak": None})
    busy = release.town_seasons[-1].model_copy(update=told)
    changed = release.model_copy(update={"town_seasons": (quiet, busy)})
    (table,) = (table for table in tables(changed, None) if table.name == "seasons")
    names = [field["name"] for field in table.fields]
    first, last = (dict(zip(names, row, strict=True)) for row in table.rows)
    columns = ("parties_near_calls", "days_with_parties", "median_daily_peak")
    assert [last[name] for name in columns] == [3, 9, 7]
    assert (last["busiest_week"], last["busiest_week_parties"]) == ("2026-06-08", 5)
    assert (first["busiest_week"], first["busiest_week_parties"]) == (None, None)
    assert first["median_daily_peak"] is None


def test_the_same_release_gives_the_same_bytes(
    data: Path, release: PublicRelease, map_folder: Path, public_town: PublicTown, tmp_path: Path
) -> None:
    again = release_from_json((data / "release.json").read_text(encoding="utf-8"))
    write_downloads(again, load_basemap(map_folder, crs=release.crs), public_town, tmp_path)
    for path in data.iterdir():
        assert (tmp_path / path.name).read_bytes() == path.read_bytes(), path.name


def test_text_files_have_unix_line_ends(data: Path) -> None:
    text = [path for path in data.iterdir() if path.suffix not in (".gpkg", ".zip")]
    assert not [path.name for path in text if b"\r" in path.read_bytes()]


def test_a_town_without_a_map_has_files_too(
    release: PublicRelease, public_town: PublicTown, tmp_path: Path
) -> None:
    none: dict[str, dict[str, Any]] = {season: {} for season in (*release.seasons, "all")}
    bare = release.model_copy(
        update={
            "has_map": False,
            "regions": (),
            "layers": Layers(
                nest_sites={Species.SWIFT: none, Species.HOUSE_MARTIN: none},
                screaming_parties=none,
                boxes=none,
                watching=none,
            ),
        }
    )
    write_downloads(bare, None, public_town, tmp_path)
    assert {path.name for path in tmp_path.iterdir()} == FILES - {"colony.gpkg", "darwin-core.zip"}
    assert read_json(tmp_path / "squares.geojson") == {"type": "FeatureCollection", "features": []}
    assert rows(tmp_path / "streets.csv") == []
    assert frictionless.validate(str(tmp_path / "datapackage.json")).valid
