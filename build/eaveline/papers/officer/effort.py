"""How much was watched near a place, and when last."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd
import shapely
from shapely.geometry.base import BaseGeometry

from eaveline.messages import day, ngettext, number, together
from eaveline.messages import gettext as _
from eaveline.private.intake.crossref import streets_named
from eaveline.private.planning.screen import BAND_EDGES_M
from eaveline.private.register import Register
from eaveline.public.maps.basemap import BaseMap

FindStreet = Callable[[str], str | None]
"""Returns the slug of the street that a text names for certain, or None."""


@dataclass(frozen=True, repr=False)
class Effort:
    """Watches near a site.

    Attributes
    ----------
    watches
        date, valid_minutes (of looking), distance_m; one row for each watch whose street or
        place is known.
    """

    watches: pd.DataFrame

    def __repr__(self) -> str:
        """Show the number only."""
        return f"<Effort: {len(self.watches)} watches>"

    def words(self) -> list[str]:
        """Return what was done within each distance, and when last."""
        lines = []
        for edge_m in BAND_EDGES_M[1:3]:
            near = self.watches[(self.watches["distance_m"] <= edge_m).to_numpy()]
            valid = near[(near["valid_minutes"] > 0).to_numpy()]
            if valid.empty:
                lines.append(
                    _(
                        "Within %(metres)s m: no watch in fit weather and season is on record. No "
                        "inference of absence can be drawn.",
                        metres=number(edge_m, decimals=0),
                    )
                )
                continue
            lines.append(
                ngettext(
                    "Within %(metres)s m: %(num)s watch, %(minutes)s minutes of valid watching, in "
                    "%(years)s; the last on %(date)s.",
                    "Within %(metres)s m: %(num)s watches, %(minutes)s minutes of valid watching, "
                    "in %(years)s; the last on %(date)s.",
                    len(valid),
                    metres=number(edge_m, decimals=0),
                    minutes=number(valid["valid_minutes"].sum(), decimals=0),
                    years=together(str(year) for year in sorted(set(valid["date"].dt.year))),
                    date=day(valid["date"].max().date()),
                )
            )
        return lines


class WatchFinder:
    """Finds watches near a site; a watch of several streets lies along all of them."""

    def __init__(self, register: Register, basemap: BaseMap, find_street: FindStreet) -> None:
        """Lay every watch along its streets, or at its place."""
        lines = {street.slug: street.lines for street in basemap.streets}
        watches = register.watches
        shapes: list[BaseGeometry | None] = []
        for text, easting, northing in zip(
            watches["streets"], watches["easting"], watches["northing"], strict=True
        ):
            slugs = streets_named(text, find_street) if isinstance(text, str) else []
            parts: list[BaseGeometry] = [lines[slug] for slug in slugs if slug in lines]
            if np.isfinite(easting):
                parts = [shapely.Point(easting, northing)]
            shapes.append(shapely.union_all(parts) if parts else None)
        self._shapes = np.array(shapes, dtype=object)
        self._watches = watches[["date", "valid_minutes"]]

    def near(self, shape: BaseGeometry) -> Effort:
        """Return every watch with its distance from a place, missing where it is not known."""
        distance_m = shapely.distance(shape, self._shapes) if len(self._shapes) else np.empty(0)
        return Effort(self._watches.assign(distance_m=distance_m))
