"""Conversion between the town's grid and WGS84."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from eaveline.public.projection import BRITISH_GRID, IRISH_GRID, from_wgs84, to_wgs84

# Ordnance Survey, OSTN15/OSGM15 developer pack: ETRS89 latitude, longitude; easting, northing.
OSTN15 = np.array(
    [
        [49.92226393730, -6.29977752014, 91492.146, 11318.804],
        [50.43885825610, -4.10864563561, 250359.811, 62016.569],
        [50.93127937910, -1.45051433700, 438710.920, 114792.250],
        [51.37447025550, 1.44454730409, 639821.835, 169565.858],
    ]
)


def test_british_grid_agrees_with_the_ordnance_survey_to_a_centimetre() -> None:
    metres = from_wgs84(OSTN15[:, [1, 0]], crs=BRITISH_GRID)
    assert np.abs(metres - OSTN15[:, 2:]).max() < 0.01
    degrees = to_wgs84(OSTN15[:, 2:], crs=BRITISH_GRID)
    # 0.0000001 degrees is about a centimetre.
    assert np.abs(degrees - OSTN15[:, [1, 0]]).max() < 1e-7


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
