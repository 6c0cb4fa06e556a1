"""A town of one long road, large enough for four districts, with boxes in each."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from small_town import TOWN_TOML, WEST, write_records

K = 5
SOUTH = 340_000
HOUSES = 80
"""Houses in each square of the road."""
SQUARES = 188
"""Four districts of 47 squares, each of 3,760 premises: 3,750 is the least at this minimum."""
QUARTER = SQUARES // 4
HAMLET = 7
"""Houses beyond the east end, in the square after the one that is left empty."""
STREET = "Long Road"


@dataclass(frozen=True)
class Box:
    """A house with a box: the square along the road, the house within it, and what was found."""

    square: int
    house: int
    used: bool

    @property
    def number(self) -> int:
        """Its number in the road."""
        return self.square * HOUSES + self.house + 1

    @property
    def part(self) -> int:
        """The quarter of the road, 0 to 3; 4 is the hamlet."""
        return self.square // QUARTER


def write_long_town(
    folder: Path,
    boxes: Iterable[Box],
    *,
    seasons: Iterable[int],
    squares: int = SQUARES,
    standing: Mapping[int, int],
) -> None:
    """Write the town; in a folder that holds a release, this is its next one.

    Parameters
    ----------
    seasons
        In each of them every box was looked into on one day.
    squares
        How many the boundary holds.
    standing
        How many houses a square has, where not `HOUSES`.
    """
    map_folder = folder / "survey_data" / "map"
    map_folder.mkdir(parents=True, exist_ok=True)
    (folder / "survey_data" / "town.toml").write_text(
        TOWN_TOML.split("[[public_buildings]]", maxsplit=1)[0]
        + f"\n[privacy]\nminimum_premises = {K}\n",
        encoding="utf-8",
    )
    east = WEST + 100 * squares
    road = [[WEST, SOUTH + 50], [WEST + 100 * (SQUARES + 2), SOUTH + 50]]
    ring = [[WEST, SOUTH], [east, SOUTH], [east, SOUTH + 100], [WEST, SOUTH + 100], [WEST, SOUTH]]
    for name, geometry in (
        ("streets", {"type": "LineString", "coordinates": road}),
        ("boundary", {"type": "Polygon", "coordinates": [ring]}),
    ):
        text = {
            "type": "FeatureCollection",
            "crs": {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::27700"}},
            "features": [{"type": "Feature", "properties": {"name": STREET}, "geometry": geometry}],
        }
        (map_folder / f"{name}.geojson").write_text(json.dumps(text), encoding="utf-8")
    rows = [
        f"{STREET},{square * HOUSES + n + 1},{WEST + 100 * square + 5 + 10 * (n % 10)},"
        f"{SOUTH + 5 + 12 * (n // 10)}\n"
        for square in range(SQUARES + 2)
        for n in range(standing.get(square, HOUSES if square < SQUARES else 0))
    ]
    (map_folder / "addresses.csv").write_text(
        "street,house,easting,northing\n" + "".join(rows), encoding="utf-8"
    )
    all_boxes = list(boxes)
    write_records(
        folder,
        {
            "boxes/a.csv": "box,street,house,fixed_on\n"
            + "".join(f"B{box.number},{STREET},{box.number},1/3/2020\n" for box in all_boxes),
            "checks/a.csv": "box,date,seen\n"
            + "".join(
                f"B{box.number},1/7/{season},{'swift' if box.used else 'empty'}\n"
                for season in seasons
                for box in all_boxes
            ),
        },
    )
