"""Counts the buildings whose boxes held swifts, by district, and for the town as their sum.

Boxes can be seen from the street, so a count of those in use is published only of a district in
which enough buildings were checked that season, lot by lot (see `lots`), and is top-coded. The
town's figure is the sum of these and says nothing of other districts. A district joined from
published ones says nothing at all: where one of its parts had too few checked to be told of, that
part would be the joined count less the other's. So whatever is subtracted, within a release or
between two, is a statement about whole lots. A town of one district has one
figure for the whole map.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from eaveline.protect.districts import is_joined
from eaveline.protect.gate import Gate, region_of
from eaveline.protect.lots import NO_LOT, LotCount, count_lots, lots_of
from eaveline.public.records import BoxUse, DistrictUse


def box_use(gate: Gate, season: int) -> BoxUse | None:
    """Return how many buildings with boxes held swifts, if enough were checked."""
    boxes = _homes(gate)
    looks = _looks(gate, boxes, season)
    seen_going_in = _seen_going_in(gate, boxes, season)
    found: dict[str, LotCount] = {}
    for name, inside in looks.groupby("district"):
        count = _count(inside, seen_going_in, minimum=gate.minimum)
        if count is not None and not is_joined(str(name)):
            found[str(name)] = count
    if not found:
        return None
    return BoxUse(
        buildings_checked=sum(count.buildings for count in found.values()),
        used_at_least=sum(count.used_at_least for count in found.values()),
        may_be_more=any(count.may_be_more for count in found.values()),
        districts={
            name: DistrictUse(buildings_checked=count.buildings, used_at_least=count.used_at_least)
            for name, count in found.items()
            if len(set(gate.districts)) > 1
        },
    )


def _count(looks: pd.DataFrame, seen_going_in: set[int], *, minimum: int) -> LotCount | None:
    """Count one district's buildings; what was found after the last full lot waits for the next."""
    first = looks.groupby("home")["date"].min()
    lots = lots_of(first, minimum_premises=minimum)
    last = first[lots != NO_LOT].max()
    used = {*looks.loc[looks["swift"] & (looks["date"] <= last), "home"], *seen_going_in}
    return count_lots(lots, first.index.isin(list(used)), minimum_premises=minimum)


def _looks(gate: Gate, boxes: pd.DataFrame, season: int) -> pd.DataFrame:
    """Return home, district, date and swift for each look into a box that stood."""
    checks = gate.register.checks
    looked = checks[(checks["season"] == season) & (checks["seen"] != "not checked")]
    # A table without rows may have lost the type of its titles.
    looked = looked.assign(swift=looked["seen"] == "swift").astype({"title": object})
    standing = boxes["removed_on"].isna() | (boxes["removed_on"].dt.year >= season)
    stood = boxes.loc[standing.to_numpy(dtype=bool), ["title", "home"]].astype({"title": object})
    looks = looked.merge(stood, on="title")
    # A building has one district, that of its first box; a title may stand in two places.
    return looks.assign(district=looks["home"].map(boxes.groupby("home")["district"].first()))


def _seen_going_in(gate: Gate, boxes: pd.DataFrame, season: int) -> set[int]:
    """Return the homes at which swifts were seen going into a box."""
    visits = gate.register.box_visits
    titles = set(visits.loc[visits["season"] == season, "title"])
    return set(boxes.loc[boxes["title"].isin(titles), "home"])


def _homes(gate: Gate) -> pd.DataFrame:
    """Return all boxes with home and district; one near no building has its own.

    Listed ones too: if one left, all lots after it would shift by a building, and the difference
    of two releases would be about the two at a lot's ends.
    """
    boxes = gate.register.boxes
    home = boxes["building"].where(
        boxes["building"] >= 0, -2 - pd.Series(range(len(boxes)), index=boxes.index)
    )
    return boxes.assign(home=home, district=np.array(_districts_of(gate, boxes), dtype=object))


def _districts_of(gate: Gate, boxes: pd.DataFrame) -> list[str | None]:
    """Return the district of each box; None outside all, which no figure is about.

    Before a town has a map nothing is said: once it has, its figure is about the boxes on the map
    alone, and the difference would be about the few beyond it.
    """
    if not gate.districts:
        return [None] * len(boxes)
    return [gate.districts[region] if region >= 0 else None for region in region_of(gate, boxes)]
