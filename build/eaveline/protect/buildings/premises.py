"""Counts the distinct buildings that people live or work in, from whatever list a group has.

Premises decide how large a published square must be, so each doubt is settled by
counting fewer. Three kinds of list may be given, alone or together.

Addresses count. Flats are one: rows at one point (`SAME_POINT_M`), and rows whose street and
house number or name agree once the flat and a letter are left out (12, 12a, Flat 3 of 12).

Points (open property-reference points) count if no better list contradicts them: one within
`OTHER_LIST_M` of an address adds nothing, and where outlines are given, one that lies in no
outline, or in one too small or of a use nobody lives in, is a street sign, a garage or a
substation.

Outlines make all that stands under one roof one building. A terrace is often drawn as one
outline: its addresses stay apart only if they have different plain house numbers and the
outline is long enough for a front of `NARROWEST_FRONT_M` each. Flats that are numbered like
houses rarely pass that test. Without house numbers a row under one roof counts once.

An outline without address or point is a shed, a barn or a garage and never counts, unless
outlines are all there is. Then those too small or of another use are left out, and no
two that count lie within `outlines.OUTLINES_APART_M` of each other: a farmhouse, its barns
and sheds are one.
"""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from eaveline.private.places.houses import read_house
from eaveline.private.places.street_names import street_key
from eaveline.private.register import GONE
from eaveline.protect.buildings.outlines import Outlines, far_apart, length_m, read_outlines

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]

SAME_POINT_M = 2.0
"""Points nearer than this are one building."""
OTHER_LIST_M = 10.0
"""A point this near to an address is the same building in another list."""
SAME_ADDRESS_M = 50.0
"""Rows of one street and number further apart than this are two buildings, one mislabelled."""
NARROWEST_FRONT_M = 3.8
"""Few terraced houses in Britain are narrower (common practice, no source)."""
BUILDING_REACH_M = 12.0
"""From a list's point for a building to its furthest wall (common practice, no source)."""

_Label = tuple[str, str]


@dataclass(frozen=True, repr=False)
class Premises:
    """Distinct buildings, and the places in the lists that stand for them.

    Attributes
    ----------
    buildings
        easting, northing (metres), households, source ("addresses", "points" or
        "outlines"); in order of easting and northing, those that are `GONE` last. The
        row number is the building's id, made from content alone.
    members
        easting, northing, building: every place that stands for a building, in the same order.
    """

    buildings: pd.DataFrame
    members: pd.DataFrame

    @property
    def standing(self) -> pd.DataFrame:
        """The buildings that are in the lists."""
        return self.buildings[self.buildings["source"] != GONE]

    def __repr__(self) -> str:
        """Show the number of buildings only."""
        return f"<Premises: {len(self.buildings)} buildings>"


def distinct_premises(
    *,
    addresses: pd.DataFrame | None = None,
    points: gpd.GeoDataFrame | None = None,
    outlines: gpd.GeoDataFrame | None = None,
) -> Premises:
    """Return the distinct buildings of one or more lists.

    Parameters
    ----------
    addresses
        street, house, easting, northing; perhaps addresses, the number of households that a
        row stands for. One row for each address, in any order.
    points
        Points in the town's grid.
    outlines
        Building polygons in the town's grid.

    Returns
    -------
    Premises
        The same whatever the order of rows. None at all if every list is empty or missing.

    Raises
    ------
    ValueError
        If points or outlines are in degrees, say no coordinate system, or differ in it.
    """
    _check_crs([table for table in (points, outlines) if table is not None and len(table)])
    spots = _spots(addresses, points)
    shapes = read_outlines(outlines)
    if not len(spots.places):
        return _from_outlines(shapes)
    inside = _roofs_over(spots, shapes)
    spots, inside = _without_strays(spots, inside, shapes)
    pairs = np.concatenate(
        [
            _near_pairs(spots),
            _same_address_pairs(spots),
            _points_by_addresses(spots),
            _same_roof_pairs(spots, inside, shapes),
        ]
    )
    return _merged(spots, pairs)


def assign_building(
    easting: npt.ArrayLike,
    northing: npt.ArrayLike,
    uncertainty_m: npt.ArrayLike,
    premises: Premises,
) -> Integers:
    """Return the building nearest to each place, if it lies within the place's uncertainty.

    Parameters
    ----------
    easting, northing, uncertainty_m
        Metres, shape (n,). An uncertainty below `BUILDING_REACH_M` counts as that, since a
        building is no point and birds are seen at its walls.
    premises
        The buildings.

    Returns
    -------
    ndarray, shape (n,)
        Building ids; -1 where none is near enough or the place is not known. Of several
        equally near the lowest id.
    """
    places = np.column_stack([np.asarray(easting, float), np.asarray(northing, float)])
    reach = np.maximum(np.nan_to_num(np.asarray(uncertainty_m, float)), BUILDING_REACH_M)
    found = np.full(len(places), -1, dtype=np.int64)
    known = np.isfinite(places).all(axis=1)
    if premises.members.empty or not known.any():
        return found
    tree = cKDTree(premises.members[["easting", "northing"]].to_numpy())
    away = np.asarray(tree.query(places[known])[0])
    near = away <= reach[known]
    ties = tree.query_ball_point(places[known][near], r=away[near] + 1e-6)
    building = premises.members["building"].to_numpy()
    found[np.flatnonzero(known)[near]] = [building[tied].min() for tied in ties]
    return found


def _check_crs(tables: list[gpd.GeoDataFrame]) -> None:
    for table in tables:
        if table.crs is None or not table.crs.is_projected or table.crs != tables[0].crs:
            msg = "points and outlines must share one projected coordinate system"
            raise ValueError(msg)


# Places in the lists.


@dataclass(frozen=True, slots=True, repr=False)
class _Spots:
    """Each distinct place of the lists once, in order of easting and northing.

    A place that an address and a point share is the address's.
    """

    places: Floats
    """Eastings and northings, shape (n, 2)."""
    addressed: npt.NDArray[np.bool_]
    households: Integers
    labels: dict[int, set[_Label]]
    """For a place with addresses: street and number, or street and name, of each."""
    plain: dict[int, set[_Label]]
    """Those of the labels that are a house number without a flat."""

    def only(self, kept: npt.NDArray[np.bool_]) -> _Spots:
        """Return the places marked; those with addresses must be among them."""
        place = (np.cumsum(kept) - 1).tolist()
        return _Spots(
            self.places[kept],
            self.addressed[kept],
            self.households[kept],
            {place[spot]: labels for spot, labels in self.labels.items()},
            {place[spot]: labels for spot, labels in self.plain.items()},
        )


def _spots(addresses: pd.DataFrame | None, points: gpd.GeoDataFrame | None) -> _Spots:
    listed, pointed = np.empty((0, 2)), np.empty((0, 2))
    households = np.empty(0, dtype=np.int64)
    if addresses is not None and len(addresses):
        listed = addresses[["easting", "northing"]].to_numpy(dtype=np.float64)
        households = np.ones(len(listed), dtype=np.int64)
        if "addresses" in addresses:
            households = addresses["addresses"].to_numpy(dtype=np.int64)
    if points is not None and len(points):
        single = shapely.get_parts(np.asarray(points.geometry.dropna(), dtype=object))
        pointed = shapely.get_coordinates(single[shapely.get_type_id(single) == 0])
    rows = np.concatenate([listed, pointed])
    places, spot = np.unique(rows, axis=0, return_inverse=True)
    addressed = np.zeros(len(places), dtype=bool)
    addressed[spot[: len(listed)]] = True
    count = np.concatenate([households, np.ones(len(pointed), dtype=np.int64)])
    count[len(listed) :][addressed[spot[len(listed) :]]] = 0
    labels: dict[int, set[_Label]] = defaultdict(set)
    plain: dict[int, set[_Label]] = defaultdict(set)
    if addresses is not None:
        for at, street, house in zip(
            spot.tolist(), addresses["street"], addresses["house"], strict=False
        ):
            label, whole = _label(str(street), str(house))
            if label:
                labels[at].add(label)
            if label and whole:
                plain[at].add(label)
    total = np.bincount(spot, weights=count, minlength=len(places)).astype(np.int64)
    return _Spots(places, addressed, total, dict(labels), dict(plain))


def _label(street: str, house: str) -> tuple[_Label | None, bool]:
    """Return what names a building, and whether it is a plain house number."""
    read = read_house(house)
    figures = re.match(r"\d+", read.number)
    if figures:
        return (street_key(street), figures[0]), not read.unit
    return ((street_key(street), read.name), False) if read.name else (None, False)


# Which places are one building: each rule gives pairs of rows.


def _pairs(found: list[tuple[int, int]]) -> Integers:
    return np.array(found, dtype=np.int64).reshape(-1, 2)


def _near_pairs(spots: _Spots) -> Integers:
    tree = cKDTree(spots.places)
    return tree.query_pairs(SAME_POINT_M, output_type="ndarray").astype(np.int64).reshape(-1, 2)


def _same_address_pairs(spots: _Spots) -> Integers:
    by_label: dict[_Label, list[int]] = defaultdict(list)
    for spot, labels in spots.labels.items():
        for label in labels:
            by_label[label].append(spot)
    places = spots.places
    found = []
    for same in by_label.values():
        for position, one in enumerate(same):
            for other in same[position + 1 :]:
                if np.hypot(*(places[one] - places[other])) <= SAME_ADDRESS_M:
                    found.append((one, other))  # noqa: PERF401 - three loops in one read badly
    return _pairs(found)


def _points_by_addresses(spots: _Spots) -> Integers:
    addressed, places = spots.addressed, spots.places
    if addressed.all() or not addressed.any():
        return _pairs([])
    address, point = np.flatnonzero(addressed), np.flatnonzero(~addressed)
    away, nearest = cKDTree(places[address]).query(places[point])
    near = np.asarray(away) <= OTHER_LIST_M
    return np.column_stack([point[near], address[np.asarray(nearest)[near]]])


def _roofs_over(spots: _Spots, shapes: Outlines) -> Integers:
    """Return (spot, outline) for every outline a place lies in or on, shape (n, 2)."""
    if not len(shapes.polygons):
        return _pairs([])
    tree = shapely.STRtree(shapes.polygons)
    found: Integers = tree.query(shapely.points(spots.places), predicate="intersects").T
    return found


def _without_strays(spots: _Spots, inside: Integers, shapes: Outlines) -> tuple[_Spots, Integers]:
    """Drop points that stand for no dwelling; addresses stay."""
    if not len(shapes.polygons):
        return spots, inside
    kept = spots.addressed.copy()
    kept[inside[shapes.dwelling[inside[:, 1]], 0]] = True
    place = np.cumsum(kept) - 1
    inside = inside[kept[inside[:, 0]]]
    return spots.only(kept), np.column_stack([place[inside[:, 0]], inside[:, 1]])


def _same_roof_pairs(spots: _Spots, inside: Integers, shapes: Outlines) -> Integers:
    by_roof: dict[int, list[int]] = defaultdict(list)
    for spot, roof in inside.tolist():
        by_roof[roof].append(spot)
    places, plain = spots.places, spots.plain
    found: list[tuple[int, int]] = []
    for roof, under in by_roof.items():
        if len(under) < 2:  # noqa: PLR2004 - a pair
            continue
        houses = [spot for spot in under if spot in plain]
        numbers = {label for spot in houses for label in plain[spot]}
        if len(numbers) < 2 or len(numbers) * NARROWEST_FRONT_M > length_m(shapes.polygons[roof]):  # noqa: PLR2004 - a row
            found += [(under[0], other) for other in under[1:]]
            continue
        for spot in sorted(
            set(under) - set(houses)
        ):  # a flat or a point in a terrace is its nearest house
            away = np.hypot(*(places[houses] - places[spot]).T)
            found.append((spot, houses[int(away.argmin())]))
    return _pairs(found)


def _merged(spots: _Spots, pairs: Integers) -> Premises:
    """Join places along the pairs; the surest place of each building stands for it.

    Surest is an address before a point, then the place with most households.
    """
    many = len(spots.places)
    links = coo_matrix((np.ones(len(pairs), dtype=np.int8), pairs.T), shape=(many, many))
    groups, group = connected_components(links, directed=False)
    has_address = np.zeros(groups, dtype=bool)
    has_address[group[spots.addressed]] = True
    households = np.where(spots.addressed == has_address[group], spots.households, 0)
    surest = np.lexsort((np.arange(many), -households, ~spots.addressed, group))
    first = surest[np.unique(group[surest], return_index=True)[1]]
    order = np.argsort(first)  # places are in order of easting and northing
    building = np.empty(groups, dtype=np.int64)
    building[order] = np.arange(groups)
    chosen = first[order]
    return Premises(
        buildings=pd.DataFrame(
            {
                "easting": spots.places[chosen, 0],
                "northing": spots.places[chosen, 1],
                "households": np.bincount(group, weights=households)[order].astype(np.int64),
                "source": np.where(has_address[order], "addresses", "points"),
            }
        ),
        members=pd.DataFrame(
            {
                "easting": spots.places[:, 0],
                "northing": spots.places[:, 1],
                "building": building[group],
            }
        ),
    )


def _from_outlines(shapes: Outlines) -> Premises:
    """Choose outlines, the largest first, none within `OUTLINES_APART_M` of one chosen before."""
    polygons = shapes.polygons[shapes.dwelling]
    middle = np.round(shapely.get_coordinates(shapely.centroid(polygons)), 1)
    order = np.lexsort((middle[:, 1], middle[:, 0], -np.round(shapely.area(polygons), 1)))
    polygons, middle = polygons[order], middle[order]
    kept = far_apart(polygons)
    middle = middle[kept]
    middle = middle[np.lexsort((middle[:, 1], middle[:, 0]))]
    buildings = pd.DataFrame({"easting": middle[:, 0], "northing": middle[:, 1]})
    return Premises(
        buildings=buildings.assign(households=1, source="outlines"),
        members=buildings.assign(building=np.arange(len(buildings), dtype=np.int64)),
    )
