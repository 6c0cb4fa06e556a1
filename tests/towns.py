"""Draws invented towns of different form: where their premises stand, and nothing else.

Every town is seeded: the same arguments give the same points on every machine. Spacings are
usual ones for British streets (common practice, no source): terraced houses 5 m apart on
streets 40 m apart, semi-detached 10 m on 60 m, detached 17 m on 80 m.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

Points = npt.NDArray[np.float64]
"""Eastings and northings in metres, shape (n, 2)."""

CENTRE_M = (650_000.0, 330_000.0)
"""TG 50 30, open sea: no real house can be meant."""


class Fabric(NamedTuple):
    """How the houses of one quarter stand, in metres."""

    street_gap_m: float
    house_gap_m: float
    setback_m: float
    built: float
    """The share of plots with a house on it."""


TERRACE = Fabric(40.0, 5.0, 8.0, 0.95)
SEMI = Fabric(60.0, 10.0, 13.0, 0.92)
DETACHED = Fabric(80.0, 17.0, 17.0, 0.85)
OLD_CORE = Fabric(55.0, 9.0, 9.0, 0.8)


def quarter(rng: np.random.Generator, *, fabric: Fabric, width_m: float, height_m: float) -> Points:
    """Return houses on both sides of parallel streets, about (0, 0), at a random bearing."""
    streets = np.arange(-height_m / 2, height_m / 2, fabric.street_gap_m)
    along = np.arange(-width_m / 2, width_m / 2, fabric.house_gap_m)
    x, y = np.meshgrid(along, streets)
    both = np.concatenate(
        [np.column_stack([x.ravel(), y.ravel() + side * fabric.setback_m]) for side in (-1, 1)]
    )
    both = both[rng.random(len(both)) < fabric.built]
    both += rng.normal(0, 0.8, both.shape)
    bearing = rng.uniform(0, np.pi)
    turn = np.array([[np.cos(bearing), -np.sin(bearing)], [np.sin(bearing), np.cos(bearing)]])
    turned: Points = both @ turn.T
    return turned


def _scattered(rng: np.random.Generator, *, many: int, half_width_m: float) -> Points:
    """Return farms: a house each, some with a cottage or two beside it."""
    farms = rng.uniform(-half_width_m, half_width_m, (many, 2))
    cottages = [farm + rng.normal(0, 40.0, (rng.integers(1, 4), 2)) for farm in farms[: many // 3]]
    return np.concatenate([farms, *cottages]) if cottages else farms


def _along(
    rng: np.random.Generator, *, start: Points, end: Points, gap_m: float, built: float
) -> Points:
    """Return a ribbon of houses on both sides of a road that bends a little."""
    length = float(np.hypot(*(end - start)))
    many = max(2, int(length / gap_m))
    t = np.linspace(0, 1, many)
    direction = (end - start) / length
    normal = np.array([-direction[1], direction[0]])
    bend = 0.06 * length * np.sin(t * np.pi * rng.uniform(0.5, 2))
    line = start + np.outer(t, end - start) + np.outer(bend, normal)
    houses = np.concatenate([line + normal * side * rng.uniform(12, 20) for side in (-1, 1)])
    return houses[rng.random(len(houses)) < built]


def _without(points: Points, *, holes: Points, radius_m: npt.NDArray[np.float64]) -> Points:
    """Return the points outside every hole (a park, a school, a works)."""
    kept = np.ones(len(points), dtype=bool)
    for inside in cKDTree(points).query_ball_point(holes, radius_m):
        kept[inside] = False
    outside: Points = points[kept]
    return outside


def _placed(points: Points) -> Points:
    """Return points on whole metres about `CENTRE_M`, each once, in an order of their own."""
    return np.unique(np.round(points + np.array(CENTRE_M)), axis=0)


def terraces(seed: int = 1) -> Points:
    """Return a mill town's terraces with a works and a park among them."""
    rng = np.random.default_rng(seed)
    houses = quarter(rng, fabric=TERRACE, width_m=1_100, height_m=900)
    holes = rng.uniform(-450, 450, (5, 2))
    return _placed(_without(houses, holes=holes, radius_m=rng.uniform(50, 140, 5)))


def estate(seed: int = 1) -> Points:
    """Return a 1970s estate: semi-detached and detached houses, greens, a school."""
    rng = np.random.default_rng(seed)
    houses = np.concatenate(
        [
            quarter(rng, fabric=SEMI, width_m=700, height_m=700) + np.array([-300, 0]),
            quarter(rng, fabric=DETACHED, width_m=600, height_m=600) + np.array([420, 80]),
        ]
    )
    holes = rng.uniform(-500, 500, (6, 2))
    return _placed(_without(houses, holes=holes, radius_m=rng.uniform(30, 110, 6)))


def market_town(seed: int = 1) -> Points:
    """Return an old core, terraces, an estate, roads out with ribbons, farms around."""
    rng = np.random.default_rng(seed)
    roads = _bearings(rng, many=5)
    parts = [
        quarter(rng, fabric=OLD_CORE, width_m=500, height_m=400),
        quarter(rng, fabric=TERRACE, width_m=350, height_m=300) + np.array([-420, 150]),
        quarter(rng, fabric=SEMI, width_m=500, height_m=500) + np.array([520, -250]),
        quarter(rng, fabric=DETACHED, width_m=400, height_m=350) + np.array([100, 520]),
        *[_along(rng, start=road * 300, end=road * 1_300, gap_m=28, built=0.6) for road in roads],
        _scattered(rng, many=25, half_width_m=2_000),
    ]
    houses = np.concatenate(parts)
    holes = rng.uniform(-600, 600, (6, 2))
    return _placed(_without(houses, holes=holes, radius_m=rng.uniform(30, 100, 6)))


def village(seed: int = 1) -> Points:
    """Return a village about a green, with farms."""
    rng = np.random.default_rng(seed)
    ends = rng.uniform(-380, 380, (6, 2))
    lanes = [_along(rng, start=ends[n], end=ends[n + 1], gap_m=22, built=0.7) for n in range(5)]
    return _placed(np.concatenate([*lanes, _scattered(rng, many=18, half_width_m=1_500)]))


def ribbon(seed: int = 1) -> Points:
    """Return one long street of houses through fields."""
    rng = np.random.default_rng(seed)
    street = _along(
        rng, start=np.array([-2_000.0, -300.0]), end=np.array([2_000.0, 400.0]), gap_m=18, built=0.6
    )
    return _placed(np.concatenate([street, _scattered(rng, many=12, half_width_m=1_800)]))


def island(seed: int = 1) -> Points:
    """Return an island: a harbour street, a few hamlets, crofts along the shore."""
    rng = np.random.default_rng(seed)
    harbour = quarter(rng, fabric=OLD_CORE, width_m=260, height_m=110)
    hamlets = [
        rng.normal(0, 55.0, (rng.integers(4, 14), 2)) + rng.uniform(-2_500, 2_500, 2)
        for _ in range(6)
    ]
    around = np.linspace(0, 2 * np.pi, 45, endpoint=False)
    crofts = 2_600 * np.column_stack([np.cos(around), 0.7 * np.sin(around)])
    crofts += rng.normal(0, 90.0, crofts.shape)
    return _placed(np.concatenate([harbour, *hamlets, crofts]))


def large_town(seed: int = 1, *, premises: int = 21_000) -> Points:
    """Return a whole town of about as many premises as asked: quarters of every kind.

    Quarters lie on a jittered grid, old and dense in the middle, newer and looser
    outwards; works, parks and schools are left open; ribbons run out along the roads; hamlets
    and farms lie in the parish around. The shares were set so that the plain rule (join each
    small cell to its nearest neighbour) gives at k = 10 what it gave on a real town of 21,671
    premises: three quarters of the premises in single cells, 95% within a 200 m box.
    """
    rng = np.random.default_rng(seed)
    side_m = 340.0
    reach = int(np.ceil(np.sqrt(premises / 21_000) * 17))
    slots = np.array(
        [(i, j) for i in range(-reach, reach + 1) for j in range(-reach, reach + 1)], dtype=float
    )
    slots += rng.normal(0, 0.12, slots.shape)
    slots = slots[np.argsort(np.hypot(slots[:, 0], slots[:, 1]) + rng.normal(0, 0.5, len(slots)))]
    parts: list[Points] = []
    standing, edge_m = 0, 0.0
    for rank, slot in enumerate(slots):
        if standing >= premises * 1.15:  # the open ground below takes a sixth away
            break
        if rank > 4 and rng.random() < 0.12:  # fields, a quarry, a golf course
            continue
        share, pick = standing / premises, rng.random()
        fabric = (
            OLD_CORE
            if share < 0.03
            else TERRACE
            if pick < 0.22 - 0.22 * share
            else SEMI
            if pick < 0.65 - 0.25 * share
            else DETACHED
        )
        fabric = fabric._replace(built=fabric.built * rng.uniform(0.5, 1.0))
        width_m, height_m = side_m * rng.uniform(0.75, 1.05, 2)
        houses = quarter(rng, fabric=fabric, width_m=width_m, height_m=height_m) + slot * side_m
        parts.append(houses)
        standing += len(houses)
        edge_m = max(edge_m, side_m * float(np.hypot(*slot)))
    gaps = premises // 85
    open_ground = rng.uniform(-edge_m, edge_m, (gaps, 2))
    built_up = _without(
        np.concatenate(parts), holes=open_ground, radius_m=rng.uniform(25, 95, gaps)
    )
    ribbons = [
        _along(rng, start=road * edge_m, end=road * (edge_m + out), gap_m=25, built=0.55)
        for road, out in zip(_bearings(rng, many=7), rng.uniform(300, 900, 7), strict=True)
    ]
    hamlets = [
        rng.normal(0, 60.0, (rng.integers(6, 26), 2)) + (edge_m + rng.uniform(500, 1_400)) * road
        for road in _bearings(rng, many=max(3, premises // 4_000))
    ]
    farms = _scattered(rng, many=max(10, premises // 700), half_width_m=edge_m + 700)
    return _placed(np.concatenate([built_up, *ribbons, *hamlets, farms]))


def _bearings(rng: np.random.Generator, *, many: int) -> Points:
    """Return unit vectors at random bearings."""
    angles = rng.uniform(0, 2 * np.pi, many)
    return np.column_stack([np.cos(angles), np.sin(angles)])


FORMS: dict[str, Callable[[int], Points]] = {
    "terraces": terraces,
    "estate": estate,
    "market town": market_town,
    "village": village,
    "ribbon": ribbon,
    "island": island,
    "large town": large_town,
}
