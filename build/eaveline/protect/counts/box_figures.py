"""What is published of the use of boxes beside the season's: how soon, and with or without calls.

Boxes can be seen from the street, so that each figure here is one row for the whole town, which
it and what it leaves out must each have the minimum count of buildings; buildings are counted lot
by lot, those of the same first season together, and the sum is given as the lower end of its band.
The comparison of calls is published as a verdict.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from eaveline.private.derive.box_seasons import BoxHistory
from eaveline.private.derive.calls import FEWEST_BUILDINGS, compare_calls
from eaveline.protect.counts.bands import COUNT_BANDS, band
from eaveline.protect.counts.box_lots import WAIT, lots_by_home
from eaveline.protect.counts.box_records import WAIT_SEASONS
from eaveline.protect.counts.gate import Gate, region_of
from eaveline.protect.counts.lots import NO_LOT, count_lots
from eaveline.protect.counts.nest_counts import Nests
from eaveline.public.records import BoxCalls, BoxWait, CallsVerdict


def box_wait(gate: Gate) -> BoxWait | None:
    """Return how many buildings had boxes used within three seasons, if enough were followed."""
    homes = gate.box_records.followed
    if int((~homes["old"]).sum()) < gate.minimum:
        return None
    homes = homes[homes["old"]]
    lots = lots_by_home(gate.lots, figure=WAIT, district="").reindex(homes.index)
    found = count_lots(
        lots.fillna(NO_LOT).to_numpy(dtype=np.int64),
        homes["used"].to_numpy(dtype=bool),
        minimum_premises=gate.minimum,
    )
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

    Distance to known nests is that between regions, from the counts that are published. The
    buildings told of are those at which anyone can see a check, and hear calls from the start.
    """
    records = gate.box_records
    found = compare_calls(
        records.history, distance_m=_distance_between_regions(gate, records.history, swifts)
    )
    home = records.boxes["home"]
    heard = records.boxes["calls_from"].dt.year <= home.map(records.since)
    with_calls = heard.groupby(home).any().reindex(records.looks["home"].unique())
    fewest = max(gate.minimum, FEWEST_BUILDINGS)
    verdict = CallsVerdict(found.verdict)
    counts = int(with_calls.sum()), int((~with_calls).sum())
    if verdict is CallsVerdict.TOO_FEW or min(counts) < fewest:
        return BoxCalls(verdict=CallsVerdict.TOO_FEW)
    return BoxCalls(verdict=verdict, buildings_with=counts[0], buildings_without=counts[1])


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
