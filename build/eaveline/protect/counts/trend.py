"""The town's trend, from counts on watches by region and season."""

from __future__ import annotations

import math

import pandas as pd

from eaveline.estimation.regression import yearly_change
from eaveline.private.derive.watching import visit_counts
from eaveline.protect.counts.callers import calls_in_region
from eaveline.protect.counts.gate import Gate
from eaveline.public.records import Trend


def town_trend(gate: Gate, watch_regions: pd.Series) -> Trend | None:
    """Return the yearly change of the most swifts seen at once, or None where too few to say.

    Watches where calls were played in the region that day are left out.

    Parameters
    ----------
    watch_regions
        The region each watch was mostly in, or -1.
    """
    watches = gate.register.watches
    near = watches["calls_playing"].to_numpy(dtype=bool) | calls_in_region(
        gate, watches["date"], watch_regions.to_numpy()
    )
    site = watch_regions.where(watch_regions >= 0)
    counts = visit_counts(watches, site, near_calls=pd.Series(near, index=watches.index))
    change = yearly_change(counts)
    if change is None:
        return None
    again = counts[counts.groupby("site")["year"].transform("nunique") > 1]
    return Trend(
        squares=again["site"].nunique(),
        first_season=str(again["year"].min()),
        last_season=str(again["year"].max()),
        percent=_percent(round(_change(change.value))),
        low=_percent(math.floor(_change(change.low))),
        high=_percent(math.ceil(_change(change.high))),
    )


def _change(ratio: float) -> float:
    # Rounded first, so that the last bit of a fit cannot move a whole percentage.
    return round(100 * (ratio - 1), 6)


def _percent(value: int) -> int:
    return max(-100, min(value, 10_000))
