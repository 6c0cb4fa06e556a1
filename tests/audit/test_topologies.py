"""TopoJSON in scripts and texts, however it is quoted."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from eaveline.audit.places import places_of
from eaveline.audit.site import audit_site
from eaveline.audit.topologies import topology_hits
from leaks import LATITUDE, LONGITUDE, NOTATIONS, town_secrets

PLACES = places_of(town_secrets())
TOPOLOGY = NOTATIONS["quantised topology"]
EAST, NORTH = round((LONGITUDE - 1.7) * 1e5), round((LATITUDE - 52.8) * 1e5)
SCRIPTS = {
    "JSON": f"const walk = {TOPOLOGY};",
    "bare keys": (
        "const walk = {objects: {w: {type: 'LineString', arcs: [0]}}, type: 'Topology', "
        "transform: {scale: [1e-5, 1e-5], translate: [1.7, 52.8]}, "
        f"arcs: [[[0, 0], [{EAST}, {NORTH}],],],}};"
    ),
    "within another": f"load({{'name': 'x', data: {TOPOLOGY}}}, 3);",
    "a string": f"const walk = JSON.parse({json.dumps(TOPOLOGY)});",
}


@pytest.mark.parametrize("form", SCRIPTS)
@pytest.mark.parametrize("name", ["a.js", "a.html"])
def test_a_topology_in_a_script_is_caught(form: str, name: str, tmp_path: Path) -> None:
    code = SCRIPTS[form]
    text = code if name == "a.js" else f"<!doctype html><title>x</title><script>{code}</script>"
    (tmp_path / name).write_text(text, encoding="utf-8")
    findings = audit_site(tmp_path, town_secrets()).findings
    assert {finding.rule for finding in findings} == {"off-grid-geometry"}
    assert None in {finding.digest for finding in findings}  # the nest: it cannot be allowed


def test_one_elsewhere_or_cut_off_is_no_hit() -> None:
    assert topology_hits(TOPOLOGY.replace("52.8", "41.8"), PLACES) == []
    assert topology_hits(TOPOLOGY[:60], PLACES) == []
    assert topology_hits('a "type": "Topology" with no document', PLACES) == []
