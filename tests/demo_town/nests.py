"""The true nest sites: where swifts and house martins nested, season by season."""

from __future__ import annotations

import math
import random
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Literal

from demo_town.entries import SEASONS
from demo_town.geography import Building, town
from demo_town.streams import stream

Species = Literal["swift", "house martin"]
State = Literal["in use", "quiet this season", "lost", "blocked"]

SWIFT_COLONIES: tuple[tuple[str, float, int], ...] = (
    ("Albert Road", 0.30, 8),
    ("Alma Street", 0.62, 7),
    ("Chandlers Row", 0.50, 7),
    ("Gladstone Street", 0.35, 5),
    ("St Anne's Terrace", 0.55, 5),
    ("High Street", 0.62, 4),
    ("Mill Road", 0.45, 2),
    ("Maltings Road", 0.40, 2),
)
"""Street, how far along it, and how many houses nearby hold swifts."""

MARTIN_COLONIES: tuple[tuple[str, float, int], ...] = (
    ("Lapwing Drive", 0.45, 7),
    ("Larkfield Way", 0.60, 4),
    ("Festival Road", 0.50, 4),
    ("King's Drive", 0.40, 4),
    ("Osier Way", 0.55, 3),
    ("Southgate", 0.20, 2),
)

SINGLE_SITES: tuple[tuple[Species, str, str], ...] = (
    ("swift", "Church Street", "St Anne's Church"),
    ("swift", "Market Place", "1"),
    ("swift", "Station Road", "Station House"),
    ("swift", "Mill Lane", "The Old Mill"),
    ("house martin", "Fen Lane", "Fen Farm"),
    ("house martin", "Marsh Road", "Marsh Farm"),
)


@dataclass(frozen=True)
class NestSite:
    """One building with nests of one species."""

    id: str
    species: Species
    building: Building
    position: str
    history: dict[int, State]
    """From the first season anybody knew of it to the last."""
    nests: dict[int, int]
    """How many nests were used, in the seasons it was in use."""
    share: bool
    """True if the owner agrees to be shown on the map."""
    lost_cause: str | None
    """What became of a lost site; None where nobody knows or asked."""

    def active(self, season: int) -> bool:
        """Return whether birds nested there that season."""
        return self.history.get(season) == "in use"


@cache
def nest_sites() -> tuple[NestSite, ...]:
    """Return the seventy nest sites."""
    sites = []
    for number, (species, building) in enumerate(_chosen(), start=1):
        rng = stream("nest", number)
        sites.append(_site(f"S{number:02d}", species, building, rng))
    return tuple(sites)


def _chosen() -> Iterable[tuple[Species, Building]]:
    taken: set[tuple[str, str]] = set()
    for species, street, house in SINGLE_SITES:
        taken.add((street, house))
        yield species, town().building(street, house)
    for colonies, species in ((SWIFT_COLONIES, "swift"), (MARTIN_COLONIES, "house martin")):
        for street, fraction, count in colonies:
            for building in _colony(street, fraction, count, taken):
                taken.add(building.address)
                yield species, building


def _colony(
    street: str, fraction: float, count: int, taken: set[tuple[str, str]]
) -> list[Building]:
    """Choose houses near one spot, not all side by side."""
    spot = town().streets[street].interpolate(fraction, normalized=True)
    near = [
        building
        for building in town().nearest(spot.x, spot.y, many=count * 4)
        if building.address not in taken and not building.house.startswith("Flat")
    ]
    rng = stream("colony", street)
    return sorted(rng.sample(near, count), key=lambda building: building.address)


def _site(site_id: str, species: Species, building: Building, rng: random.Random) -> NestSite:
    first = rng.choices(SEASONS[:-1], weights=(18, 8, 10, 9, 7, 6, 5))[0]
    history: dict[int, State] = {}
    state: State = "in use"
    for season in range(first, SEASONS[-1] + 1):
        history[season] = state
        if state == "lost":
            break
        draw = rng.random()
        if state == "blocked":
            state = "lost" if draw < 0.5 else "in use"
        elif draw < 0.035:
            state = "lost"
        elif draw < 0.055:
            state = "blocked"
        elif draw < (0.17 if state == "in use" else 0.55):
            state = "quiet this season"
        else:
            state = "in use"
    most = {"swift": (1, 1, 1, 2, 3), "house martin": (1, 2, 2, 3, 4, 6)}[species]
    if building.house == "St Anne's Church":
        most = (4, 5, 6)
    usual = rng.choice(most)
    nests = {
        season: max(1, usual + rng.choice((-1, 0, 0, 0, 1)))
        for season, value in history.items()
        if value == "in use"
    }
    public = building.address == ("Market Place", "1")
    return NestSite(
        id=site_id,
        species=species,
        building=building,
        position=rng.choice(POSITIONS[species]),
        history=history if not public else dict.fromkeys(history, "in use"),
        nests=nests if not public else dict.fromkeys(history, 2),
        share=public or building.house == "St Anne's Church" or rng.random() < 0.05,
        lost_cause=_lost_cause(site_id, species) if "lost" in history.values() else None,
    )


def _lost_cause(site_id: str, species: Species) -> str | None:
    causes = LOST_CAUSES[species]
    return stream("lost", site_id).choices(list(causes), weights=list(causes.values()))[0]


LOST_CAUSES: dict[Species, dict[str | None, int]] = {
    "swift": {"re-roofed": 5, "eaves closed": 3, "wall repaired": 2, "unknown": 1, None: 2},
    "house martin": {"netting": 2, "storm": 2, "eaves closed": 2, "unknown": 1, None: 2},
}
"""How often each cause takes a site; None where the keeper wrote nothing."""


POSITIONS: dict[Species, tuple[str, ...]] = {
    "swift": (
        "under eaves, front",
        "under eaves, back",
        "behind gutter, north end",
        "gable, above soffit",
        "under third tile from the left",
        "wall plate by downpipe",
        "gap by chimney",
    ),
    "house martin": (
        "under soffit, front",
        "gable apex",
        "under eaves, east side",
        "above the porch",
        "corner by garage",
    ),
}


def distance_to_active_m(x: float, y: float, species: Species, season: int) -> float:
    """Return the distance to the nearest site used that season, in metres."""
    return min(
        (
            math.hypot(site.building.easting - x, site.building.northing - y)
            for site in nest_sites()
            if site.species == species and site.active(season)
        ),
        default=math.inf,
    )
