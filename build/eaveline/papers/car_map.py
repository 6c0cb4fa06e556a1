"""Draws the map for the car: the streets, and where to stop, in order."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from markupsafe import Markup, escape

from eaveline.messages import gettext as _
from eaveline.private.offers.watch_first import Line
from eaveline.public.maps.drawing import MARGIN_M, path, whole_window

_NAMED_M = 160.0
"""Streets that come so near a stop are named."""
_LETTER = 11
_LABEL_ROOM = 24


def car_map(streets: Sequence[Line], stops: Sequence[tuple[str, float, float]]) -> Markup:
    """Return an ``svg`` element, north up; nothing if there is nowhere to stop.

    Parameters
    ----------
    streets
        Every street of the town.
    stops
        Label, easting and northing (metres) of each stop.
    """
    if not stops:
        return Markup("")
    spots = np.array([stop[1:] for stop in stops])
    (west, south), (east, north) = spots.min(axis=0), spots.max(axis=0)
    edge = 2 * MARGIN_M + 100
    crop = whole_window(west - edge, south - edge, east + edge, north + edge)
    window = shapely.box(*crop[:4])
    width, height = crop.size
    seen = [street for street in streets if shapely.intersects(street.lines, window)]
    lines = [
        part
        for street in seen
        for part in shapely.get_parts(shapely.clip_by_rect(street.lines, *crop[:4]))
        if part.geom_type == "LineString"
    ]
    drawn = path(lines, crop, closed=False, fill="none", stroke="#888", stroke_width=3)
    points = shapely.points(spots)
    names = []
    for street in seen:
        if shapely.distance(street.lines, points).min() > _NAMED_M:
            continue
        place = shapely.line_interpolate_point(
            max(
                shapely.get_parts(shapely.intersection(street.lines, window)),
                key=lambda part: part.length,
            ),
            0.5,
            normalized=True,
        )
        x, y = crop.place(place.x, place.y)
        names.append(f'<text x="{x}" y="{y - 4}">{escape(street.name)}</text>')
    dots = []
    labels: list[tuple[int, int, list[str]]] = []
    for label, easting, northing in stops:
        x, y = crop.place(easting, northing)
        dots.append(f'<circle cx="{x}" cy="{y}" r="4" fill="#fff" stroke="#000"/>')
        # Next-door neighbours share a label, for two would cover each other.
        near = [held for at, up, held in labels if max(abs(at - x), abs(up - y)) < _LABEL_ROOM]
        if near:
            near[0].append(label)
        else:
            labels.append((x, y, [label]))
    marks = [
        f'<text x="{x + 7}" y="{y + 16}" font-weight="700" font-size="{_LETTER + 4}" '
        f'stroke="#fff" stroke-width="4" paint-order="stroke">{escape(", ".join(held))}</text>'
        for x, y, held in labels
    ]
    about = _("Map of the doors to knock on, numbered as in the list")
    return Markup(  # noqa: S704 - numbers of ours, and texts escaped above
        f'<svg class="car" viewBox="0 0 {width} {height}" role="img" '
        f'aria-label="{escape(about)}" '
        f'font-family="sans-serif" font-size="{_LETTER}">{drawn}'
        f'<g fill="#333" text-anchor="middle">{"".join(names)}</g>'
        f"{''.join(dots)}{''.join(marks)}</svg>"
    )
