"""What members wrote of owners who asked for boxes, and of doors they knocked on."""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Iterator

from demo_town.boxes import LOTS, Box, boxes
from demo_town.entries import LAST_DAY, Entry, Spot, Value
from demo_town.geography import Building, town
from demo_town.nests import SWIFT_COLONIES, nest_sites
from demo_town.roster import BY_KEY
from demo_town.streams import stream

HOUSEHOLDERS = (
    *("Aldermere", "Bramwithy", "Cattermoss", "Dunnisthorp", "Eaglesby", "Farthingale-Roe"),
    *("Grimlock", "Hollinmarsh", "Ickleby", "Jarrowden", "Kettlesing", "Larchmere"),
    *("Mundersley", "Netherpool", "Osgathorn", "Pellowfen", "Quillmoor", "Ravelsby"),
    *("Scatterby", "Thrumwick", "Underhythe", "Vennacott", "Wrangleton", "Yarrowby"),
)
"""Invented householders."""
TENURES = ("owner", "owner", "owner", "housing association", "private landlord", "council")
FIRST_OFFERS = 2022
"""Nobody wrote down offers before."""
SAID_NO, ASKED, PROMISED = 24, 30, 2
"""Doors that said no, owners who asked and wait, and those with boxes promised."""
REMARKS = (
    *("swifts in the roof as a child", "hears them every May", "saw our stall at the fete"),
    *("scaffold up till Easter", "wants a camera too", "next door has them"),
)


def request_entries() -> list[Entry]:
    """Return a row for each owner who asked, and for each offer."""
    return [*_accepted(), *_refused(), *_waiting()]


def _accepted() -> Iterator[Entry]:
    """Offers behind the boxes that hang; those on known buildings were arranged otherwise."""
    known = {(street, house) for street, house, *_ in LOTS}
    lots: dict[tuple[str, str], list[Box]] = {}
    for box in boxes():
        if box.fixed_on.year >= FIRST_OFFERS and box.building.address not in known:
            lots.setdefault(box.building.address, []).append(box)
    for address, hung in lots.items():
        rng = stream("offer", *address)
        first = hung[0]
        values: dict[str, Value] = {
            "offered_on": first.fixed_on - dt.timedelta(days=rng.randrange(10, 70)),
            "accepted": "yes",
            "boxes": len(hung),
            "facing": first.facing,
            "eaves_height_m": first.height_m,
        }
        writer = first.keeper if first.keeper != "lorrimarsh" else "tindersole"
        yield _entry(first.building, writer, values, rng)


def _refused() -> Iterator[Entry]:
    rng = stream("refused")
    for building in _free(rng, count=SAID_NO, near=0.8):
        season = rng.randrange(FIRST_OFFERS, LAST_DAY.year + 1)
        day = dt.date(season, 1, 8) + dt.timedelta(days=rng.randrange(100))
        values: dict[str, Value] = {"offered_on": day, "accepted": "no", "boxes": 3}
        writer = "teldane" if season >= BY_KEY["teldane"].years[0] and rng.random() < 0.3 else ""
        yield _entry(building, writer or "tindersole", values, rng)


def _waiting() -> Iterator[Entry]:
    """Owners who asked this year and last; two of them have been promised boxes."""
    rng = stream("asked")
    for number, building in enumerate(_free(rng, count=ASKED + PROMISED, near=0.6)):
        day = LAST_DAY - dt.timedelta(days=rng.randrange(4, 480))
        values: dict[str, Value] = {"asked_on": day, "boxes": rng.choice((None, 2, 2, 3))}
        writer = rng.choices(("tindersole", "owlerton", "teldane"), weights=(45, 35, 20))[0]
        if rng.random() < 0.5:
            values["eaves_height_m"] = round(rng.uniform(4.8, 7.2), 1)
            values["facing"] = rng.choice(("N", "NE", "E", "W", "NW"))
        if number < PROMISED:
            values |= {"promised": "yes", "boxes": 2 + number}
            writer = "tindersole"
        yield _entry(building, writer, values, rng)


def _free(rng: random.Random, *, count: int, near: float) -> list[Building]:
    """Choose houses without nests or boxes, a share of them near colonies."""
    taken = {site.building.address for site in nest_sites()}
    taken |= {box.building.address for box in boxes()}
    found: list[Building] = []
    while len(found) < count:
        building = rng.choice(town().buildings)
        if rng.random() < near:
            street, fraction, _ = rng.choice(SWIFT_COLONIES)
            spot = town().streets[street].interpolate(fraction, normalized=True)
            x, y = spot.x + rng.uniform(-180, 180), spot.y + rng.uniform(-180, 180)
            building = town().nearest(x, y)[0]
        if building.address not in taken and not building.house.startswith("Flat"):
            taken.add(building.address)
            found.append(building)
    return found


def _entry(building: Building, writer: str, values: dict[str, Value], rng: random.Random) -> Entry:
    title = rng.choice(("Mrs", "Mr", "Ms", "Dr"))
    told: dict[str, Value] = {
        "place": Spot(building.easting, building.northing, building, exact=True),
        "tenure": rng.choice(TENURES) if rng.random() < 0.6 else None,
        "contact": f"{title} {rng.choice(HOUSEHOLDERS)}" if rng.random() < 0.9 else None,
        "notes": rng.choice(REMARKS) if rng.random() < 0.3 else None,
    }
    return Entry("requests", writer, f"door-{building.street}-{building.house}", told | values)
