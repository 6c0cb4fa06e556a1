"""Draws a site and its surroundings to scale, as SVG: north up, with a bar of metres."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final
from xml.sax.saxutils import escape, quoteattr

import shapely
from shapely import Point
from shapely.geometry.base import BaseGeometry

from eaveline.messages import gettext as _
from eaveline.messages import number
from eaveline.public.maps.basemap import BaseMap
from eaveline.public.maps.palette import GROUND, INK, STREETS, WATER

WIDTH_MM, HEIGHT_MM = 160, 88
SCALES: Final = (
    1_250,
    2_500,
    5_000,
    7_500,
    10_000,
    15_000,
    20_000,
    25_000,
    40_000,
    50_000,
    100_000,
)
POINT_SITE_M = 10.0
"""A site given by one point is drawn this wide about it."""
_AROUND_M = 60.0
_STREETS_THIN = 5_000
"""At smaller scales streets are drawn thin."""
_BARS_M = (10, 20, 50, 100, 200, 500, 1000, 2000, 5000)
_FONT = "Libertinus Serif, Georgia, serif"


@dataclass(frozen=True, slots=True)
class Shade:
    """A square with its fill and a label in its middle."""

    shape: BaseGeometry
    fill: str
    label: str


@dataclass(frozen=True, slots=True)
class Mark:
    """An exact place; only confidential papers have any."""

    easting: float
    northing: float
    sign: str
    """One letter or number that the table explains."""


def map_scale(site: BaseGeometry, *, around_m: float = _AROUND_M) -> int:
    """Return the largest scale at which a site and its surroundings fit, as 1 to ..."""
    west, south, east, north = site.bounds
    for scale in SCALES:
        wide, high = WIDTH_MM * scale / 1000, HEIGHT_MM * scale / 1000
        if east - west + 2 * around_m <= wide and north - south + 2 * around_m <= high:
            return scale
    return SCALES[-1]


def site_map(
    site: BaseGeometry,
    *,
    basemap: BaseMap,
    shades: Sequence[Shade] = (),
    marks: Sequence[Mark] = (),
    rings_m: Iterable[float] = (),
    around_m: float = _AROUND_M,
) -> tuple[str, int]:
    """Return the drawing and its scale when printed 160 mm wide.

    Parameters
    ----------
    site
        The application's outline or point, in metres.
    basemap
        Streets and water.
    shades
        Squares to fill.
    marks
        Exact places.
    rings_m
        Distances from the site to draw a line at.
    around_m
        Least room about the site.
    """
    frame = _frame(site, scale=map_scale(site, around_m=around_m))
    over = [
        frame.path(shapely.buffer(site, distance_m).boundary, line=INK, pen=1, dashed=True)
        for distance_m in rings_m
    ]
    outline = shapely.buffer(site, POINT_SITE_M) if isinstance(site, Point) else site
    over.append(frame.path(outline, line=INK, pen=4))
    over += [frame.label(shade) for shade in shades]
    over += [frame.mark(mark) for mark in marks]
    return frame.drawing(basemap, shades, over), frame.scale


def area_map(area: BaseGeometry, *, basemap: BaseMap, shades: Sequence[Shade]) -> tuple[str, int]:
    """Return a drawing of a whole area, without a site, and its scale; see `site_map`."""
    frame = _frame(area, scale=map_scale(area))
    return frame.drawing(basemap, shades, []), frame.scale


def _frame(about: BaseGeometry, *, scale: int) -> _Frame:
    west, south, east, north = about.bounds
    wide, high = WIDTH_MM * scale / 1000, HEIGHT_MM * scale / 1000
    return _Frame((west + east - wide) / 2, (south + north + high) / 2, scale)


@dataclass(frozen=True, slots=True)
class _Frame:
    """A map's window: its north-west corner in metres, and its scale."""

    left: float
    top: float
    scale: int

    @property
    def wide(self) -> float:
        """Metres across."""
        return WIDTH_MM * self.scale / 1000

    @property
    def high(self) -> float:
        """Metres from top to bottom."""
        return HEIGHT_MM * self.scale / 1000

    @property
    def unit(self) -> float:
        """Metres that are a quarter of a millimetre in print."""
        return self.scale / 4000

    @property
    def view(self) -> BaseGeometry:
        """All that is in the window."""
        return shapely.box(self.left, self.top - self.high, self.left + self.wide, self.top)

    def drawing(self, basemap: BaseMap, shades: Sequence[Shade], over: Sequence[str]) -> str:
        """Lay the ground, the squares, the streets and `over` into one picture."""
        size = f'width="{self.wide:.1f}" height="{self.high:.1f}"'
        parts = [f'<rect {size} fill="{GROUND}"/>']
        parts += [
            self.path(shape, fill=WATER if shape.area else "none", line=WATER, pen=2)
            for shape in basemap.water
        ]
        parts += [self.path(shade.shape, fill=shade.fill, line=INK, pen=1) for shade in shades]
        thick = 3 if self.scale <= _STREETS_THIN else 1
        parts += [self.path(street.lines, line=STREETS, pen=thick) for street in basemap.streets]
        parts += [*over, self._bar(), self._north()]
        frame = f'<rect {size} fill="none" stroke="{INK}" stroke-width="{self.unit:.2f}"/>'
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH_MM}mm" '
            f'height="{HEIGHT_MM}mm" viewBox="0 0 {self.wide:.1f} {self.high:.1f}" '
            f"font-family={quoteattr(_FONT)}>{''.join(parts)}{frame}</svg>"
        )

    def path(
        self,
        shape: BaseGeometry,
        *,
        line: str,
        pen: float,
        fill: str = "none",
        dashed: bool = False,
    ) -> str:
        """Draw a shape; nothing of it outside the window."""
        inside = shapely.intersection(shape, self.view)
        strokes = []
        for part in shapely.get_parts(inside):
            for ring in shapely.get_rings(part) if part.geom_type == "Polygon" else [part]:
                points = shapely.get_coordinates(ring)
                if len(points) > 1:
                    places = (f"{x - self.left:.1f} {self.top - y:.1f}" for x, y in points)
                    strokes.append("M" + "L".join(places))
        if not strokes:
            return ""
        dashes = f' stroke-dasharray="{6 * self.unit:.1f}"' if dashed else ""
        return (
            f'<path d="{"".join(strokes)}" fill="{fill}" fill-rule="evenodd" stroke="{line}" '
            f'stroke-width="{pen * self.unit:.2f}"{dashes}/>'
        )

    def label(self, shade: Shade) -> str:
        """Write a square's number in the part of it that is seen."""
        seen = shapely.intersection(shade.shape, self.view)
        if seen.is_empty or not shade.label:
            return ""
        middle = shapely.point_on_surface(seen)
        size = 14 * self.unit
        halo = f'stroke="#ffffff" stroke-width="{size / 3:.2f}" stroke-linejoin="round" '
        x, y = middle.x - self.left, self.top - middle.y
        return self._text(x, y, shade.label, 14, f'fill="{INK}" {halo}paint-order="stroke"')

    def mark(self, mark: Mark) -> str:
        """Draw an exact place as a disc with its sign."""
        if not shapely.contains_xy(self.view, mark.easting, mark.northing):
            return ""
        x, y = mark.easting - self.left, self.top - mark.northing
        disc = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{7 * self.unit:.1f}" fill="{INK}"/>'
        return disc + self._text(x, y, mark.sign, 9, 'fill="#ffffff"')

    def _text(self, x: float, y: float, words: str, size: float, looks: str) -> str:
        high = size * self.unit
        return (
            f'<text x="{x:.1f}" y="{y + high / 3:.1f}" font-size="{high:.1f}" '
            f'text-anchor="middle" {looks}>{escape(words)}</text>'
        )

    def _bar(self) -> str:
        """Draw a bar of a round number of metres, at most a quarter of the map long."""
        length = max(step for step in _BARS_M if step <= self.wide / 4)
        x, y, unit = 12 * self.unit, self.high - 14 * self.unit, self.unit
        ink = f'fill="{INK}"'
        return (
            f'<rect x="{x - 6 * unit:.1f}" y="{y - 22 * unit:.1f}" '
            f'width="{length + 12 * unit:.1f}" height="{30 * unit:.1f}" fill="#ffffff" '
            f'fill-opacity="0.85"/><path d="M{x:.1f} {y - 5 * unit:.1f}V{y:.1f}H{x + length:.1f}'
            f'V{y - 5 * unit:.1f}" fill="none" stroke="{INK}" stroke-width="{2 * unit:.2f}"/>'
        ) + self._text(
            x + length / 2, y - 11 * unit, _("%(metres)s m", metres=number(length)), 11, ink
        )

    def _north(self) -> str:
        """Draw an arrow that points up, as the map does."""
        unit = self.unit
        x, y = self.wide - 28 * unit, 36 * unit
        return (
            f'<circle cx="{x:.1f}" cy="{y - 8 * unit:.1f}" r="{23 * unit:.1f}" fill="#ffffff" '
            f'fill-opacity="0.85"/><path d="M{x:.1f} {y:.1f}V{y - 24 * unit:.1f}'
            f"M{x - 5 * unit:.1f} {y - 17 * unit:.1f}L{x:.1f} {y - 24 * unit:.1f}"
            f'L{x + 5 * unit:.1f} {y - 17 * unit:.1f}" fill="none" stroke="{INK}" '
            f'stroke-width="{2 * unit:.2f}"/>'
        ) + self._text(x, y + 6 * unit, _("N"), 11, f'fill="{INK}"')
