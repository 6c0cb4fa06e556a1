"""Small still maps, as SVG to be set into a page.

They need no script, no style sheet and no other file, and print as they look. Everything is
rounded to whole units (a metre where the map is small, 2, 4, 8 ... where it is large) and
drawn by relative steps, so a street's map stays below 8 kB. Buildings are left out: the
map tells of squares, and must not invite guesses at houses.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely
from markupsafe import Markup

from eaveline.messages import gettext as _
from eaveline.public.maps import palette
from eaveline.public.maps.drawing import (
    MARGIN_M,
    Crop,
    Stroke,
    joined,
    path,
    rings,
    stroke,
    whole_window,
    window_around,
)
from eaveline.public.maps.layers import (
    ALL_SEASONS,
    NOT_LOOKED,
    MapLayer,
    layer_name,
    region_number,
    season_words,
    steps,
)
from eaveline.public.maps.legends import MARK_PATH, MapKey, map_in_words, step_colours
from eaveline.public.maps.squares import cell_polygon, centre, region_polygons

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import Geometry

    from eaveline.public.maps.basemap import BaseMap, Street
    from eaveline.public.records import Cell, PublicRelease, Region


_SVG = Markup(
    '<svg class="still-map" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
    'role="img" aria-labelledby="{uid}-t {uid}-d"><title id="{uid}-t">{title}</title>'
    '<desc id="{uid}-d">{description}</desc>{body}</svg>'
)


class StillMaps:
    """Draws the still maps of one release; shared work is done once.

    Parameters
    ----------
    release
        The public release.
    basemap
        The town's base map, in the release's grid.

    Raises
    ------
    ValueError
        If the base map is in another system than the release.
    """

    def __init__(self, release: PublicRelease, basemap: BaseMap) -> None:
        """Index what the maps draw."""
        if basemap.crs != release.crs:
            msg = f"the base map is in {basemap.crs}, the release in {release.crs}"
            raise ValueError(msg)
        self._release = release
        self._basemap = basemap
        self._cell_size_m = release.rule.cell_size_m
        self._regions = {region.id: region for region in release.regions}
        self._polygons = region_polygons(
            {region.id: region.cells for region in release.regions}, cell_size_m=self._cell_size_m
        )
        self._ids = list(self._polygons)
        self._region_tree = shapely.STRtree(list(self._polygons.values()))
        self._lines, street_of_line = shapely.get_parts(
            [street.lines for street in basemap.streets], return_index=True
        )
        self._lines_of: defaultdict[str, list[int]] = defaultdict(list)
        for index, street in enumerate(street_of_line):
            self._lines_of[basemap.streets[street].slug].append(index)
        self._line_tree = shapely.STRtree(self._lines)
        self._streets = {street.slug: street for street in basemap.streets}
        self._region_strokes: dict[int, dict[str, list[Stroke]]] = {}
        self._line_strokes: dict[int, list[Stroke]] = {}
        self._squares_by_cell: dict[Cell, Geometry] = {}
        self._steps: dict[tuple[MapLayer, str], dict[str, int]] = {}
        self._cells_of: dict[str, dict[str, list[Cell]]] = {}
        self._seen_in: dict[Crop, list[str]] = {}
        self._listed = [
            centre([cell], cell_size_m=self._cell_size_m)
            for cell in sorted({site.cell for site in release.open_sites})
        ]
        self._on_street: defaultdict[str, list[Region]] = defaultdict(list)
        for region in release.regions:
            for slug in region.streets:
                self._on_street[slug].append(region)

    def town(self, *, layer: MapLayer, season: str = ALL_SEASONS) -> Markup:
        """Return the whole town's map as an ``svg`` element.

        Parameters
        ----------
        layer
            What the squares show.
        season
            A season of the release, or ``all``.
        """
        shapes = [*self._polygons.values(), *self._lines]
        if self._basemap.boundary is not None:
            shapes.append(self._basemap.boundary)
        west, south, east, north = shapely.total_bounds(shapes)
        crop = whole_window(west - MARGIN_M, south - MARGIN_M, east + MARGIN_M, north + MARGIN_M)
        uid = f"still-town-{layer}-{season}"
        return self._svg(
            crop,
            uid=uid,
            title=_(
                "Map of %(town)s: %(layer)s, %(season)s",
                town=self._release.town,
                layer=layer_name(layer),
                season=season_words(season),
            ),
            description=map_in_words(
                self._release, self._release.regions, layer, self._steps_of(layer, season)
            ),
            body=self._ground(crop)
            + self._squares(crop, layer, season, uid=uid)
            + self._lines_over(crop),
        )

    def street(
        self, slug: str, *, layer: MapLayer, season: str = ALL_SEASONS, title: str | None = None
    ) -> Markup:
        """Return the map of one street and its squares as ``svg``; empty if it has no square.

        Parameters
        ----------
        slug
            The street.
        layer
            What the squares show.
        season
            A season of the release, or ``all``.
        title
            Instead of the usual one, which names a street together with nests.

        Raises
        ------
        KeyError
            If the base map has no such street.
        """
        street = self._streets[slug]
        touched = self._touched(slug)
        if not touched:
            return Markup("")
        crop = self._window(touched)
        uid = f"still-{slug}" if title else f"still-{slug}-{layer}-{season}"
        return self._svg(
            crop,
            uid=uid,
            title=title
            or _(
                "Map of %(street)s and the squares it runs through: %(layer)s, %(season)s",
                street=street.name,
                layer=layer_name(layer),
                season=season_words(season),
            ),
            description=map_in_words(
                self._release, self._on_street[slug], layer, self._steps_of(layer, season)
            ),
            body=self._ground(crop)
            + self._squares(crop, layer, season, uid=uid)
            + self._lines_over(crop)
            + self._focus(crop, street)
            + self._numbers(crop, {region_id: cells[0] for region_id, cells in touched.items()}),
        )

    def town_key(self, *, layer: MapLayer, season: str = ALL_SEASONS) -> MapKey:
        """Return what the legend of the town's map has to explain."""
        return MapKey(
            frozenset(self._steps_of(layer, season).values()),
            listed=bool(self._release.open_sites),
        )

    def street_key(self, slug: str, *, layer: MapLayer, season: str = ALL_SEASONS) -> MapKey:
        """Return what the legend of a street's map has to explain; nothing if it has no square."""
        touched = self._touched(slug)
        if not touched:
            return MapKey(frozenset(), listed=False)
        crop = self._window(touched)
        found = self._steps_of(layer, season)
        return MapKey(
            frozenset(found[region_id] for region_id in self._regions_in(crop)),
            listed=bool(self._listed_in(crop)),
        )

    # What is drawn, from the ground up: numbers and this project's own constants, never a text.

    def _ground(self, crop: Crop) -> str:
        width, height = crop.size
        paper = f'<path fill="{palette.GROUND}" d="M0 0h{width}v{height}H0z"/>'
        greens = self._clipped(self._green_index, crop)
        return paper + path(greens, crop, closed=True, fill=palette.GREENS)

    def _squares(self, crop: Crop, layer: MapLayer, season: str, *, uid: str) -> str:
        """Draw one path for each step, so that a colour is named once."""
        strokes = self._strokes_of_regions(crop.unit_m)
        by_step: defaultdict[int, list[Stroke]] = defaultdict(list)
        found = self._steps_of(layer, season)
        for region_id in self._regions_in(crop):
            by_step[found[region_id]] += strokes[region_id]
        fills = step_colours(self._release, layer) | {NOT_LOOKED: f"url(#{uid}-h)"}
        drawn = "".join(
            f'<path fill="{fills[step]}" d="{joined(by_step[step], crop, "z")}"/>'
            for step in sorted(by_step)
        )
        hatch = (
            f'<pattern id="{uid}-h" width="9" height="9" patternUnits="userSpaceOnUse" '
            f'patternTransform="rotate(45)"><path d="M0 0v9" stroke="{palette.HATCH}" '
            'stroke-width="2"/></pattern>'
        )
        return (
            (hatch if NOT_LOOKED in by_step else "")
            + f'<g stroke="{palette.outline(layer)}" stroke-width=".8" fill-opacity=".9" '
            f'fill-rule="evenodd">{drawn}</g>'
        )

    def _lines_over(self, crop: Crop) -> str:
        """Draw water, streets, the town's edge, then the listed places."""
        areas, lines = self._clipped_water(crop)
        edge = palette.WATER_EDGE
        over = path(areas, crop, closed=True, fill=palette.WATER, stroke=edge)
        over += path(lines, crop, closed=False, fill="none", stroke=edge, stroke_width=2)
        strokes = self._strokes_of_lines(crop.unit_m)
        window = shapely.box(*crop[:4])
        streets = [strokes[index] for index in sorted(self._line_tree.query(window))]
        if streets:
            over += (
                f'<path fill="none" stroke="{palette.STREETS}" stroke-width="1.5" '
                f'd="{joined(streets, crop)}"/>'
            )
        if self._basemap.boundary is not None:
            rim = shapely.clip_by_rect(shapely.boundary(self._basemap.boundary), *crop[:4])
            dashes = {"stroke": palette.BOUNDARY, "stroke_dasharray": "7 4"}
            over += path([rim], crop, closed=False, fill="none", **dashes)
        return over + self._marks(crop)

    def _focus(self, crop: Crop, street: Street) -> str:
        strokes = self._strokes_of_lines(crop.unit_m)
        course = joined((strokes[index] for index in self._lines_of[street.slug]), crop)
        return (
            '<g fill="none" stroke-linecap="round" stroke-linejoin="round">'
            f'<path stroke="#fff" stroke-width="9" d="{course}"/>'
            f'<path stroke="{palette.INK}" stroke-width="5" d="{course}"/></g>'
        )

    def _numbers(self, crop: Crop, cells: dict[str, Cell]) -> str:
        """Write the regions' numbers, which the table beside the map repeats."""
        size = max(crop.size) // 26
        texts = []
        for region_id, (i, j) in sorted(cells.items()):
            x, y = crop.place(i * self._cell_size_m, (j + 1) * self._cell_size_m)
            texts.append(f'<text x="{x + 6}" y="{y + size}">{region_number(region_id)}</text>')
        return (
            f'<g font-family="sans-serif" font-size="{size}" font-weight="700" '
            f'fill="{palette.INK}" stroke="#fff" stroke-width="4" paint-order="stroke">'
            f"{''.join(texts)}</g>"
        )

    def _marks(self, crop: Crop) -> str:
        """Mark the listed places, smaller where squares are small, so that none is hidden."""
        scale = min(1.0, round(self._cell_size_m / crop.unit_m / 16, 1))
        return "".join(
            f'<path transform="translate({x} {y})scale({scale:g})" fill="#fff" '
            f'stroke="{palette.INK}" d="{MARK_PATH}"/>'
            for x, y in self._listed_in(crop)
        )

    def _listed_in(self, crop: Crop) -> list[tuple[int, int]]:
        """Return where the marks of listed places stand in a window."""
        return [
            crop.place(spot.x, spot.y)
            for spot in self._listed
            if crop.west < spot.x < crop.east and crop.south < spot.y < crop.north
        ]

    # Shared work.

    def _regions_in(self, crop: Crop) -> list[str]:
        """Return the ids of the regions seen in a window, in their order."""
        if crop not in self._seen_in:
            inside = self._region_tree.query(shapely.box(*crop[:4]))
            self._seen_in[crop] = [self._ids[index] for index in sorted(inside)]
        return self._seen_in[crop]

    def _window(self, touched: dict[str, list[Cell]]) -> Crop:
        near = np.array([cell for cells in touched.values() for cell in cells]) * self._cell_size_m
        return window_around(near.min(axis=0), near.max(axis=0) + self._cell_size_m)

    def _svg(self, crop: Crop, *, uid: str, title: str, description: str, body: str) -> Markup:
        width, height = crop.size
        drawing = Markup(body)  # noqa: S704 - numbers and constants alone, see above
        return _SVG.format(
            width=width, height=height, uid=uid, title=title, description=description, body=drawing
        )

    def _steps_of(self, layer: MapLayer, season: str) -> dict[str, int]:
        key = (layer, season)
        if key not in self._steps:
            self._steps[key] = steps(self._release, layer, season=season)
        return self._steps[key]

    def _touched(self, slug: str) -> dict[str, list[Cell]]:
        """Return the cells that a street runs through, by region."""
        if slug not in self._cells_of:
            lines = self._streets[slug].lines
            self._cells_of[slug] = {
                region.id: self._touched_in(region.cells, lines) for region in self._on_street[slug]
            }
        return self._cells_of[slug]

    def _touched_in(self, cells: Sequence[Cell], lines: Geometry) -> list[Cell]:
        if len(cells) == 1:
            return list(cells)
        squares = [self._square(cell) for cell in cells]
        away_m = shapely.distance(squares, lines)
        return [cells[int(n)] for n in np.flatnonzero(away_m == away_m.min())]

    def _square(self, cell: Cell) -> Geometry:
        if cell not in self._squares_by_cell:
            self._squares_by_cell[cell] = cell_polygon(cell, cell_size_m=self._cell_size_m)
        return self._squares_by_cell[cell]

    def _strokes_of_regions(self, unit_m: int) -> dict[str, list[Stroke]]:
        if unit_m not in self._region_strokes:
            self._region_strokes[unit_m] = {
                region_id: [stroke(ring, unit_m) for ring in rings(polygon)]
                for region_id, polygon in self._polygons.items()
            }
        return self._region_strokes[unit_m]

    def _strokes_of_lines(self, unit_m: int) -> list[Stroke]:
        if unit_m not in self._line_strokes:
            self._line_strokes[unit_m] = [stroke(line, unit_m) for line in self._lines]
        return self._line_strokes[unit_m]

    @cached_property
    def _green_index(self) -> tuple[shapely.STRtree, NDArray[np.object_]]:
        return _index(self._basemap.greens)

    @cached_property
    def _water_index(self) -> tuple[shapely.STRtree, NDArray[np.object_]]:
        return _index(self._basemap.water)

    def _clipped_water(self, crop: Crop) -> tuple[list[Geometry], list[Geometry]]:
        """Water inside the window: areas, then lines."""
        parts = shapely.get_parts(self._clipped(self._water_index, crop))
        return (
            [part for part in parts if part.geom_type == "Polygon"],
            [part for part in parts if part.geom_type == "LineString"],
        )

    @staticmethod
    def _clipped(index: tuple[shapely.STRtree, NDArray[np.object_]], crop: Crop) -> list[Geometry]:
        tree, shapes = index
        found = sorted(tree.query(shapely.box(*crop[:4])))
        # A little beyond the window, so that no edge is drawn along its rim.
        window = (crop.west - 20, crop.south - 20, crop.east + 20, crop.north + 20)
        return [shapely.clip_by_rect(shapes[n], *window) for n in found]


def _index(shapes: Sequence[Geometry]) -> tuple[shapely.STRtree, NDArray[np.object_]]:
    array = np.array(shapes, dtype=object)
    return shapely.STRtree(array), array
