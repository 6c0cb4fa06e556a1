"""Coordinate systems, against the Ordnance Survey's own points."""

from __future__ import annotations

import numpy as np
import pytest

from eaveline.audit.frames import DEGREES, frames_for, to_local

# Ordnance Survey, OSTN15/OSGM15 developer pack test points: ETRS89 latitude, longitude to
# British National Grid easting, northing.
OS_POINTS = [
    (49.92226393730, -6.29977752014, 91492.146, 11318.804),
    (51.89436637350, 0.89724327012, 599445.590, 225722.826),
    (54.97912273660, -1.61657685184, 424639.355, 565012.703),
    (57.81351838410, -8.57854456076, 9587.909, 899448.996),
    (59.85409913890, -1.27486910356, 440725.073, 1107878.448),
]


@pytest.mark.parametrize(("latitude", "longitude", "east", "north"), OS_POINTS)
def test_degrees_become_grid_metres_as_the_ordnance_survey_says(
    latitude: float, longitude: float, east: float, north: float
) -> None:
    found = to_local(np.array([longitude]), np.array([latitude]), source=DEGREES, crs="EPSG:27700")
    assert found[0][0] == pytest.approx(east, abs=0.01)
    assert found[1][0] == pytest.approx(north, abs=0.01)


def test_points_outside_the_grid_are_not_finite() -> None:
    east, _ = to_local(np.array([40.0]), np.array([10.0]), source=DEGREES, crs="EPSG:27700")
    assert not np.isfinite(east).any()


def test_an_irish_town_is_looked_for_in_irish_systems_too() -> None:
    # Belfast City Hall is about 54.597 N, 5.930 W, Irish Grid J 33 74.
    frames = frames_for((330_000.0, 370_000.0, 338_000.0, 378_000.0), "EPSG:29903")
    assert [frame.crs for frame in frames] == [
        "EPSG:4326",
        "EPSG:29903",
        "EPSG:3857",
        "EPSG:32630",
        "EPSG:2157",
    ]
    west, south, east, north = frames[0].bounds
    assert west < -5.930 < east
    assert south < 54.597 < north


def test_numbers_far_from_the_town_are_no_candidates() -> None:
    degrees = frames_for((648_000.0, 328_000.0, 652_000.0, 332_000.0), "EPSG:27700")[0]
    assert degrees.y_number.search("at 52.80123 north")
    assert not degrees.y_number.search("at 53.80123 north")
    assert not degrees.y_number.search("152.80123")
    assert not degrees.y_number.search("0.52.80123")
