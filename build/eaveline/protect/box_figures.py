"""What is published of the use of boxes beside the season's: how soon, and with or without calls.

Boxes can be seen from the street, so that each figure here is one row for the whole town, which
it and what it leaves out must each have the minimum count of buildings; buildings are counted lot
by lot, those of the same first season together, and the sum is given as the lower end of its band.
The comparison of calls is published as a verdict.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from eaveline.private.derive.box_seasons import BoxHistory, box_history
from eaveline.private.derive.calls import FEWEST_BUILDINGS, compare_calls
from eaveline.protect.bands import COUNT_BANDS, band
from eaveline.protect.gate import Gate, region_of
from eaveline.protect.lots import count_lots, lots_of
from eaveline.protect.nest_counts import Nests
from eaveline.public.records import BoxCalls, BoxWait, CallsVerdict

WAIT_SEASONS = 3


def box_wait(gate: Gate) -> BoxWait | None:
    """Return how many buildings had boxes used within three seasons, if enough were followed."""
    history = _history(gate)
    rows = history.seasons.assign(
        cluster=history.units["cluster"].reindex(history.seasons["unit"]).to_numpy()
    )
    if rows.empty:
        return None
    first = rows.groupby("cluster")["season"].min()
    age = rows["season"] - rows["cluster"].map(first) + 1
    by_building = rows[age <= WAIT_SEASONS].groupby("cluster")[["looked", "used"]].any()
    newest = max(gate.register.seasons)
    looked = by_building["looked"] | by_building["used"]
    start = first.reindex(by_building.index)
    old = newest - start + 1 >= WAIT_SEASONS
    followed = by_building[looked & old]
    if int((looked & ~old).sum()) < gate.minimum:
        return None
    lots = lots_of(start[followed.index], minimum_premises=gate.minimum)
    found = count_lots(lots, followed["used"].to_numpy(dtype=bool), minimum_premises=gate.minimum)
    if found is None:
        return None
    ends = band(found.used_at_least, COUNT_BANDS)
    return BoxWait(
        seasons=WAIT_SEASONS,
        buildings=found.buildings,
        used_at_least=ends[0] if ends is not None else 0,
    )


def box_calls(gate: Gate, swifts: Nests) -> BoxCalls:
    """Return what comparing boxes with and without calls comes to.

    Distance to known nests is that between regions, from the counts that are published.
    """
    history = _history(gate)
    found = compare_calls(history, distance_m=_distance_between_regions(gate, history, swifts))
    buildings = found.table.groupby("with_calls")["buildings"].sum()
    with_calls, without = int(buildings.get(True, 0)), int(buildings.get(False, 0))
    fewest = max(gate.minimum, FEWEST_BUILDINGS)
    verdict = CallsVerdict(found.verdict)
    if verdict is CallsVerdict.TOO_FEW or min(with_calls, without) < fewest:
        return BoxCalls(verdict=CallsVerdict.TOO_FEW)
    return BoxCalls(verdict=verdict, buildings_with=with_calls, buildings_without=without)


def _history(gate: Gate) -> BoxHistory:
    """Return the history of all boxes, listed ones too: see `box_use` for why none leaves."""
    register = gate.register
    return box_history(
        register.boxes,
        register.checks,
        register.box_visits,
        newest=max(register.seasons, default=0),
    )


def _distance_between_regions(
    gate: Gate, history: BoxHistory, swifts: Nests
) -> npt.NDArray[np.float64]:
    """Return the metres from each box's region to the nearest with nests by its first season."""
    units = history.units
    far = np.full(len(units), np.inf)
    if not len(gate.regions.ids):
        return far
    size = gate.config.privacy.cell_size_m
    centres = np.array([np.mean(cells, axis=0) * size for cells in gate.regions.cells])
    homes = region_of(gate, units)
    known = np.zeros(len(centres), dtype=bool)
    by_season = {}
    for season in gate.register.seasons:
        known = known | (swifts.counts[str(season)] > 0)
        by_season[season] = known
    for row, (home, season) in enumerate(zip(homes, units["first_season"], strict=True)):
        there = by_season.get(int(season))
        if home >= 0 and there is not None and there.any():
            far[row] = np.hypot(*(centres[there] - centres[home]).T).min()
    return far
