"""The town's map: smooth streets that meet, and houses along them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely
from shapely import LineString, Polygon

from demo_town import plan
from demo_town.streams import stream

if TYPE_CHECKING:
    from demo_town.plan import Kind, Point

JOIN_M = 45.0
"""A street's end nearer than this to another street is a junction."""
RIVER_HALF_WIDTH_M = 9.0


class Building(NamedTuple):
    """One address; flats of one block share their point."""

    street: str
    house: str
    easting: int
    northing: int
    kind: Kind

    @property
    def xy(self) -> tuple[float, float]:
        """Easting, northing in metres."""
        return (float(self.easting), float(self.northing))

    @property
    def address(self) -> tuple[str, str]:
        """Street and house: the key of an address."""
        return (self.street, self.house)


@dataclass(frozen=True)
class Plot:
    """How houses stand along one kind of street, in metres."""

    spacing_m: float
    setback_m: float
    gap_chance: float


PLOTS: dict[Kind, Plot] = {
    "town": Plot(10.0, 8.0, 0.12),
    "terrace": Plot(5.0, 8.5, 0.02),
    "semi": Plot(12.5, 14.0, 0.03),
    "estate": Plot(12.0, 13.0, 0.05),
    "close": Plot(12.0, 12.0, 0.0),
    "detached": Plot(15.0, 17.0, 0.08),
    "new": Plot(10.0, 11.0, 0.03),
    "lane": Plot(60.0, 18.0, 0.75),
}


@dataclass(frozen=True)
class Town:
    """Everything on the map."""

    streets: dict[str, LineString]
    kinds: dict[str, Kind]
    buildings: tuple[Building, ...]
    river: LineString
    boundary: Polygon
    greens: dict[str, Polygon]

    def building(self, street: str, house: str) -> Building:
        """Return the building at an address."""
        return self.by_address[street, house]

    @property
    def by_address(self) -> dict[tuple[str, str], Building]:
        """Buildings by street and house."""
        return {building.address: building for building in self.buildings}

    def nearest(self, x: float, y: float, *, many: int = 1) -> list[Building]:
        """Return the `many` buildings nearest to a point, nearest first."""
        order = sorted(
            self.buildings,
            key=lambda b: (math.hypot(b.easting - x, b.northing - y), b.street, b.house),
        )
        return order[:many]


def smooth(points: Sequence[Point], *, steps: int = 8, closed: bool = False) -> list[Point]:
    """Return a Catmull-Rom curve through `points`, rounded to 0.1 m."""
    pts = list(points)
    padded = [pts[-1], *pts, pts[0], pts[1]] if closed else [pts[0], *pts, pts[-1]]
    curve: list[Point] = []
    for p0, p1, p2, p3 in zip(padded, padded[1:], padded[2:], padded[3:], strict=False):
        for step in range(steps):
            t = step / steps
            curve.append(tuple(_catmull(p0[i], p1[i], p2[i], p3[i], t) for i in (0, 1)))  # type: ignore[arg-type] # a pair
    curve.append(curve[0] if closed else pts[-1])
    return [(round(x, 1), round(y, 1)) for x, y in curve]


def _catmull(a: float, b: float, c: float, d: float, t: float) -> float:
    """One coordinate of a Catmull-Rom segment from b to c."""
    return 0.5 * (
        2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3
    )


def _shift(points: Iterable[Point]) -> list[Point]:
    """Move local metres to the national grid."""
    return [(x + plan.ORIGIN[0], y + plan.ORIGIN[1]) for x, y in points]


def _joined_streets() -> dict[str, LineString]:
    """Smooth every street, then pull its ends on to the street they nearly touch."""
    lines = {s.name: LineString(smooth(_shift(s.line))) for s in plan.STREETS}
    joined: dict[str, LineString] = {}
    for name, line in lines.items():
        others = [joined.get(other, lines[other]) for other in lines if other != name]
        joined[name] = _with_joined_ends(line, others)
    return joined


def _with_joined_ends(line: LineString, others: Sequence[LineString]) -> LineString:
    """Replace each end by the nearest point of the nearest other street, if that is near."""
    coords = [(float(x), float(y)) for x, y in line.coords]
    for index in (0, -1):
        end = shapely.Point(coords[index])
        nearest = min(others, key=end.distance)
        if end.distance(nearest) < JOIN_M:
            spot = nearest.interpolate(nearest.project(end))
            coords[index] = (round(spot.x, 1), round(spot.y, 1))
    return LineString(coords)


def _house_rows(
    name: str, line: LineString, drawn: plan.Street
) -> list[tuple[str, int, tuple[float, float]]]:
    """Candidate houses along one street: side, running number on that side, place."""
    plot = PLOTS[drawn.kind]
    rng = stream("houses", name)
    sides = ("left", "right") if drawn.sides == "both" else (drawn.sides,)
    start, stop = (fraction * line.length for fraction in drawn.built)
    places = []
    for side in sides:
        sign = 1.0 if side == "left" else -1.0
        along, number = start + plot.spacing_m / 2, 0
        while along < stop:
            a = line.interpolate(max(along - 1.0, 0.0))
            b = line.interpolate(min(along + 1.0, line.length))
            dx, dy = b.x - a.x, b.y - a.y
            length = math.hypot(dx, dy)
            setback = plot.setback_m + (rng.uniform(-1.5, 1.5) if plot.spacing_m > 6 else 0.0)
            mid = line.interpolate(along)
            x = mid.x - sign * dy / length * setback
            y = mid.y + sign * dx / length * setback
            if rng.random() >= plot.gap_chance:
                places.append((side, number, (x, y)))
            number += 1
            along += plot.spacing_m * (rng.uniform(0.9, 1.15) if plot.spacing_m > 6 else 1.0)
    return places


class _Occupied:
    """Places already built on, in a grid of 10 m squares."""

    def __init__(self) -> None:
        self._squares: dict[tuple[int, int], list[tuple[float, float]]] = {}

    def free(self, x: float, y: float, clear_m: float) -> bool:
        """Return whether nothing stands within `clear_m` (at most 20 m)."""
        i, j = int(x // 10), int(y // 10)
        return all(
            math.hypot(px - x, py - y) >= clear_m
            for di in range(-2, 3)
            for dj in range(-2, 3)
            for px, py in self._squares.get((i + di, j + dj), ())
        )

    def add(self, x: float, y: float) -> None:
        """Note a building."""
        self._squares.setdefault((int(x // 10), int(y // 10)), []).append((x, y))


def _buildings(
    streets: dict[str, LineString], river: LineString, greens: dict[str, Polygon]
) -> list[Building]:
    """Set houses along every street where nothing is in the way."""
    occupied = _Occupied()
    found: list[Building] = []
    for house, street, spot in (*plan.NAMED_BUILDINGS, *plan.FARMS):
        [(x, y)] = _shift([spot])
        occupied.add(x, y)
        kind: Kind = "lane" if (house, street, spot) in plan.FARMS else "town"
        found.append(Building(street, house, round(x), round(y), kind))
    block, street, spot, flats = plan.FLATS
    [(x, y)] = _shift([spot])
    occupied.add(x, y)
    found += [
        Building(street, f"Flat {n}, {block}", round(x), round(y), "town")
        for n in range(1, flats + 1)
    ]
    for drawn in plan.STREETS:
        found += _houses_of(drawn, streets, river, greens, occupied)
    return found


def _houses_of(
    drawn: plan.Street,
    streets: dict[str, LineString],
    river: LineString,
    greens: dict[str, Polygon],
    occupied: _Occupied,
) -> list[Building]:
    """Houses of one street, numbered: odd on the left, even on the right."""
    plot = PLOTS[drawn.kind]
    candidates = _house_rows(drawn.name, streets[drawn.name], drawn)
    points = shapely.points([place for _, _, place in candidates])
    keep = shapely.distance(points, river) > RIVER_HALF_WIDTH_M + 12.0
    for name, line in streets.items():
        clear = plot.setback_m * 0.8
        keep &= shapely.distance(points, line) > (clear if name != drawn.name else clear * 0.85)
    for green in greens.values():
        keep &= ~shapely.within(points, green)
    houses: list[Building] = []
    counts = {"left": 0, "right": 0}
    apart = 0.86 * min(plot.spacing_m, 12.0)
    for ok, (side, _, (x, y)) in zip(np.asarray(keep), candidates, strict=True):
        if not ok or not occupied.free(x, y, apart):
            continue
        occupied.add(x, y)
        number = 2 * counts[side] + (1 if side == "left" or drawn.sides != "both" else 2)
        if drawn.sides != "both":
            number = counts[side] + 1
        no_thirteen = drawn.kind in {"terrace", "town"}  # few old houses bear this number
        label = "11A" if number == 13 and no_thirteen else str(number)
        counts[side] += 1
        houses.append(Building(drawn.name, label, round(x), round(y), drawn.kind))
    return houses


@cache
def town() -> Town:
    """Return the town; the same every time."""
    streets = _joined_streets()
    river = LineString(smooth(_shift(plan.RIVER)))
    greens = {
        name: Polygon(smooth(_shift(ring), steps=4, closed=True)) for name, ring in plan.GREENS
    }
    boundary = Polygon(smooth(_shift(plan.BOUNDARY), steps=4, closed=True))
    return Town(
        streets=streets,
        kinds={s.name: s.kind for s in plan.STREETS},
        buildings=tuple(_buildings(streets, river, greens)),
        river=river,
        boundary=boundary,
        greens=greens,
    )
