"""The town map that moves: folium's map with every file served from the site itself.

folium writes the set-up script for Leaflet: the base layers, and one polygon for each region.
The theme's ``town-map.js`` then colours the polygons for the layer and season chosen. No tile, font
or script comes from another host, nothing is written into the page as inline script, and the
ids that folium draws at random are pinned, so the same release gives the same bytes.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, ClassVar, NamedTuple

import folium
import numpy as np
import shapely
from folium.map import CustomPane

from eaveline.geodesy import to_wgs84
from eaveline.messages import gettext as _
from eaveline.public.maps import palette
from eaveline.public.maps.layers import (
    MapLayer,
    layer_title,
    region_name,
    season_words,
    seasons_shown,
    step_cell,
    steps,
)
from eaveline.public.maps.leaflet import leaflet_files
from eaveline.public.maps.legends import full_legend, mark
from eaveline.public.maps.map_data import map_data_script
from eaveline.public.maps.squares import geojson_geometries, region_polygons
from eaveline.public.maps.still_maps import StillMaps
from eaveline.public.words.listed_words import listed_lines

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from shapely import Geometry

    from eaveline.public.maps.basemap import BaseMap
    from eaveline.public.records import PublicRelease

_FOLDER = "map/"
_SHORTEST_DETAIL_M = 0.8
"""Bends of a line smaller than this are straightened (more in a town over 4 km across)."""
# Leaflet draws panes in order of these numbers; 200 to 700 are its own.
_PANES = {"greens": 310, "squares": 320, "water": 330, "streets": 340, "edge": 350, "names": 620}


class _SiteMap(folium.Map):
    """A folium map that asks for Leaflet alone, and for that on the site itself.

    folium's own lists name ten files on four hosts, and belong to every map in the process.
    """

    # Lists, because folium declares them so.
    default_js = [("leaflet", "leaflet/leaflet.js")]  # noqa: RUF012
    default_css = [("leaflet_css", "leaflet/leaflet.css")]  # noqa: RUF012


@dataclass(frozen=True)
class TableRow:
    """One region in the table that says what the map says."""

    name: str
    streets: str
    premises: int
    cells: tuple[str, ...]
    """A layer each."""


@dataclass(frozen=True)
class TownMap:
    """What the map's page is made of; ``_town_map.html`` in the theme shows it.

    Parameters
    ----------
    release, basemap
        What is drawn.
    """

    release: PublicRelease
    basemap: BaseMap

    element_id: ClassVar[str] = "map_town"
    """The id of the page's element that holds the map."""
    stylesheets: ClassVar[tuple[str, ...]] = (f"{_FOLDER}leaflet/leaflet.css", "theme/css/map.css")
    """Paths from the site's root, in the order to load."""
    scripts: ClassVar[tuple[str, ...]] = (
        f"{_FOLDER}leaflet/leaflet.js",
        f"{_FOLDER}map-data.js",
        f"{_FOLDER}map-setup.js",
        "theme/js/town-map.js",
    )
    """Paths from the site's root, in the order to load (with ``defer``)."""
    first_layer: ClassVar[MapLayer] = MapLayer.SWIFT_NESTS

    @cached_property
    def files(self) -> dict[str, bytes]:
        """The files to write, by path from the site's root. The theme's two are not among them."""
        return {
            f"{_FOLDER}map-data.js": map_data_script(self.release, self.basemap).encode(),
            f"{_FOLDER}map-setup.js": setup_script(self.release, self.basemap).encode(),
        } | {f"{_FOLDER}leaflet/{name}": data for name, data in leaflet_files().items()}

    @cached_property
    def context(self) -> dict[str, Any]:
        """What the template shows, as ``town_map``; each list in the order it is shown."""
        release = self.release
        first = self.first_layer
        seasons = [(season, season_words(season)) for season in seasons_shown(release)]
        return {
            "element_id": self.element_id,
            "layers": [(layer.value, layer_title(layer)) for layer in MapLayer],
            "seasons": seasons,
            "streets": self._streets(),
            "still": StillMaps(release, self.basemap).town(layer=first),
            "showing": _("%(layer)s, %(season)s", layer=layer_title(first), season=seasons[0][1]),
            "legend": full_legend(release, first),
            "mark": mark(),
            "listed": listed_lines(release),
            "cell_size_m": release.rule.cell_size_m,
            "minimum_premises": release.rule.minimum_premises,
            "rows": self._rows(),
        }

    def _streets(self) -> list[tuple[str, str]]:
        """Return slug and name of the streets that run through a region, by name."""
        shown = {slug for region in self.release.regions for slug in region.streets}
        found = [(street.slug, street.name) for street in self.basemap.streets]
        known = [street for street in found if street[0] in shown]
        return sorted(known, key=lambda street: (street[1].casefold(), street[0]))

    def _rows(self) -> list[TableRow]:
        """Return the map as a table: every region, over all seasons."""
        names = {street.slug: street.name for street in self.basemap.streets}
        found = {layer: steps(self.release, layer) for layer in MapLayer}
        return [
            TableRow(
                name=region_name(region.id, cells=len(region.cells)),
                streets=", ".join(names.get(slug, slug) for slug in region.streets),
                premises=region.premises,
                cells=tuple(
                    step_cell(self.release, layer, found[layer][region.id]) for layer in MapLayer
                ),
            )
            for region in self.release.regions
        ]


def town_map(release: PublicRelease, basemap: BaseMap) -> TownMap:
    """Return the town's moving map.

    Parameters
    ----------
    release
        The public release; it must have regions.
    basemap
        The town's base map, in the release's grid.

    Raises
    ------
    ValueError
        If the release has no regions, or the base map is in another system.
    """
    if not release.regions:
        msg = "a release without regions has no map"
        raise ValueError(msg)
    if basemap.crs != release.crs:
        msg = f"the base map is in {basemap.crs}, the release in {release.crs}"
        raise ValueError(msg)
    return TownMap(release, basemap)


def setup_script(release: PublicRelease, basemap: BaseMap) -> str:
    """Return the script that draws the map's shapes, as folium writes it.

    It defines ``map_town`` and a ``geo_json_...`` for each layer of shapes, which ``town-map.js``
    picks up by name. The view is fitted there as well, once the map is on show.
    """
    polygons = region_polygons(
        {region.id: region.cells for region in release.regions},
        cell_size_m=release.rule.cell_size_m,
    )
    west, south, east, north = shapely.total_bounds(list(polygons.values()))
    detail_m = max(_SHORTEST_DETAIL_M, max(east - west, north - south) / 5000)
    layers = _shape_layers(basemap, polygons)
    middle = np.array([[(west + east) / 2, (south + north) / 2]])
    site_map = _site_map(to_wgs84(middle, crs=release.crs)[0, ::-1].round(6).tolist())
    for name in ("greens", "squares", "water", "streets", "edge", "names"):
        pane = CustomPane(name, z_index=_PANES[name], pointer_events=name == "squares")
        _add(site_map, pane, name)
    for name, layer in layers.items():
        features = _features(layer.shapes, detail_m=detail_m, crs=release.crs)
        data = {"type": "FeatureCollection", "features": features}
        _add(site_map, folium.GeoJson(data, pane=layer.pane, **layer.style), name)
    figure: Any = site_map.get_root()
    figure.render()
    lines = (line.strip() for line in figure.script.render().splitlines())
    return "".join(f"{line}\n" for line in lines if line)


def _site_map(centre: list[float]) -> _SiteMap:
    """Return an empty map about a place (latitude, longitude)."""
    site_map = _SiteMap(
        location=centre,
        tiles=None,
        zoom_start=14,
        max_zoom=18,
        control_scale=True,
        zoom_snap=0.1,
        zoom_delta=0.5,
        attribution_control=False,
        # The wheel scrolls the page until the reader has taken hold of the map.
        scroll_wheel_zoom=False,
    )
    site_map._id = "town"  # noqa: SLF001 - branca draws ids at random, and has no other way
    return site_map


class _ShapeLayer(NamedTuple):
    """Shapes drawn in one manner: shape by feature id, the pane they lie in, Leaflet's options."""

    shapes: Mapping[str, Geometry]
    pane: str
    style: dict[str, Any]


def _shape_layers(basemap: BaseMap, polygons: Mapping[str, Geometry]) -> dict[str, _ShapeLayer]:
    """Return the layers from the ground up; the script colours the squares."""
    rivers = [shape for shape in basemap.water if shapely.area(shape) > 0]
    streams = [shape for shape in basemap.water if shapely.area(shape) == 0]
    edge = [] if basemap.boundary is None else [shapely.boundary(basemap.boundary)]
    streets = {street.slug: street.lines for street in basemap.streets}
    line = {"fill": False, "interactive": False}
    area = {"fill_opacity": 1, "interactive": False}
    water = {"color": palette.WATER_EDGE}
    return {
        "greens": _ShapeLayer(
            _as_one(basemap.greens),
            "greens",
            area | {"stroke": False, "fill_color": palette.GREENS},
        ),
        "squares": _ShapeLayer(
            polygons, "squares", {"smooth_factor": 0, "color": palette.INK, "weight": 1}
        ),
        "water": _ShapeLayer(
            _as_one(rivers), "water", area | water | {"fill_color": palette.WATER, "weight": 1}
        ),
        "streams": _ShapeLayer(_as_one(streams), "water", line | water | {"weight": 2}),
        "streets": _ShapeLayer(
            streets, "streets", line | {"color": palette.STREETS, "weight": 1.4}
        ),
        "edge": _ShapeLayer(
            _as_one(edge),
            "edge",
            line | {"color": palette.BOUNDARY, "weight": 1.5, "dash_array": "7 4"},
        ),
    }


def _as_one(shapes: Sequence[Geometry]) -> dict[str, Geometry]:
    """Return shapes that need no name of their own as one, or none."""
    return {"all": shapely.union_all(list(shapes))} if shapes else {}


def _features(shapes: Mapping[str, Geometry], *, detail_m: float, crs: str) -> list[dict[str, Any]]:
    """Return GeoJSON features without properties, their names as ids."""
    simple = shapely.simplify(np.array(list(shapes.values()), dtype=object), detail_m)
    return [
        {"type": "Feature", "id": name, "properties": {}, "geometry": geometry}
        for name, geometry in zip(shapes, geojson_geometries(simple, crs=crs), strict=True)
    ]


def _add(site_map: _SiteMap, element: Any, name: str) -> None:
    """Add an element under a name of ours in place of folium's random one."""
    element._id = name  # noqa: SLF001 - branca draws ids at random, and has no other way
    site_map.add_child(element)
