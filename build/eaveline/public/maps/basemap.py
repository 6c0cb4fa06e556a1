"""The public base map: streets, boundary, water, greens, building outlines.

These layers come from the map folder's public files, hold no record of any bird, and are
the only geometry the public side may read.
"""

from __future__ import annotations

import itertools
import string
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import shapely
from shapely import MultiLineString, MultiPolygon
from shapely.geometry.base import BaseGeometry
from slugify import slugify

from eaveline.errors import InputError, Problem
from eaveline.map_files import LINES, POLYGONS, layer_file, read_layer, shown
from eaveline.public.maps.squares import region_polygons

if TYPE_CHECKING:
    from eaveline.public.records import Cell

NAME_COLUMN = "name"
STREET_INSIDE_M = 1.0
"""A street runs through a region when more than this length of it lies inside."""

_NAME_LIKE = (
    "street",
    "street_name",
    "streetname",
    "road",
    "road_name",
    "roadname",
    "name1",
    "name_1",
)
_KINDS = {
    "streets": LINES,
    "boundary": POLYGONS,
    "water": LINES | POLYGONS,
    "greens": POLYGONS,
    "buildings": POLYGONS,
}
"""What each layer's file may hold."""
_RESERVED_SLUGS = frozenset(
    {"con", "prn", "aux", "nul"}
    | {f"{port}{number}" for port in ("com", "lpt") for number in range(10)}
)
"""Names Windows refuses for a folder."""
_SLUG_LENGTH = 70
"""Leaves room for a suffix below the release format's limit of 80."""


@dataclass(frozen=True, slots=True)
class Street:
    """A named street; every line with its name, as one.

    Parameters
    ----------
    slug
        Its id in addresses and in the release: lower-case ASCII letters, digits and hyphens.
    name
        Its name as the file spells it, spaces tidied.
    lines
        Its centre lines, in the town's grid.
    """

    slug: str
    name: str
    lines: MultiLineString


@dataclass(frozen=True, slots=True)
class BaseMap:
    """The town's public map in one projected system; layers in an order of their own.

    No layer's order depends on the order of the file it came from.
    """

    crs: str
    streets: tuple[Street, ...]
    """By slug."""
    boundary: MultiPolygon | None
    """The town's edge; None where no boundary file was given."""
    water: tuple[BaseGeometry, ...]
    """Lines (streams) and polygons (rivers, ponds)."""
    greens: tuple[BaseGeometry, ...]
    """Polygons of parks, commons and woods."""
    buildings: tuple[BaseGeometry, ...]
    """Building outlines."""


def load_basemap(folder: Path, *, crs: str) -> BaseMap:
    """Read the public layers of a map folder.

    Parameters
    ----------
    folder
        Holds ``streets.*`` and, each optional, ``boundary.*``, ``water.*``, ``greens.*`` and
        ``buildings.*``.
    crs
        The town's grid: ``EPSG:27700`` or ``EPSG:29903``.

    Returns
    -------
    BaseMap
        Everything in `crs`, in metres, heights dropped.

    Raises
    ------
    InputError
        With every layer's fault at once: no streets file or two of them, a file that cannot be
        read, no coordinate system, no column of names, the wrong kind of shape, or nothing in
        it.
    """
    problems: list[Problem] = []
    layers: dict[str, gpd.GeoDataFrame] = {}
    streets: tuple[Street, ...] = ()
    for layer, kinds in _KINDS.items():
        try:
            path = layer_file(folder, layer)
            if path is not None:
                layers[layer] = read_layer(path, kinds=kinds, crs=crs)
                if layer == "streets":
                    streets = _streets(layers[layer], file=shown(path))
            elif layer == "streets":
                problems.append(_streets_missing(folder))
        except InputError as error:
            problems.extend(error.problems)
    if problems:
        raise InputError(problems)
    return BaseMap(
        crs=crs,
        streets=streets,
        boundary=_as_boundary(layers.get("boundary")),
        water=_in_order(layers.get("water")),
        greens=_in_order(layers.get("greens")),
        buildings=_in_order(layers.get("buildings")),
    )


def street_regions(
    basemap: BaseMap, cells_by_region: Mapping[str, Iterable[Cell]], *, cell_size_m: int
) -> dict[str, tuple[str, ...]]:
    """Tell which streets run through which region.

    Parameters
    ----------
    basemap
        The town's map, in the grid that the cells count in.
    cells_by_region
        Each region's cells by region id.
    cell_size_m
        The side of a cell in metres.

    Returns
    -------
    dict
        For every region id, in order, the slugs of the streets of which more than
        `STREET_INSIDE_M` lies inside it, in order.
    """
    polygons = region_polygons(cells_by_region, cell_size_m=cell_size_m)
    ids = list(polygons)
    # One tree over the streets' single lines, because a long street's box is mostly empty.
    lines, street_of_line = shapely.get_parts(
        np.array([street.lines for street in basemap.streets], dtype=object), return_index=True
    )
    shapes = np.array([polygons[region_id] for region_id in ids], dtype=object)
    shapely.prepare(shapes)
    region_at, line_at = shapely.STRtree(lines).query(shapes, predicate="intersects")
    lengths_m = shapely.length(shapely.intersection(lines[line_at], shapes[region_at]))
    inside_m: defaultdict[tuple[int, int], float] = defaultdict(float)
    for region, street, length_m in zip(region_at, street_of_line[line_at], lengths_m, strict=True):
        inside_m[int(region), int(street)] += float(length_m)
    slugs: dict[str, list[str]] = {region_id: [] for region_id in ids}
    for (region, street), length_m in inside_m.items():
        if length_m > STREET_INSIDE_M:
            slugs[ids[region]].append(basemap.streets[street].slug)
    return {region_id: tuple(sorted(found)) for region_id, found in slugs.items()}


def street_slugs(names: Iterable[str]) -> dict[str, str]:
    """Give every street name its slug.

    Parameters
    ----------
    names
        Distinct tidied names, in any order.

    Returns
    -------
    dict
        Slug by name. Where names come to the same slug, the first in order of the alphabet
        keeps it and the next get ``-b``, ``-c`` and so on, whatever order they came in. A
        number would read like a house's.
    """
    slugs: dict[str, str] = {}
    taken: set[str] = set()
    for name in sorted(set(names)):
        # An apostrophe joins ("King's" is kings); everything else that is no letter parts.
        base = slugify(name.replace("'", "").replace("\u2019", ""), max_length=_SLUG_LENGTH)
        base = base.strip("-") or "street"
        if base in _RESERVED_SLUGS:
            base = f"{base}-street"
        slug, marks = base, _marks()
        while slug in taken:
            slug = f"{base}-{next(marks)}"
        taken.add(slug)
        slugs[name] = slug
    return slugs


def _marks() -> Iterator[str]:
    """Yield b, c, ... z, then aa, ab and so on."""
    letters = string.ascii_lowercase
    yield from letters[1:]
    for length in itertools.count(2):
        yield from map("".join, itertools.product(letters, repeat=length))


def _streets(table: gpd.GeoDataFrame, *, file: str) -> tuple[Street, ...]:
    """Join the lines of each name into one street; lines without a name are dropped."""
    column = _name_column([str(heading) for heading in table.columns], file=file)
    lines_by_name: defaultdict[str, list[BaseGeometry]] = defaultdict(list)
    for value, shape in zip(table[column], table.geometry, strict=True):
        if isinstance(value, str) and (name := tidy_name(value)):
            lines_by_name[name].append(shape)
    if not lines_by_name:
        raise InputError(
            Problem(
                code="map-streets-unnamed",
                what="No line in the file has a name.",
                next_step="Fill in the streets' names, one to each line.",
                file=file,
                column=column,
            )
        )
    slugs = street_slugs(lines_by_name)
    streets = (
        Street(slug=slugs[name], name=name, lines=_as_lines(lines_by_name[name])) for name in slugs
    )
    return tuple(sorted(streets, key=lambda street: street.slug))


def tidy_name(text: str) -> str:
    """Return a street's name with its spaces tidied and its letters composed (Unicode NFC)."""
    return " ".join(unicodedata.normalize("NFC", text).split())


def _name_column(headings: list[str], *, file: str) -> str:
    """Return the heading of the column of names, whatever its case."""
    for heading in headings:
        if heading.strip().casefold() == NAME_COLUMN:
            return heading
    others = {heading.strip().casefold(): heading for heading in headings if heading != "geometry"}
    like = [others[alias] for alias in _NAME_LIKE if alias in others] or [
        others[found] for found in get_close_matches(NAME_COLUMN, list(others), n=1, cutoff=0.5)
    ]
    step = f"Rename the column {like[0]} to name." if like else "Add a column called name."
    raise InputError(
        Problem(
            code="map-streets-no-name-column",
            what="The streets have no column called name.",
            next_step=step,
            file=file,
            column=NAME_COLUMN,
        )
    )


def _as_lines(shapes: list[BaseGeometry]) -> MultiLineString:
    return shapely.normalize(MultiLineString(list(shapely.get_parts(shapes))))


def _as_boundary(table: gpd.GeoDataFrame | None) -> MultiPolygon | None:
    if table is None:
        return None
    union = shapely.union_all(shapely.make_valid(table.geometry.to_numpy()))
    areas = [part for part in shapely.get_parts(union) if part.geom_type == "Polygon"]
    return shapely.normalize(MultiPolygon(areas))


def _in_order(table: gpd.GeoDataFrame | None) -> tuple[BaseGeometry, ...]:
    """Return valid shapes sorted by their own bytes, so that the file's order cannot show."""
    if table is None:
        return ()
    shapes = shapely.normalize(shapely.make_valid(table.geometry.to_numpy()))
    return tuple(sorted(shapes, key=shapely.to_wkb))


def _streets_missing(folder: Path) -> Problem:
    return Problem(
        code="map-streets-missing",
        what="There is no file of streets, so there can be no street pages and no map.",
        next_step="Put a line layer with the streets' names there, as streets.geojson or "
        "streets.gpkg.",
        file=shown(folder / "streets.*"),
    )
