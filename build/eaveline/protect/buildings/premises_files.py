"""Reads a map folder's lists of premises, and says how complete they look.

``addresses.csv`` is read by `private.addresses`; here are ``premises.*`` (points, or building
polygons) and ``buildings.*`` (polygons), in any format GDAL reads. ``premises.csv`` with
columns of eastings and northings, as open property-reference points come, is read too.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely
from scipy.spatial import cKDTree

from eaveline.errors import InputError, Problem
from eaveline.geodesy import ProjectedCrs
from eaveline.map_files import POINTS, POLYGONS, layer_file, read_layer
from eaveline.private.intake.headings import find_headings
from eaveline.private.intake.schema import plain
from eaveline.private.intake.text_grids import decode, text_grid
from eaveline.protect.buildings.premises import Premises, distinct_premises

if TYPE_CHECKING:
    from eaveline.private.places.addresses import AddressBook


GRID_TOP_M = 1_300_000
"""No easting or northing of the British or Irish grid is larger."""
FAR_M = 75.0
"""A record this much further than its uncertainty from any premises is at none of them."""
FEWEST_FAR = 5
LARGEST_SHARE_FAR = 0.1
"""So many far places, and so large a share, say that the list is partial (our choice)."""
_HEADINGS = {
    **dict.fromkeys(("easting", "eastings", "xcoordinate", "x", "east"), "easting"),
    **dict.fromkeys(("northing", "northings", "ycoordinate", "y", "north"), "northing"),
}


def load_premises(
    map_folder: Path, *, crs: ProjectedCrs, addresses: AddressBook | None
) -> tuple[Premises | None, tuple[Problem, ...]]:
    """Count the premises that a town's map folder lists.

    Parameters
    ----------
    map_folder
        survey_data/map.
    crs
        The town's grid.
    addresses
        What `private.addresses.load_addresses` read, if anything.

    Returns
    -------
    Premises or None
        None if there is no list at all; then there can be no map.
    tuple of Problem
        How many were counted from what, and anything odd about the lists.

    Raises
    ------
    InputError
        If a file cannot be read, says no coordinate system or lies outside the grid.
    """
    points, shapes = _premises_layer(map_folder, crs=crs)
    buildings = _buildings_layer(map_folder, crs=crs)
    if buildings is not None:
        shapes = buildings if shapes is None else pd.concat([shapes, buildings], ignore_index=True)
    listed = addresses.buildings if addresses is not None else None
    if not any(table is not None and len(table) for table in (listed, points, shapes)):
        return None, (_no_list(),)
    premises = distinct_premises(addresses=listed, points=points, outlines=shapes)
    households = int(listed["addresses"].sum()) if listed is not None else 0
    notes = [
        _counted(
            premises,
            {
                "addresses": households,
                "points": 0 if points is None else len(points),
                "outlines": 0 if shapes is None else len(shapes),
            },
        )
    ]
    if points is not None and shapes is not None and (odd := _outlines_partial(points, shapes)):
        notes.append(odd)
    return premises, tuple(notes)


def looks_partial(
    easting: npt.ArrayLike,
    northing: npt.ArrayLike,
    uncertainty_m: npt.ArrayLike,
    premises: Premises,
) -> Problem | None:
    """Say whether many records lie far from any premises, so that the list must be partial.

    It depends on where records are: for the group's own report, never for the site.

    Parameters
    ----------
    easting, northing, uncertainty_m
        Of records at buildings (nest sites, boxes), metres, shape (n,). Places count once
        each; unknown ones not at all.
    premises
        The buildings.
    """
    places = np.column_stack([np.asarray(v, float) for v in (easting, northing, uncertainty_m)])
    places = np.unique(places[np.isfinite(places).all(axis=1)], axis=0)
    if len(places) == 0 or premises.members.empty:
        return None
    tree = cKDTree(premises.members[["easting", "northing"]].to_numpy())
    away = np.asarray(tree.query(places[:, :2])[0])
    far = int((away > FAR_M + places[:, 2]).sum())
    if far < FEWEST_FAR or far < LARGEST_SHARE_FAR * len(places):
        return None
    return Problem(
        code="premises-look-partial",
        what=f"{far} of {len(places)} places with nests or boxes lie further than {FAR_M:.0f} "
        "m from "
        "any premises listed, so the list seems to cover part of the town only. Squares are "
        "then larger than they need be, and nests outside them count for the town alone.",
        next_step="Put the town's full address list, property points or building outlines into "
        "map/.",
        file="map",
    )


def _premises_layer(
    map_folder: Path, *, crs: ProjectedCrs
) -> tuple[gpd.GeoDataFrame | None, gpd.GeoDataFrame | None]:
    """Return the points and the polygons of ``premises.*``."""
    path = layer_file(map_folder, "premises")
    if path is None:
        return None, None
    if path.suffix.casefold() == ".csv":
        return _read_csv(path, crs=crs), None
    table = read_layer(path, kinds=POINTS | POLYGONS, crs=crs)
    points = table[table.geom_type.isin(["Point", "MultiPoint"])]
    shapes = table[table.geom_type.isin(["Polygon", "MultiPolygon"])]
    return (points if len(points) else None), (shapes if len(shapes) else None)


def _buildings_layer(map_folder: Path, *, crs: ProjectedCrs) -> gpd.GeoDataFrame | None:
    path = layer_file(map_folder, "buildings")
    return None if path is None else read_layer(path, kinds=POLYGONS, crs=crs)


def _read_csv(path: Path, *, crs: ProjectedCrs) -> gpd.GeoDataFrame:
    """Return the points of a file with columns of eastings and northings."""
    file = f"map/{path.name}"
    try:
        text, _ = decode(path.read_bytes(), name=file)
    except OSError as error:
        raise InputError(
            Problem(
                "premises-unreadable",
                f"The file cannot be read ({type(error).__name__}).",
                "Close it in other programs, or export it again.",
                file=file,
            )
        ) from None
    grid, _ = text_grid(text, _HEADINGS, name=file)
    head = find_headings(grid, _HEADINGS)
    names = [_HEADINGS.get(plain(cell)) for cell in grid[head]] if head is not None else []
    if head is None or "easting" not in names or "northing" not in names:
        raise InputError(
            Problem(
                "premises-column-missing",
                "There are no columns of eastings and northings.",
                "Give the two columns the headings easting and northing, in metres.",
                file=file,
            )
        )
    place = [names.index("easting"), names.index("northing")]
    filled = [
        (row, [line[at] if at < len(line) else "" for at in place])
        for row, line in enumerate(grid[head + 1 :], start=head + 2)
        if any(cell.strip() for cell in line)
    ]
    cells = pd.DataFrame([pair for _, pair in filled], columns=["x", "y"], dtype=object)
    x, y = (pd.to_numeric(cells[name], errors="coerce") for name in ("x", "y"))
    wrong = np.flatnonzero((x.isna() | y.isna()).to_numpy())
    if len(wrong):
        raise InputError(
            Problem(
                "premises-row-wrong",
                f"{len(wrong)} rows have no easting and northing in metres; this is the first.",
                "Mend or remove them.",
                file=file,
                row=filled[int(wrong[0])][0],
            )
        )
    if not (x.between(0, GRID_TOP_M) & y.between(0, GRID_TOP_M)).all():
        raise InputError(
            Problem(
                "premises-off-grid",
                f"Some points lie outside the town's grid ({crs}).",
                "Give eastings and northings in metres, in the town's own grid.",
                file=file,
            )
        )
    return gpd.GeoDataFrame(geometry=gpd.points_from_xy(x, y), crs=crs)


def _no_list() -> Problem:
    return Problem(
        "premises-missing",
        "There is no list of premises, so there is no map: without it nobody can tell how many "
        "houses a square must hold to hide one. The site has figures for the whole town only.",
        "Put addresses.csv (street, house, easting, northing), premises.* (points) or buildings.* "
        "(outlines) into map/.",
        file="map",
    )


def _counted(premises: Premises, read: dict[str, int]) -> Problem:
    lists = ", ".join(f"{count:,} {name}" for name, count in read.items() if count)
    return Problem(
        "premises-counted",
        f"{lists} come to {len(premises.buildings):,} distinct premises.",
        "Nothing is needed if that is about the number of buildings with people in the town.",
        file="map",
    )


def _outlines_partial(points: gpd.GeoDataFrame, shapes: gpd.GeoDataFrame) -> Problem | None:
    """Say if most points lie in no outline, or outlines hold many points each."""
    tree = shapely.STRtree(shapes.geometry.to_numpy())
    point, outline = tree.query(points.geometry.to_numpy(), predicate="intersects")
    housed = len(np.unique(point))
    if housed < len(points) / 2:
        return Problem(
            "premises-outside-outlines",
            f"{len(points) - housed} of {len(points)} points lie in no building outline and "
            "were not "
            "counted.",
            "Give outlines of the whole town, or leave the file of outlines out.",
            file="map",
        )
    if housed > 3 * len(np.unique(outline)):
        return Problem(
            "premises-rows-as-one",
            "The outlines hold more than three points each on average: whole rows seem to be "
            "drawn as "
            "one, and each counts as one building. The squares are larger than they need be.",
            "Add addresses.csv with house numbers, or leave the file of outlines out.",
            file="map",
        )
    return None
