"""Transformation, against the Ordnance Survey's own test points and an Irish landmark."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Transformer

from eaveline.geodesy import (
    BRITISH_GRID,
    IRISH_GRID,
    ProjectedCrs,
    from_wgs84,
    to_degrees,
    to_grid,
    to_wgs84,
)
from eaveline.private.places.latlon import Angle, parse_pair

# Ordnance Survey, OSTN15/OSGM15 developer pack, test points from Scilly to Shetland:
# ETRS89 latitude, longitude, then OSGB36 easting, northing.
OS_POINTS = np.array(
    [
        (49.92226393730, -6.29977752014, 91492.146, 11318.804),
        (50.43885825610, -4.10864563561, 250359.811, 62016.569),
        (50.93127937910, -1.45051433700, 438710.920, 114792.250),
        (51.37447025550, 1.44454730409, 639821.835, 169565.858),
        (51.48936564950, -0.11992557180, 530624.974, 178388.464),
        (51.89436637350, 0.89724327012, 599445.590, 225722.826),
        (52.25160951230, -0.91248956970, 474335.969, 262047.755),
        (52.96219109410, -1.19747655922, 454002.834, 340834.943),
        (53.41628516040, -4.28918069756, 247958.971, 393492.909),
        (53.77911025760, -3.04045490691, 331534.564, 431920.794),
        (54.08666318080, -4.63452168212, 227778.330, 468847.388),
        (54.32919541010, -4.38849118133, 244780.636, 495254.887),
        (54.97912273660, -1.61657685184, 424639.355, 565012.703),
        (55.92478265510, -3.29479219337, 319188.434, 670947.534),
        (57.13902518960, -2.04856030746, 397160.491, 805349.736),
        (57.81351838410, -8.57854456076, 9587.909, 899448.996),
        (58.51560361300, -6.26091455533, 151968.652, 966483.780),
        (59.03743871190, -3.21454001115, 330398.323, 1017347.016),
        (59.09671617400, -5.82799339844, 180862.461, 1029604.114),
        (59.85409913890, -1.27486910356, 440725.073, 1107878.448),
    ]
)


def test_ordnance_survey_points_agree_to_a_centimetre() -> None:
    latitude, longitude, easting, northing = OS_POINTS.T
    grid = to_grid(longitude, latitude, crs="EPSG:27700")
    assert np.hypot(grid.x - easting, grid.y - northing).max() < 0.01
    assert not grid.outside.any()


def test_ordnance_survey_points_agree_backwards() -> None:
    latitude, longitude, easting, northing = OS_POINTS.T
    degrees = to_degrees(easting, northing, crs="EPSG:27700")
    # 1e-7 degrees of latitude is a centimetre.
    assert np.abs(degrees.y - latitude).max() < 1e-7
    assert np.abs(degrees.x - longitude).max() < 2e-7


def test_the_projection_alone_gives_the_published_worked_example() -> None:
    # Ordnance Survey, A guide to coordinate systems in Great Britain, annexe C: on OSGB36
    # itself, 52 39 27.2531 N, 1 43 4.5177 E is E 651409.903, N 313177.270.
    pair = parse_pair("52°39'27.2531\"N 1°43'4.5177\"E")
    assert isinstance(pair, tuple)
    assert all(isinstance(angle, Angle) for angle in pair)
    airy = Transformer.from_crs("EPSG:4277", "EPSG:27700", always_xy=True)
    easting, northing = airy.transform(pair[1].degrees, pair[0].degrees)
    assert (easting, northing) == (
        pytest.approx(651409.903, abs=0.001),
        pytest.approx(313177.270, abs=0.001),
    )


def test_the_irish_grid_agrees_to_its_stated_metre() -> None:
    # The Spire of Dublin: Irish Transverse Mercator 715830, 734697 and Irish Grid 315904,
    # 234671 are the usual textbook pair (from memory). ITM is exact on ETRS89.
    itm = Transformer.from_crs("EPSG:2157", "EPSG:4258", always_xy=True)
    grid = to_grid(*([value] for value in itm.transform(715830, 734697)), crs="EPSG:29903")
    assert np.hypot(grid.x[0] - 315904, grid.y[0] - 234671) < 1.5


@pytest.mark.parametrize("crs", ["EPSG:27700", "EPSG:29903"])
def test_what_lies_outside_is_marked_and_never_raises(crs: ProjectedCrs) -> None:
    bad = [np.nan, np.inf, 200.0, 0.0, -1e9]
    for transformed in (to_grid(bad, [0.0] * 5, crs=crs), to_degrees(bad, [-5.0] * 5, crs=crs)):
        assert transformed.outside.all()
        assert np.isnan(transformed.x).all()
        assert np.isnan(transformed.y).all()


def test_one_bad_position_does_not_spoil_the_others() -> None:
    grid = to_grid([1.71, np.nan], [52.81, 52.81], crs="EPSG:27700")
    assert grid.outside.tolist() == [False, True]


def test_nothing_gives_nothing() -> None:
    assert to_grid([], [], crs="EPSG:27700").x.size == 0


def test_two_lengths_are_refused() -> None:
    with pytest.raises(ValueError, match="one length"):
        to_grid([1.0, 2.0], [52.0], crs="EPSG:27700")


@given(st.floats(-6, 1.7), st.floats(50.5, 60))
def test_british_positions_come_back_to_a_millimetre(longitude: float, latitude: float) -> None:
    grid = to_grid([longitude], [latitude], crs="EPSG:27700")
    again = to_degrees(grid.x, grid.y, crs="EPSG:27700")
    # 2e-8 degrees is 2 mm; convertbng rounds metres to 1 mm.
    assert abs(again.x[0] - longitude) < 4e-8
    assert abs(again.y[0] - latitude) < 2e-8


@given(st.floats(50_000, 350_000), st.floats(50_000, 450_000))
def test_irish_coordinates_come_back(easting: float, northing: float) -> None:
    degrees = to_degrees([easting], [northing], crs="EPSG:29903")
    again = to_grid(degrees.x, degrees.y, crs="EPSG:29903")
    assert abs(again.x[0] - easting) < 0.001
    assert abs(again.y[0] - northing) < 0.001


def test_points_of_shapes_agree_with_the_ordnance_survey_too() -> None:
    metres = from_wgs84(OS_POINTS[:, [1, 0]], crs=BRITISH_GRID)
    assert np.abs(metres - OS_POINTS[:, 2:]).max() < 0.01
    degrees = to_wgs84(OS_POINTS[:, 2:], crs=BRITISH_GRID)
    # 0.0000001 degrees is about a centimetre.
    assert np.abs(degrees - OS_POINTS[:, [1, 0]]).max() < 1e-7


def test_beyond_the_grids_file_a_base_map_is_within_metres_and_not_lost() -> None:
    # 1.8 E at 52.8 N lies east of convertbng's bounds. Along a parallel, eastings at this place
    # grow by 67,382 m a degree (from 1.70 to 1.75 within the grid), so the step is continued.
    inside = from_wgs84(np.array([[1.70, 52.8], [1.75, 52.8]]), crs=BRITISH_GRID)
    outside = from_wgs84(np.array([[1.80, 52.8]]), crs=BRITISH_GRID)[0]
    assert np.abs(outside - (2 * inside[1] - inside[0])).max() < 10


def test_irish_grid_knows_belfast() -> None:
    # The Irish Grid's true origin, 53 30 N 8 W on the Airy Modified ellipsoid, is E 200000
    # N 250000 (Ordnance Survey Ireland, The Irish Grid); WGS84 differs by well under 100 m.
    east, north = from_wgs84(np.array([[-8.0, 53.5]]), crs=IRISH_GRID)[0]
    assert abs(east - 200_000) < 100
    assert abs(north - 250_000) < 100


# Eastings up to 600 km stay inside convertbng's bounds both ways; Irish ones go through PROJ.
@settings(deadline=None)  # PROJ looks its database up at the first call
@given(
    st.floats(100_000, 600_000),
    st.floats(100_000, 600_000),
    st.sampled_from([BRITISH_GRID, IRISH_GRID]),
)
def test_there_and_back_again(east: float, north: float, crs: str) -> None:
    point = np.array([[east, north]])
    assert np.abs(from_wgs84(to_wgs84(point, crs=crs), crs=crs) - point).max() < 0.02


def test_no_points_make_no_points() -> None:
    assert to_wgs84(np.empty((0, 2)), crs=BRITISH_GRID).shape == (0, 2)
    assert from_wgs84(np.empty((0, 2)), crs=BRITISH_GRID).shape == (0, 2)


@pytest.mark.parametrize("convert", [to_wgs84, from_wgs84])
def test_other_systems_are_refused(convert: Callable[..., object]) -> None:
    with pytest.raises(ValueError, match="EPSG:3857"):
        convert(np.zeros((1, 2)), crs="EPSG:3857")
