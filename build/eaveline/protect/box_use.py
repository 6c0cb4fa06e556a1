"""Counts the buildings whose boxes held swifts, by district, and for the town as their sum.

Boxes can be seen from the street, so a count of those in use is published only of a district in
which the minimum count of buildings were checked that season, and is top-coded. The town's figure
is the sum of these and says nothing of other districts. So whatever is subtracted, within a
release or between two, is a statement about one whole district or several. A town of one
district has its figure for the whole.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from eaveline.protect.bands import cap
from eaveline.protect.districts import is_joined
from eaveline.protect.gate import Gate, region_of
from eaveline.public.records import BoxUse, DistrictUse

_WHOLE = "the town"


def box_use(gate: Gate, season: int) -> BoxUse | None:
    """Return how many buildings with boxes held swifts, if enough were checked."""
    parts = _checked_homes(gate, season).groupby("district")["used"].agg(["size", "sum"])
    parts = parts[parts["size"] >= gate.minimum]
    if parts.empty:
        return None
    # Who has an old release knows the parts of a joined district: see `release`.
    joined = np.array([is_joined(str(name)) for name in parts.index])
    premises = np.where(joined, gate.minimum, parts["size"])
    capped = cap(parts["sum"].to_numpy(), premises, minimum_premises=gate.minimum).tolist()
    shown = {
        str(name): DistrictUse(buildings_checked=int(checked), used_at_least=count)
        for name, checked, count in zip(parts.index, parts["size"], capped, strict=True)
    }
    shown.pop(_WHOLE, None)
    return BoxUse(
        buildings_checked=int(parts["size"].sum()), used_at_least=sum(capped), districts=shown
    )


def _checked_homes(gate: Gate, season: int) -> pd.DataFrame:
    """Return district and used for each building with a box that was looked into."""
    register = gate.register
    boxes = register.boxes[~register.boxes["building"].isin(gate.listing.buildings)]
    checks = register.checks
    looked = checks[(checks["season"] == season) & (checks["seen"] != "not checked")]
    visits = register.box_visits
    swifts = set(looked.loc[looked["seen"] == "swift", "title"]) | set(
        visits.loc[visits["season"] == season, "title"]
    )
    # A box near no known building stands for one of its own.
    home = boxes["building"].where(
        boxes["building"] >= 0, -2 - pd.Series(range(len(boxes)), index=boxes.index)
    )
    standing = boxes["removed_on"].isna() | (boxes["removed_on"].dt.year >= season)
    there = (boxes["title"].isin(set(looked["title"])) & standing).to_numpy()
    table = pd.DataFrame(
        {
            "home": home.to_numpy(),
            "district": _districts_of(gate, boxes),
            "used": boxes["title"].isin(swifts).to_numpy(),
        }
    )[there]
    table = table[table["district"].notna()]
    homes: pd.DataFrame = table.groupby("home").agg(
        district=("district", "first"), used=("used", "any")
    )
    return homes


def _districts_of(gate: Gate, boxes: pd.DataFrame) -> list[str | None]:
    """Return the district of each box; None outside all, which no figure is about."""
    if len(set(gate.districts)) <= 1:
        return [_WHOLE] * len(boxes)
    return [gate.districts[region] if region >= 0 else None for region in region_of(gate, boxes)]
