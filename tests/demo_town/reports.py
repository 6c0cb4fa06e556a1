"""What members wrote of nest sites, boxes and checks."""

from __future__ import annotations

import datetime as dt
import random

from demo_town.boxes import Box, boxes
from demo_town.entries import SEASONS, Entry, Spot, Value
from demo_town.evenings import random_day
from demo_town.nests import NestSite, nest_sites
from demo_town.roster import BY_KEY, MEMBERS, Member
from demo_town.streams import stream

REGISTER_KEEPER, MARTIN_KEEPER = "wexcombe", "garthwick"
MARTIN_KEEPERS_SITES = 0.75
"""The share of martin sites that the martin keeper lists herself."""
CHECKED = 0.8
"""The share of boxes that get looked into in a season."""
CHECKERS = {
    "tindersole": ("tindersole", "owlerton"),
    "teldane": ("teldane",),
    "lorrimarsh": ("morvane", "tindersole"),
}
EVIDENCE = (
    "entering or leaving a nest",
    "entering or leaving a nest",
    "visiting wall or eaves",
    "droppings or food carried",
    "young",
    "carrying material",
)
LOST_NOTES: dict[str | None, str] = {
    "re-roofed": "whole roof renewed in spring",
    "eaves closed": "new plastic all along the front",
    "storm": "all down after the gales",
}


def nest_site_entries() -> list[Entry]:
    """Return the register's yearly rows and members' visits, of every nest site."""
    entries: list[Entry] = []
    for site in nest_sites():
        rng = stream("reports", site.id)
        keeper = REGISTER_KEEPER
        if site.species == "house martin" and rng.random() < MARTIN_KEEPERS_SITES:
            keeper = MARTIN_KEEPER
        entries += _yearly(site, BY_KEY[keeper], rng)
        entries += _visits(site, rng)
    return entries


def _spot(site: NestSite) -> Spot:
    building = site.building
    return Spot(building.easting, building.northing, building, exact=True)


def _yearly(site: NestSite, keeper: Member, rng: random.Random) -> list[Entry]:
    """Return a row a season; the register gives the address with the first of them only."""
    rows = []
    for number, (season, state) in enumerate(site.history.items()):
        seen = number == 0 or state == "lost" or rng.random() < 0.78
        if not seen and rng.random() < 0.5:
            continue
        status = state if seen else "not checked"
        values: dict[str, Value] = {
            "species": site.species,
            "season": season,
            "status": status,
            "nests": site.nests.get(season) if seen else None,
            "seen_by": keeper.name,
            "notes": LOST_NOTES.get(site.lost_cause) if status == "lost" else None,
        }
        if status == "lost" and "lost_cause" in keeper.headings["nest_sites"]:
            values["lost_cause"] = site.lost_cause
        if status == "in use":
            values["behaviour"] = rng.choice(EVIDENCE)
        if "site" in keeper.headings["nest_sites"]:
            values |= {"site": site.id, "position": site.position}
        if number == 0 or "site" not in values:
            values["place"] = _spot(site)
        if site.share:
            values["share"] = "yes"
        rows.append(Entry("nest_sites", keeper.key, f"nest-{site.id}", values))
    return rows


def _visits(site: NestSite, rng: random.Random) -> list[Entry]:
    """Return what others wrote when they passed; their places are as precise as their habits."""
    rows = []
    for season, state in site.history.items():
        if rng.random() > 0.24 + 0.02 * (season - SEASONS[0]):
            continue
        able = [
            m
            for m in MEMBERS
            if m.active(season)
            and "nest_sites" in m.headings
            and m.key not in (REGISTER_KEEPER, MARTIN_KEEPER)
        ]
        member = rng.choice(able)
        day = random_day(season, rng)
        values: dict[str, Value] = {
            "date": day,
            "place": _spot(site),
            "species": site.species,
            "status": state,
            "seen_by": member.name,
        }
        if state == "in use":
            values["behaviour"] = rng.choice(EVIDENCE)
            if site.species == "house martin":
                values["nests"] = site.nests[season]
        if rng.random() < 0.3:
            values["position"] = site.position
        rows.append(Entry("nest_sites", member.key, f"nest-{site.id}", values))
    return rows


def box_entries() -> list[Entry]:
    """Return a row for each box, in its keeper's list."""
    return [_box_entry(box) for box in boxes()]


def _box_entry(box: Box) -> Entry:
    rng = stream("box entry", box.id)
    x, y = box.building.xy
    values: dict[str, Value] = {
        "box": box.id,
        "place": Spot(x, y, box.building, exact=True),
        "fixed_on": box.fixed_on,
        "removed_on": box.removed_on,
        "kind": box.kind,
        "cavities": box.cavities,
        "height_m": box.height_m,
        "facing": box.facing,
        "entrance_mm": box.entrance_mm,
        "clear_drop_m": box.clear_drop_m,
        "share": "yes" if box.share else ("no" if rng.random() < 0.4 else None),
        "paid_by": box.paid_by,
        "cost": box.cost,
    }
    if box.calls:
        values |= {"calls_from": box.calls[0], "calls_to": box.calls[1]}
    return Entry("boxes", box.keeper, f"box-{box.id}", values)


def check_entries() -> list[Entry]:
    """Return the season checks, hole by hole; some boxes are missed in some seasons."""
    entries: list[Entry] = []
    for box in boxes():
        for season in SEASONS:
            rng = stream("check", box.id, season)
            if (1, season) in box.occupant and rng.random() < CHECKED:
                entries += _check(box, season, rng)
    return entries


def _check(box: Box, season: int, rng: random.Random) -> list[Entry]:
    able = [key for key in CHECKERS[box.keeper] if BY_KEY[key].active(season)]
    member = BY_KEY[rng.choice(able or ["tindersole"])]
    day = dt.date(season, 6, 25) + dt.timedelta(days=rng.randrange(30))
    if season == SEASONS[-1] and rng.random() < 0.1:
        day = dt.date(season, 10, 10) + dt.timedelta(days=rng.randrange(20))
    if not box.standing(day):
        return []
    holes = range(1, box.cavities + 1) if "cavity" in member.headings["checks"] else (1,)
    rows = []
    for hole in holes:
        seen = "not checked" if rng.random() < 0.04 else box.occupant[hole, season]
        values: dict[str, Value] = {
            "box": box.id,
            "cavity": hole if box.cavities > 1 else None,
            "date": day,
            "seen": seen,
            "checked_by": member.name,
        }
        if seen == "swift":
            values |= _brood(day, rng)
        rows.append(Entry("checks", member.key, f"box-{box.id}", values))
    return rows


def _brood(day: dt.date, rng: random.Random) -> dict[str, Value]:
    if day.month >= 10:
        return {"stage": "fledged", "fledged": rng.choice((1, 2, 2, 3))}
    draw = rng.random()
    if draw < 0.15:
        return {"stage": "prospecting"}
    if draw < 0.25:
        return {"stage": "eggs", "eggs": rng.choice((2, 2, 3))}
    if draw < 0.8:
        return {"stage": "young", "young": rng.choice((1, 2, 2, 3))}
    return {"stage": "fledged", "fledged": rng.choice((1, 2, 2, 3))}
