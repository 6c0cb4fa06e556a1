"""A council's list of 2,000 applications against 100,000 records: by one command, and by itself."""

from __future__ import annotations

import shutil
import time
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from pytest_benchmark.fixture import BenchmarkFixture

from benchmarks.many_sightings import write_sightings
from eaveline.private.planning.screen import BAND_EDGES_M, BAND_WORDS, Known, screen
from typing_commands import run

APPLICATIONS, RECORDS = 2_000, 100_000
LIMIT_S = 30.0
ROOT = Path(__file__).resolve().parents[2]
WORST_RATIO = 1.0
"""Screening sorts into bands, counts and dates; that may not take longer than the bare join."""


def drawn_town() -> tuple[pd.DataFrame, Known]:
    """Return applications, every fourth with an outline, and records all over 4 km by 4 km."""
    rng = np.random.default_rng(7)
    centres = rng.uniform(650_000, 654_000, (APPLICATIONS, 2))
    shapes = [
        shapely.box(x, y, x + 60, y + 40) if number % 4 == 0 else shapely.Point(x, y)
        for number, (x, y) in enumerate(centres)
    ]
    places = np.round(rng.uniform(650_000, 654_000, (RECORDS, 2)), -1)
    table = pd.DataFrame(
        {
            "kind": rng.choice(["nest site", "box", "screaming party"], RECORDS),
            "species": rng.choice(["swift", "house martin"], RECORDS),
            "season": rng.integers(2018, 2027, RECORDS),
            "evidence": rng.choice(["possible", "probable", "confirmed"], RECORDS),
            "easting": places[:, 0],
            "northing": places[:, 1],
            "uncertainty_m": 10.0,
            "last": np.datetime64("2026-06-01", "s"),
            "name": None,
        }
    )
    applications = pd.DataFrame({"shape": shapes})
    return applications, Known(table)


@pytest.mark.slow
def test_a_whole_council_list(benchmark: BenchmarkFixture) -> None:
    applications, known = drawn_town()
    found = benchmark(screen, applications, known)
    assert found["application"].nunique() == APPLICATIONS
    assert set(found["band"]) <= set(range(len(BAND_WORDS)))
    sites = gpd.GeoDataFrame(geometry=applications["shape"], crs="EPSG:27700")
    records = gpd.GeoDataFrame(
        geometry=gpd.points_from_xy(known.table["easting"], known.table["northing"]),
        crs="EPSG:27700",
    )
    start = time.process_time()
    joined = gpd.sjoin(records, sites, predicate="dwithin", distance=BAND_EDGES_M[-1])
    join_s = time.process_time() - start
    # Both count the same pairs of an application and a record.
    assert len(joined) == found["records"].sum()
    start = time.process_time()
    screen(applications, known)
    ratio = (time.process_time() - start) / join_s
    benchmark.extra_info["ratio to geopandas.sjoin"] = round(ratio, 2)
    assert ratio < WORST_RATIO


@pytest.mark.slow
def test_one_command_screens_a_council_list(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    if not benchmark.enabled:
        pytest.skip("measures only with --benchmark-enable")
    survey_data = tmp_path / "survey_data"
    shutil.copytree(ROOT / "survey_data" / "map", survey_data / "map")
    shutil.copyfile(ROOT / "survey_data" / "town.toml", survey_data / "town.toml")
    addresses = survey_data / "map" / "addresses.csv"
    write_sightings(survey_data, rows=RECORDS, addresses=addresses)
    homes = pd.read_csv(addresses, dtype={"street": object, "house": object})
    chosen = homes.sample(APPLICATIONS, random_state=7).reset_index(drop=True)
    (survey_data / "planning").mkdir()
    pd.DataFrame(
        {
            "reference": [f"2026/{number:05}/F" for number in range(APPLICATIONS)],
            "received": "01/06/2026",
            "comments_due": "29/06/2026",
            "easting": chosen["easting"],
            "northing": chosen["northing"],
            "work": "Loft conversion",
        }
    ).to_csv(survey_data / "planning" / "list.csv", index=False)

    def command() -> float:
        started = time.perf_counter()
        done = run("planning", str(tmp_path), cwd=tmp_path)
        assert done.returncode == 0, done.stderr
        return time.perf_counter() - started

    took_s = benchmark.pedantic(command, rounds=1)  # type: ignore[no-untyped-call]  # has no types
    listed = pd.read_csv(tmp_path / "private" / "officer" / "applications.csv")
    assert listed["reference"].nunique() == APPLICATIONS
    assert took_s < LIMIT_S
