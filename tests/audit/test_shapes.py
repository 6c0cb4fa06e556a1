"""Geometry lifted out of JSON, binary, hexadecimal."""

from __future__ import annotations

import json
import struct

import numpy as np
import pytest
import shapely

from eaveline.audit.shapes import (
    geopackage_vertices,
    hex_wkb_vertices,
    json_vertices,
    wkb_vertices,
)

LINE = [[1.5, 52.5], [1.75, 52.25]]


def test_geojson_is_found_anywhere_in_a_document() -> None:
    document = {
        "map": [{"type": "Feature", "geometry": {"type": "LineString", "coordinates": LINE}}]
    }
    ((vertices, crs),) = json_vertices(document)
    assert vertices.tolist() == LINE
    assert crs == "EPSG:4326"


def test_old_geojson_may_name_its_system() -> None:
    document = {
        "type": "FeatureCollection",
        "crs": {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::27700"}},
        "features": [{"geometry": {"type": "Point", "coordinates": [650_112, 330_237]}}],
    }
    ((vertices, crs),) = json_vertices(document)
    assert vertices.tolist() == [[650_112.0, 330_237.0]]
    assert crs == "EPSG:27700"


def test_topojson_arcs_are_differences() -> None:
    # Worked by hand from the TopoJSON specification: positions are sums of the differences,
    # times the scale, plus the shift.
    document = {
        "type": "Topology",
        "transform": {"scale": [0.5, 0.25], "translate": [1, 52]},
        "objects": {"a": {"type": "Point", "coordinates": [4, 4]}},
        "arcs": [[[1, 2], [1, -1]]],
    }
    ((vertices, _),) = json_vertices(document)
    assert vertices.tolist() == [[1.5, 52.5], [2.0, 52.25], [3.0, 53.0]]


def test_numbers_that_are_no_geometry_give_none() -> None:
    assert list(json_vertices({"cells": [[6501, 3302]], "type": "x"})) == []


@pytest.mark.parametrize("order", [0, 1])
def test_well_known_binary_is_read_in_either_byte_order(order: int) -> None:
    data = shapely.to_wkb(shapely.LineString(LINE), byte_order=order)
    found = wkb_vertices(data)
    assert found is not None
    assert found.tolist() == LINE


def test_other_bytes_are_no_geometry() -> None:
    assert wkb_vertices(b"\x01\x02\x03 swifts") is None


@pytest.mark.parametrize("order", [0, 1])
def test_hexadecimal_geometry_is_found_in_a_text(order: int) -> None:
    code = shapely.to_wkb(shapely.Point(1.5, 52.5), hex=True, byte_order=order)
    ((offset, vertices),) = hex_wkb_vertices(f"INSERT '{code.lower()}'")
    assert offset == 8
    assert vertices.tolist() == [[1.5, 52.5]]


def test_a_digest_is_no_geometry() -> None:
    assert list(hex_wkb_vertices("sha256 01" + "ab" * 31)) == []


@pytest.mark.parametrize(
    ("flags", "envelope"), [(0b0001, b""), (0b0011, struct.pack("<4d", 0, 0, 0, 0))]
)
def test_a_geopackage_geometry_has_a_header(flags: int, envelope: bytes) -> None:
    # OGC GeoPackage 1.3, clause 2.1.3: magic, version, flags, srs_id, envelope, then the binary.
    header = b"GP\x00" + bytes([flags]) + struct.pack("<i", 27700)
    found = geopackage_vertices(header + envelope + shapely.to_wkb(shapely.Point(650_112, 330_237)))
    assert found is not None
    vertices, srs = found
    assert srs == 27700
    assert np.array_equal(vertices, [[650_112, 330_237]])


def test_json_round_trip_keeps_whole_numbers() -> None:
    ((vertices, _),) = json_vertices(json.loads('{"type": "Point", "coordinates": [1, 2]}'))
    assert vertices.dtype == np.float64
