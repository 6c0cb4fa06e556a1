"""Towns to attack: the small town with a corner house, a lone farm and a block of flats added."""

from __future__ import annotations

import csv
import datetime as dt
import json
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from eaveline import pipeline
from eaveline.config import load_config
from eaveline.gazetteer import load_gazetteer
from eaveline.protect.remembered.joined_places import Joins
from eaveline.public.records import release_to_json
from red_team.stranger import House, Stranger, houses_of
from small_town import NEST_SITES, SIGHTINGS, SOUTH, WEST, write_town

K = 10
CORNER = House("Mill Lane", "201", WEST + 95.0, SOUTH + 250.0)
"""The only house of its street in a square full of Albert Road's."""
FARM = House("Church Street", "301", WEST + 550.0, SOUTH + 450.0)
"""Alone in its square."""
BLOCK = House("Church Street", "401", WEST + 450.0, SOUTH + 450.0)
"""One building of twelve flats."""
FLATS = 12
SOMETHING = SIGHTINGS + "3/6/2026,21:40,TG 5035 4005,,,swift,screaming party,6,Ann Poole,\n"
"""A record that is there in every scene, so that each has a release."""


@dataclass(frozen=True)
class Scene:
    """A town as its group has it, and as a stranger sees it."""

    folder: Path
    stranger: Stranger

    def house(self, street: str, number: str) -> House:
        """Return a house of the address list."""
        return next(h for h in self.stranger.houses if (h.street, h.number) == (street, number))


def nest(house: House, *, season: int = 2026, status: str = "in use", share: str = "") -> str:
    """Return a row about a nest."""
    seen = "young" if status == "in use" else ""
    return (
        f'"{house.street} {house.number}",{house.street},"{house.number}",,swift,{season},'
        f"{status},{seen},{share},Ann Poole\n"
    )


def scene(
    folder: Path,
    nests: Iterable[str] = (),
    *,
    more: dict[str, str] | None = None,
    houses: Iterable[House] = (),
    only: Iterable[House] | None = None,
) -> Scene:
    """Write a town and release it; in a folder that holds one, this is its next release.

    Parameters
    ----------
    nests
        Rows as `nest` makes them.
    more
        Further record files.
    houses
        Further rows of the address list.
    only
        The whole address list instead, if it is given.
    """
    files = {"sightings/a.csv": SOMETHING, "nest_sites/a.csv": NEST_SITES + "".join(nests)}
    write_town(folder, files | (more or {}))
    flats = [
        House(BLOCK.street, f"Flat {n}, {BLOCK.number}", BLOCK.east, BLOCK.north)
        for n in range(1, FLATS + 1)
    ]
    with (folder / "survey_data/map/addresses.csv").open("a", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows(
            (h.street, h.number, h.east, h.north) for h in (CORNER, FARM, *flats, *houses)
        )
    if only is not None:
        path = folder / "survey_data/map/addresses.csv"
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(("street", "house", "easting", "northing"))
            writer.writerows((h.street, h.number, h.east, h.north) for h in only)
    return Scene(folder, Stranger(release_of(folder), houses_of(folder)))


def release_of(folder: Path) -> dict[str, Any]:
    """Release a town, as data/release.json holds it, and leave it where a site would have it.

    A later release of the same folder takes its regions from there, and the buildings that
    records were about from what a build remembers.
    """
    config = load_config(folder)
    town = load_gazetteer(folder, config)
    intake = pipeline.take_in_town(folder, town, today=dt.date(2026, 11, 25))
    joins = Joins(town.assign_building, town.premises)
    register, _ = pipeline.merge_town(intake, town, config, assign_building=joins.assign_building)
    release, _ = pipeline.protect_town(register, town, config)
    text = release_to_json(release)
    data = folder / "site" / "data"
    data.mkdir(parents=True, exist_ok=True)
    (data / "release.json").write_text(text, encoding="utf-8")
    town.remember(folder, register, joins)
    found: dict[str, Any] = json.loads(text)
    return found
