"""A town of four streets, small enough to reason about and to build in a moment.

It is invented and lies on the open sea, north-east of the demo town.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

WEST, SOUTH = 650_000, 340_000
STREETS = {
    "Albert Road": ((50, 20), (50, 480)),
    "Mill Lane": ((150, 20), (150, 480)),
    "St Anne's Terrace": ((250, 20), (250, 480)),
    "Church Street": ((20, 50), (580, 50)),
}
SPACING_M = 8
TOWN_TOML = """
[town]
name = "Little Ottersley"
nation = "England"
centre = "TG 502 402"
group = "Little Ottersley Swift Group"
email = "birds@little-ottersley.example"
invented = true

[[public_buildings]]
name = "The Reading Room"
street = "Church Street"
house = "1"
"""

SIGHTINGS = "date,time,grid_ref,street,house,species,behaviour,birds,seen_by,notes\n"
NEST_SITES = "site,street,house,grid_ref,species,season,status,behaviour,share,seen_by\n"
BOXES = "box,street,house,fixed_on,share,notes\n"
CHECKS = "box,date,seen,checked_by\n"
WATCHES = "date,start,end,streets,weather,watchers,most_birds\n"


def houses() -> list[tuple[str, int, int, int]]:
    """Return street, number, easting and northing of every house: odd on the left."""
    found = []
    for name, ((x0, y0), (x1, y1)) in STREETS.items():
        along_y = x0 == x1
        length = (y1 - y0) if along_y else (x1 - x0)
        for place in range(length // SPACING_M):
            for side in (-1, 1):
                step = place * SPACING_M
                x = x0 + side * 9 if along_y else x0 + step
                y = y0 + step if along_y else y0 + side * 9
                number = 2 * place + (1 if side < 0 else 2)
                found.append((name, number, WEST + x, SOUTH + y))
    return found


def _geojson(features: list[dict[str, object]]) -> str:
    crs = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::27700"}}
    return json.dumps({"type": "FeatureCollection", "crs": crs, "features": features})


def write_map(folder: Path) -> None:
    """Write town.toml and the map folder."""
    map_folder = folder / "survey_data" / "map"
    map_folder.mkdir(parents=True, exist_ok=True)
    (folder / "survey_data" / "town.toml").write_text(TOWN_TOML, encoding="utf-8")
    lines: list[dict[str, object]] = [
        {
            "type": "Feature",
            "properties": {"name": name},
            "geometry": {
                "type": "LineString",
                "coordinates": [[WEST + x, SOUTH + y] for x, y in ends],
            },
        }
        for name, ends in STREETS.items()
    ]
    (map_folder / "streets.geojson").write_text(_geojson(lines), encoding="utf-8")
    ring = [[0, 0], [600, 0], [600, 500], [0, 500], [0, 0]]
    boundary: dict[str, object] = {
        "type": "Feature",
        "properties": {},
        "geometry": {
            "type": "Polygon",
            "coordinates": [[[WEST + x, SOUTH + y] for x, y in ring]],
        },
    }
    (map_folder / "boundary.geojson").write_text(_geojson([boundary]), encoding="utf-8")
    rows = "".join(f"{street},{house},{x},{y}\n" for street, house, x, y in houses())
    (map_folder / "addresses.csv").write_text(
        "street,house,easting,northing\n" + rows, encoding="utf-8"
    )


def write_records(folder: Path, files: Mapping[str, str]) -> None:
    """Write record files by their names below survey_data/, such as ``boxes/a.csv``."""
    for name, text in files.items():
        path = folder / "survey_data" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")


def ordinary_records() -> dict[str, str]:
    """Return a summer's records of every kind, all of them usable."""
    boxes = "".join(
        f"B{n},Mill Lane,{n},1/3/2024,{'yes' if n == 1 else ''},\n" for n in range(1, 13)
    )
    checks = "".join(
        f"B{n},1/7/{year},{'swift' if n % 4 == 0 else 'empty'},Ann Poole\n"
        for n in range(1, 13)
        for year in (2025, 2026)
    )
    return {
        "sightings/ann.csv": SIGHTINGS
        + "3/6/2026,21:40,TG 5005 4020,,,swift,screaming party,6,Ann Poole,\n"
        + "10/6/2025,21:30,TG 5025 4030,,,swift,screaming party,4,Ann Poole,\n"
        + "4/6/2026,21:10,,Albert Road,21,swift,entering or leaving a nest,1,Ann Poole,\n"
        + "5/6/2026,10:10,,Church Street,60,house martin,visiting wall or eaves,2,Ann Poole,\n",
        "sightings/bob.csv": SIGHTINGS
        + "3/6/2026,21:43,TG 5006 4021,,,swift,screaming party,8,Bob Tarn,\n",
        "nest_sites/ann.csv": NEST_SITES
        + "A21,Albert Road,21,,swift,2025,in use,young,,Ann Poole\n"
        + "A21,,,,swift,2026,in use,,,Ann Poole\n"
        + "M7,Mill Lane,7,,swift,2025,in use,entering or leaving a nest,,Bob Tarn\n"
        + "M7,,,,swift,2026,lost,,,Bob Tarn\n"
        + "C1,Church Street,1,,swift,2025,in use,young,yes,Bob Tarn\n",
        "boxes/list.csv": BOXES + boxes,
        "checks/list.csv": CHECKS + checks,
        "watches/bob.csv": WATCHES
        + "20/6/2026,20:30,22:00,Albert Road,dry,Bob Tarn,0\n"
        + "27/6/2026,20:30,22:00,Albert Road,dry,Bob Tarn,0\n"
        + "21/6/2026,20:30,22:00,Mill Lane; Church Street,dry,Ann Poole,3\n"
        + "4/7/2026,20:30,22:00,Mill Lane,rain,Ann Poole,0\n",
    }


def write_town(folder: Path, files: Mapping[str, str] | None = None) -> Path:
    """Write the whole town and return its folder."""
    write_map(folder)
    write_records(folder, ordinary_records() if files is None else files)
    content = folder / "content" / "pages"
    content.mkdir(parents=True, exist_ok=True)
    (content / "about.md").write_text(
        "Title: About the group\nSlug: about\nSummary: Who we are.\n\nWe look out for swifts.\n",
        encoding="utf-8",
    )
    return folder
