"""A stranger with the published release and the public list of addresses."""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from red_team.deduction import smallest_set

SAME_ROOF_M = 2.0


@dataclass(frozen=True)
class House:
    """A building of the address list: streets it has addresses in, and its place in metres."""

    street: str
    number: str
    east: float
    north: float

    @property
    def square(self) -> tuple[int, int]:
        """Its 100 m square."""
        return int(self.east // 100), int(self.north // 100)


def houses_of(folder: Path) -> list[House]:
    """Read a town's address list; addresses at one point are one building."""
    with (folder / "survey_data/map/addresses.csv").open(encoding="utf-8", newline="") as file:
        rows = [
            House(row["street"], row["house"], float(row["easting"]), float(row["northing"]))
            for row in csv.DictReader(file)
        ]
    buildings: dict[tuple[int, int], House] = {}
    for house in rows:
        buildings.setdefault(
            (round(house.east / SAME_ROOF_M), round(house.north / SAME_ROOF_M)), house
        )
    return list(buildings.values())


@dataclass(frozen=True)
class Layer:
    """One count of nests over the town: bands by region, and the town's total."""

    name: str
    lows: dict[str, int]
    highs: dict[str, int]
    total: int


@dataclass(frozen=True)
class Stranger:
    """What the stranger has."""

    release: dict[str, Any]
    houses: list[House]

    @property
    def region_of(self) -> dict[tuple[int, int], str]:
        """The region of each square."""
        return {
            (cell[0], cell[1]): region["id"]
            for region in self.release["regions"]
            for cell in region["cells"]
        }

    def sizes(self) -> dict[str, int]:
        """Count the unlisted buildings of each region in the address list."""
        region_of = self.region_of
        found = Counter(
            region_of[house.square] for house in self.houses if house.square in region_of
        )
        shown = Counter(
            region_of[tuple(cell)]
            for cell in {(*site["cell"], site["name"]) for site in self.release["open_sites"]}
            for cell in [cell[:2]]
            if tuple(cell) in region_of
        )
        return {
            region["id"]: found[region["id"]] - shown[region["id"]]
            for region in self.release["regions"]
        }

    def highest(self, size: int) -> int:
        """Return the highest count the published rule lets through in a region of this size."""
        rule = self.release["rule"]
        limit = min(size // int(rule["most_share"]), size - int(rule["minimum_premises"]) + 1)
        return max(limit, 0)

    def layers(self) -> Iterator[Layer]:
        """Yield every count of nests that is published."""
        sizes = self.sizes()
        totals = {season["season"]: season for season in self.release["town_seasons"]}
        totals["all"] = self.release["town_figures"]
        for species, by_season in self.release["layers"]["nest_sites"].items():
            for season, figures in by_season.items():
                yield Layer(
                    f"{species} {season}",
                    {region: figure["low"] or 0 for region, figure in figures.items()},
                    {
                        region: min(figure["high"] or sizes[region], self.highest(sizes[region]))
                        if figure["low"]
                        else 0
                        for region, figure in figures.items()
                    },
                    totals[season]["nest_sites_at_least"][species],
                )

    def fewest(self) -> int:
        """Return the size of the smallest set of houses that must hold a nest, over all layers."""
        sizes = self.sizes()
        return min(
            smallest_set(sizes, layer.lows, layer.highs, layer.total) for layer in self.layers()
        )

    def in_regions(self, regions: set[str]) -> list[House]:
        """Return the houses of some regions."""
        region_of = self.region_of
        return [house for house in self.houses if region_of.get(house.square) in regions]

    def changed_since(self, before: dict[str, Any]) -> list[House]:
        """Return the houses of regions with other figures than before; all if there are none."""
        old, new = _figures(before), _figures(self.release)
        changed = {
            region
            for name in old | new
            for region in old.get(name, {}) | new.get(name, {})
            if old.get(name, {}).get(region) != new.get(name, {}).get(region)
        }
        return self.in_regions(changed) if changed else self.houses


def _figures(release: dict[str, Any]) -> dict[tuple[str, str], dict[str, Any]]:
    """Return every layer's figures by region, by layer and season."""
    layers = release["layers"]
    named = layers["nest_sites"] | {
        name: layers[name] for name in ("screaming_parties", "boxes", "watching")
    }
    return {
        (name, season): figures
        for name, by_season in named.items()
        for season, figures in by_season.items()
    }
