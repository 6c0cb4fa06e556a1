"""Small maps as SVG."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from markupsafe import Markup

from eaveline.public.maps import palette
from eaveline.public.maps.basemap import BaseMap, load_basemap
from eaveline.public.maps.layers import NONE, NOT_LOOKED, MapLayer
from eaveline.public.maps.legends import MapKey
from eaveline.public.maps.still_maps import StillMaps
from eaveline.public.records import PublicRelease

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def basemap(map_folder: Path, release: PublicRelease) -> BaseMap:
    return load_basemap(map_folder, crs=release.crs)


@pytest.fixture(scope="module")
def maps(release: PublicRelease, basemap: BaseMap) -> StillMaps:
    return StillMaps(release, basemap)


def parsed(svg: str) -> ET.Element:
    return ET.fromstring(svg)  # noqa: S314 - our own markup


def test_a_map_is_named_and_described_for_those_who_cannot_see_it(maps: StillMaps) -> None:
    svg = parsed(maps.street("albert-road", layer=MapLayer.SWIFT_NESTS, season="2026"))
    title, description = svg.find(f"{SVG}title"), svg.find(f"{SVG}desc")
    assert title is not None
    assert description is not None
    assert (
        title.text == "Map of Albert Road and the squares it runs through: swift nest sites, 2026"
    )
    assert description.text == (
        "Square 1: At least 3 swift nest sites. Square 2: At least 1 swift nest site. "
        "Square 3: Watched, no swift nest site found."
    )
    assert svg.get("role") == "img"
    assert svg.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"


def test_many_squares_are_summed_up(release: PublicRelease, basemap: BaseMap) -> None:
    extra = release.regions[0].model_copy(update={"id": "R900"})
    layers = release.layers.model_dump()
    for layer in (
        *layers["nest_sites"].values(),
        *(layers[k] for k in layers if k != "nest_sites"),
    ):
        for figures in layer.values():
            figures["R900"] = figures["R001"]
    nine = release.model_validate(
        release.model_dump() | {"regions": (*release.regions, extra), "layers": layers}
    )
    text = StillMaps(nine, basemap).town(layer=MapLayer.SWIFT_NESTS, season="2026")
    assert "Not watched enough to say: 4; Watched, no swift nest site found: 1" in text
    assert "At least 1 swift nest site: 2; At least 3 swift nest sites: 2." in text


def test_names_are_escaped(maps: StillMaps) -> None:
    svg = maps.street("b-oneill-sohne-b", layer=MapLayer.BOXES)
    assert "<b>" not in svg
    title = parsed(svg).find(f"{SVG}title")
    assert title is not None
    assert title.text is not None
    assert "<b>O'Neill & Söhne</b>" in title.text


def test_squares_are_drawn_where_they_lie(maps: StillMaps) -> None:
    """Albert Road's three squares: 650000 to 650300 east, 330000 to 330100 north."""
    svg = parsed(maps.street("albert-road", layer=MapLayer.SWIFT_NESTS, season="2026"))
    assert svg.get("viewBox") == "0 0 480 320"  # the smallest window, in metres
    group = svg.find(f"{SVG}g")
    assert group is not None
    by_fill = {path.get("fill"): path.get("d") for path in group}
    fills = palette.ramp(MapLayer.SWIFT_NESTS, 4)
    # The window's middle is the squares' (650150, 330050), so its north-west is (649910, 330210);
    # square 1 then starts at 650000 - 649910 = 90 from the left, 330210 - 330000 = 210 down.
    assert by_fill[fills[1]] == "M90 210h100v-100h-100v100z"
    assert by_fill[palette.LOOKED] == "M290 210h100v-100h-100v100z"


def test_the_kind_of_square_depends_on_its_figure_alone(maps: StillMaps) -> None:
    one = maps.street("albert-road", layer=MapLayer.SWIFT_NESTS, season="2026")
    other = maps.street("albert-road", layer=MapLayer.SWIFT_NESTS, season="all")
    # The small town's figures for 2026 and for all seasons are the same.
    assert one.replace("2026", "all").replace("all seasons", "all") == other.replace(
        "all seasons", "all"
    )


def test_numbers_are_whole(maps: StillMaps) -> None:
    for slug in ("albert-road", "mill-lane", "far-common-lane"):
        for path in parsed(maps.street(slug, layer=MapLayer.PARTIES)).iter(f"{SVG}path"):
            assert re.fullmatch(r"[-MmLlHhVvZz0-9 ]*", path.get("d", "")), slug


def test_a_street_map_is_small(maps: StillMaps, basemap: BaseMap) -> None:
    for street in basemap.streets:
        assert len(maps.street(street.slug, layer=MapLayer.SWIFT_NESTS).encode()) < 8_000


def test_a_street_beyond_every_square_has_no_map(maps: StillMaps) -> None:
    assert maps.street("sea-bank", layer=MapLayer.SWIFT_NESTS) == ""
    with pytest.raises(KeyError):
        maps.street("no-such-street", layer=MapLayer.SWIFT_NESTS)


def test_a_map_needs_no_other_file_and_is_trusted_markup(maps: StillMaps) -> None:
    svg = maps.town(layer=MapLayer.SWIFT_NESTS)
    assert isinstance(svg, Markup)
    assert "href" not in svg
    assert set(re.findall(r"url\((.*?)\)", svg)) == {"#still-town-swift-nests-all-h"}
    assert re.findall(r"https?://[^\"]+", svg) == ["http://www.w3.org/2000/svg"]


def test_buildings_are_not_drawn(release: PublicRelease, basemap: BaseMap, maps: StillMaps) -> None:
    without = StillMaps(release, replace(basemap, buildings=()))
    for slug in ("albert-road", "mill-lane"):
        layer = MapLayer.SWIFT_NESTS
        assert without.street(slug, layer=layer) == maps.street(slug, layer=layer)
    assert without.town(layer=MapLayer.BOXES) == maps.town(layer=MapLayer.BOXES)


def test_the_order_of_drawing_cannot_show_the_order_of_anything(
    release: PublicRelease, basemap: BaseMap, maps: StillMaps
) -> None:
    turned = release.model_copy(update={"open_sites": release.open_sites[::-1]})
    again = StillMaps(turned, basemap).town(layer=MapLayer.SWIFT_NESTS)
    assert again == maps.town(layer=MapLayer.SWIFT_NESTS)


def test_listed_places_are_marked(maps: StillMaps) -> None:
    svg = parsed(maps.town(layer=MapLayer.SWIFT_NESTS))
    marks = [
        path for path in svg.iter(f"{SVG}path") if path.get("transform", "").startswith("trans")
    ]
    assert len(marks) == 2


def test_two_systems_are_not_mixed(release: PublicRelease, basemap: BaseMap) -> None:
    with pytest.raises(ValueError, match="EPSG:29903"):
        StillMaps(release, replace(basemap, crs="EPSG:29903"))


def test_a_maps_key_is_what_is_drawn_on_it(maps: StillMaps) -> None:
    # Market Place runs through square 4, not looked; its window reaches square 3 (looked) and the
    # group 6 (1 to 2). The library is listed in square 4.
    key = maps.street_key("market-place", layer=MapLayer.SWIFT_NESTS)
    assert key.steps == {NOT_LOOKED, NONE, 1}
    assert key.listed
    # Far Common Lane lies on its own: three squares nobody has looked at, nothing listed.
    far = maps.street_key("far-common-lane", layer=MapLayer.SWIFT_NESTS)
    assert far == MapKey(frozenset({NOT_LOOKED}), listed=False)
    assert maps.street_key("sea-bank", layer=MapLayer.SWIFT_NESTS).steps == frozenset()
    # The town: 1 to 2 (squares 2 and 6), 3 to 5 (square 1), looked (3), the rest not.
    town = maps.town_key(layer=MapLayer.SWIFT_NESTS)
    assert town == MapKey(frozenset({NOT_LOOKED, NONE, 1, 2}), listed=True)
