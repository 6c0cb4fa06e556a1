"""Encoded polylines: the format's published example, and lines that begin in the town."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from eaveline.audit.places import places_of
from eaveline.audit.polylines import polyline_hits, polyline_of, vertices_of
from eaveline.audit.site import audit_site
from leaks import LATITUDE, LONGITUDE, town_secrets

PLACES = places_of(town_secrets())
WALK = [(LATITUDE, LONGITUDE), (LATITUDE + 0.001, LONGITUDE - 0.002)]


def test_the_published_example() -> None:
    """Of the format's own description: (38.5, -120.2), (40.7, -120.95), (43.252, -126.453)."""
    found = vertices_of("_p~iF~ps|U_ulLnnqC_mqNvxq`@")
    np.testing.assert_allclose(found, [(-120.2, 38.5), (-120.95, 40.7), (-126.453, 43.252)])


@given(
    st.lists(st.tuples(st.floats(-90, 90), st.floats(-180, 180)), min_size=1, max_size=9),
    st.sampled_from([10**5, 10**6]),
)
def test_what_is_written_is_read(points: list[tuple[float, float]], factor: int) -> None:
    found = vertices_of(polyline_of(points, factor=factor), factor=factor)
    np.testing.assert_allclose(found[:, ::-1], points, atol=0.51 / factor)


@pytest.mark.parametrize("factor", [10**5, 10**6])
def test_every_point_of_a_walk_is_a_hit_and_the_nest_cannot_be_allowed(factor: int) -> None:
    hits = polyline_hits(f'path="{polyline_of(WALK, factor=factor)}"', PLACES)
    assert [hit.allowable for hit in hits] == [False, True]


def test_one_with_backslashes_in_a_script_is_caught(tmp_path: Path) -> None:
    walk = [(LATITUDE + step / 1e5, LONGITUDE) for step in range(0, 400, 7)]
    written = polyline_of([(WALK[0][0] - 0.0015, WALK[0][1]), *walk])
    assert "\\" in polyline_of([(0, 0), (-0.00015, 0)]) + written
    (tmp_path / "a.js").write_text(f"draw({json.dumps(written)})", encoding="utf-8")
    assert {finding.rule for finding in audit_site(tmp_path, town_secrets()).findings} == {
        "coordinate"
    }


def test_elsewhere_and_ordinary_words_are_no_hits() -> None:
    words = "sha384-oqVuAfXRKap7fdgcCY5uykM6+R9GqQ8KuxyAbCdEfGhIjKlMnOpQrStUvWxYz0123456789"
    assert polyline_hits("_p~iF~ps|U_ulLnnqC_mqNvxq`@", PLACES) == []
    assert polyline_hits(words, PLACES) == []
