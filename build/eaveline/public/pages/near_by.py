"""What lies near a street: other streets in its squares, and the nearest square with swifts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial import KDTree

from eaveline.public.maps.layers import NONE, MapLayer, region_number, steps

if TYPE_CHECKING:
    from eaveline.public.pages.site_views import StreetView
    from eaveline.public.records import PublicRelease

_MOST_STREETS = 8


@dataclass(frozen=True, slots=True)
class NearestSquare:
    """The nearest square with swift nest sites, as released."""

    number: str
    joined: bool
    """Whether it is a group of squares."""
    distance_m: int
    """Between the middles of two cells, in whole cells' steps."""


class NearBy:
    """Looks around streets; everything comes from the release.

    Parameters
    ----------
    release
        The public figures.
    streets
        Every street that has a page.
    """

    def __init__(self, release: PublicRelease, streets: Iterable[StreetView]) -> None:
        """Sort the streets by square, and the squares with swifts by place."""
        self._release = release
        self._cells = {region.id: np.array(region.cells) for region in release.regions}
        self._by_square: dict[str, list[StreetView]] = {}
        for street in streets:
            for region_id in street.regions:
                self._by_square.setdefault(region_id, []).append(street)
        found = steps(release, MapLayer.SWIFT_NESTS)
        self._owner = [
            region.id for region in release.regions if found[region.id] > NONE for _ in region.cells
        ]
        here = [self._cells[region_id] for region_id in dict.fromkeys(self._owner)]
        self._tree = KDTree(np.concatenate(here)) if here else None

    def streets(self, street: StreetView) -> tuple[StreetView, ...]:
        """Return other streets that share squares with this one, those that share most first."""
        shared: Counter[StreetView] = Counter(
            other
            for region_id in street.regions
            for other in self._by_square[region_id]
            if other.slug != street.slug
        )
        ordered = sorted(shared, key=lambda other: (-shared[other], other.slug))
        return tuple(ordered[:_MOST_STREETS])

    def nearest_swifts(self, street: StreetView) -> NearestSquare | None:
        """Return the nearest square with swift nest sites.

        None if a square of the street has some itself, if no square has any, or if the street
        lies outside the squares.
        """
        if street.found or self._tree is None or not street.regions:
            return None
        cells = np.concatenate([self._cells[region_id] for region_id in street.regions])
        found = self._tree.query(cells)
        away, which = np.asarray(found[0]), np.asarray(found[1])
        nearest = int(np.lexsort((which, away))[0])
        owner = self._owner[int(which[nearest])]
        size_m = self._release.rule.cell_size_m
        return NearestSquare(
            number=region_number(owner),
            joined=len(self._cells[owner]) > 1,
            distance_m=int(max(1, round(float(away[nearest])))) * size_m,
        )
