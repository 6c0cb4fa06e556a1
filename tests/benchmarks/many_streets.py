"""Draws the release of an invented city of many streets, to build a large site from.

The city is a chessboard on the open sea: every square has its figures, every street runs through
two squares. What it holds is random and seeded; its size is what matters.
"""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

import numpy as np

from eaveline.public.records import (
    BandedCount,
    Cell,
    EvidenceClass,
    Finding,
    Layers,
    Nation,
    PublicRelease,
    Region,
    Rule,
    Species,
    State,
    TownFigures,
    TownSeason,
    release_to_json,
)
from eaveline.public.site import SiteJob, default_theme
from eaveline.public.town import PublicTown

CELL_M = 100
WEST, SOUTH = 6_400, 3_300
"""Of the first cell, in cells."""
SEASONS = tuple(str(year) for year in range(2019, 2027))
BANDS = ((1, 2), (3, 5), (6, 10), (11, None))
SYLLABLES = ("al", "brack", "cor", "dun", "el", "fen", "gar", "hol", "ing", "kel", "lor", "mar")
KINDS = ("Road", "Street", "Lane", "Avenue", "Close")


def street_names(count: int) -> list[str]:
    """Return that many different street names."""
    names = []
    for number in range(count):
        rest, kind = divmod(number, len(KINDS))
        letters = []
        for _ in range(3):
            rest, syllable = divmod(rest, len(SYLLABLES))
            letters.append(SYLLABLES[syllable])
        names.append(f"{''.join(letters).title()} {KINDS[kind]}")
    return names


def write_city(folder: Path, *, streets: int, seed: int = 1) -> SiteJob:
    """Write a city's release and map, and return the job of building its site.

    Parameters
    ----------
    folder
        An existing folder; the site is to go to ``site`` in it.
    streets
        Their number; there are half as many squares, and each street runs through two.
    seed
        Of the figures.
    """
    side = int(np.ceil(np.sqrt(streets / 2)))
    cells = [Cell(WEST + i, SOUTH + j) for j in range(side) for i in range(side)]
    crossed: dict[int, list[str]] = {number: [] for number in range(len(cells))}
    lines = []
    for number, name in enumerate(street_names(streets)):
        first = number % (len(cells) - 1)
        across = 10 + 80 * (number // len(cells)) / max(streets // len(cells), 1)
        row, column = divmod(first, side)
        column = min(column, side - 2)
        slug = name.lower().replace(" ", "-")
        for square in (row * side + column, row * side + column + 1):
            crossed[square].append(slug)
        east, north = (WEST + column) * CELL_M, (SOUTH + row) * CELL_M
        lines.append((name, [[east + 20, north + across], [east + 180, north + across]]))
    regions = tuple(
        Region(id=f"R{number:05}", cells=(cell,), premises=20, streets=tuple(crossed[number]))
        for number, cell in enumerate(cells)
    )
    release = _release(regions, np.random.default_rng(seed))
    (folder / "release.json").write_text(release_to_json(release), encoding="utf-8")
    map_folder = folder / "map"
    map_folder.mkdir()
    _write_streets(map_folder / "streets.geojson", lines)
    return SiteJob(
        release=folder / "release.json",
        town=PublicTown(
            name="Farsands",
            nation=Nation.ENGLAND,
            centre="TG 50 30",
            group="Farsands Swift Group",
            email="birds@farsands.example",
            invented=True,
        ),
        map_folder=map_folder,
        content=folder / "content",
        theme=(default_theme(),),
        centre_m=((WEST + side / 2) * CELL_M, (SOUTH + side / 2) * CELL_M),
        out=folder / "site",
    )


def _release(regions: tuple[Region, ...], rng: np.random.Generator) -> PublicRelease:
    def findings() -> dict[str, Finding]:
        drawn = rng.integers(0, 6, size=len(regions))
        return {
            region.id: _finding(int(number)) for region, number in zip(regions, drawn, strict=True)
        }

    def counts() -> dict[str, BandedCount]:
        drawn = rng.integers(0, len(BANDS) + 1, size=len(regions))
        return {
            region.id: _count(int(number)) for region, number in zip(regions, drawn, strict=True)
        }

    every = (*SEASONS, "all")
    return PublicRelease(
        town="Farsands",
        made_on=dt.date(2026, 8, 14),
        crs="EPSG:27700",
        has_map=True,
        rule=Rule(
            minimum_premises=10,
            cell_size_m=CELL_M,
            bands=BANDS,
            hour_bands=BANDS,
            looked_hours=2,
        ),
        regions=regions,
        seasons=SEASONS,
        layers=Layers(
            nest_sites={species: {season: findings() for season in every} for species in Species},
            screaming_parties={season: findings() for season in every},
            boxes={season: counts() for season in every},
            watching={season: counts() for season in every},
        ),
        town_figures=TownFigures(
            records=100_000,
            premises=20 * len(regions),
            nest_sites_at_least={Species.SWIFT: 5_000, Species.HOUSE_MARTIN: 4_000},
            boxes_standing=900,
            hours_watched=8_000,
            screaming_parties=9_000,
        ),
        town_seasons=tuple(
            TownSeason(
                season=season,
                records=12_500,
                first_seen={Species.SWIFT: dt.date(int(season), 5, 3)},
                last_seen={Species.SWIFT: dt.date(int(season), 8, 14)},
                nest_sites_at_least={Species.SWIFT: 700, Species.HOUSE_MARTIN: 500},
                lost_at_least=3,
                screaming_parties=1_100,
                largest_party=60,
                boxes_standing=900,
                box_use=None,
                hours_watched=1_000,
            )
            for season in SEASONS
        ),
        open_sites=(),
    )


def _finding(drawn: int) -> Finding:
    if drawn < len(BANDS):
        low, high = BANDS[drawn]
        return Finding(state=State.SOME, low=low, high=high, surest=EvidenceClass.CONFIRMED)
    return Finding(state=State.LOOKED if drawn == len(BANDS) else State.NOT_LOOKED)


def _count(drawn: int) -> BandedCount:
    if drawn == len(BANDS):
        return BandedCount()
    low, high = BANDS[drawn]
    return BandedCount(low=low, high=high)


def _write_streets(path: Path, lines: list[tuple[str, list[list[float]]]]) -> None:
    data = {
        "type": "FeatureCollection",
        "crs": {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::27700"}},
        "features": [
            {
                "type": "Feature",
                "properties": {"name": name},
                "geometry": {"type": "LineString", "coordinates": line},
            }
            for name, line in lines
        ],
    }
    path.write_text(json.dumps(data), encoding="utf-8")
