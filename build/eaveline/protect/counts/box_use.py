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

from eaveline.protect.counts.box_lots import lots_by_home
from eaveline.protect.counts.gate import Gate
from eaveline.protect.counts.lots import NO_LOT, LotCount, count_lots
from eaveline.protect.division.districts import is_joined
from eaveline.public.records import BoxUse, DistrictUse


def box_use(gate: Gate, season: int) -> BoxUse | None:
    """Return how many buildings with boxes held swifts, if enough were checked."""
    looks = gate.box_records.looks
    seen_going_in = _seen_going_in(gate, season)
    found: dict[str, LotCount] = {}
    for name, inside in looks[looks["season"] == season].groupby("district"):
        lots = lots_by_home(gate.lots, figure=str(season), district=str(name))
        count = _count(inside, seen_going_in, lots, minimum=gate.minimum)
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


def _count(
    looks: pd.DataFrame, seen_going_in: set[int], lots: pd.Series, *, minimum: int
) -> LotCount | None:
    """Count one district's buildings; what was found after the last full lot waits for the next."""
    first = looks.groupby("home")["date"].min()
    lot = lots.reindex(first.index).fillna(NO_LOT).to_numpy(dtype=np.int64)
    last = first[lot != NO_LOT].max()
    used = {*looks.loc[looks["swift"] & (looks["date"] <= last), "home"], *seen_going_in}
    return count_lots(lot, first.index.isin(list(used)), minimum_premises=minimum)


def _seen_going_in(gate: Gate, season: int) -> set[int]:
    """Return the homes at which swifts were seen going into a box."""
    visits = gate.register.box_visits
    boxes = gate.box_records.boxes
    titles = set(visits.loc[visits["season"] == season, "title"])
    return set(boxes.loc[boxes["title"].isin(titles), "home"])
