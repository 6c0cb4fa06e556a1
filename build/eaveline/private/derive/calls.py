"""Whether boxes with calls are used sooner, among boxes as far from known nests."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.estimation.permutation import Comparison, compare_waits
from eaveline.estimation.regression import Ratio, rate_ratio
from eaveline.estimation.survival import EVENT
from eaveline.private.derive.box_seasons import BoxHistory, first_use
from eaveline.private.intake.vocabulary import NEST_EVIDENCE_CODE

DISTANCE_BANDS_M: Final = (100.0, 500.0)
"""Near (a box here does well), middling, far or none known (common practice, no source)."""
BAND_WORDS: Final = ("within 100 m", "100 to 500 m", "beyond 500 m or none known")
CERTAIN: Final = 0.05
_OLDEST: Final = 4
"""From this season on, boxes are taken as equally likely to be found."""
FEWEST_BUILDINGS: Final = 10
"""With and without calls each; below, it is too few to say (our choice, no source)."""


@dataclass(frozen=True, repr=False)
class CallsFinding:
    """Boxes with calls against boxes without.

    Attributes
    ----------
    table
        with_calls, band, buildings, boxes, used, seasons (waited, all together).
    comparison
        The stratified log-rank comparison shuffled by building; None where too few to say.
    ratio
        How many times as often a waiting box with calls is first used in a season; None
        where too few to say.
    """

    table: pd.DataFrame
    comparison: Comparison | None
    ratio: Ratio | None

    def __repr__(self) -> str:
        """Show the verdict only."""
        return f"<CallsFinding: {self.verdict}>"

    @property
    def verdict(self) -> str:
        """One of: too few to say, no clear difference, sooner with calls, later with calls."""
        if self.comparison is None:
            return "too few to say"
        if self.comparison.p_value >= CERTAIN:
            return "no clear difference"
        sooner = self.comparison.observed > self.comparison.expected
        return "sooner with calls" if sooner else "later with calls"


def distance_to_nests(
    units: pd.DataFrame, sites: pd.DataFrame, evidence: pd.DataFrame
) -> npt.NDArray[np.float64]:
    """Return how far each box is from the nearest swift nest known by its first season, in metres.

    Infinity where none was known. Nests in boxes are no nest sites and do not count.
    """
    swifts = sites[sites["species"] == "swift"]
    known = evidence[
        (evidence["atlas_code"] >= NEST_EVIDENCE_CODE)
        & (evidence["status"] != "lost")
        & evidence["site"].isin(swifts.index)
    ]
    since = known.groupby("site")["season"].min().reindex(swifts.index).to_numpy(dtype=np.float64)
    east, north = (swifts[name].to_numpy(dtype=np.float64) for name in ("easting", "northing"))
    found = np.full(len(units), np.inf)
    for row, (x, y, season) in enumerate(
        zip(units["easting"], units["northing"], units["first_season"], strict=True)
    ):
        near = np.hypot(east - x, north - y)[since <= season]
        if len(near):
            found[row] = near.min()
    return found


def distance_band(distance_m: npt.NDArray[np.float64]) -> npt.NDArray[np.int64]:
    """Return the number of each distance's band in `BAND_WORDS`."""
    return np.searchsorted(DISTANCE_BANDS_M, distance_m, side="left").astype(np.int64)


def compare_calls(history: BoxHistory, *, distance_m: npt.NDArray[np.float64]) -> CallsFinding:
    """Compare the waits of boxes with and without calls.

    A box counts as one with calls if they were played in its first season at its building;
    a box where they began later counts as one without until then, since calls are often
    put up because a box stands empty. Buildings are shuffled whole, and only among those as
    far from a known nest: keen owners live near swifts, so that boxes with calls would do
    better without them too.

    Parameters
    ----------
    history
        See `box_seasons.box_history`.
    distance_m
        Of each unit to the nearest nest; see `distance_to_nests`. The nearest of a
        building's boxes decides for all of them.
    """
    units = history.units
    cluster = units["cluster"].to_numpy(dtype=np.int64)
    starts = units["calls_from"].dt.year.astype(np.float64)
    own = (starts <= units["first_season"]).to_numpy(dtype=bool)
    with_calls = pd.Series(own).groupby(cluster).transform("any").to_numpy(dtype=bool)
    later = (starts - 1).where(~pd.Series(with_calls, index=units.index))
    nearest = pd.Series(distance_m).groupby(cluster).transform("min").to_numpy(dtype=np.float64)
    known = units.assign(with_calls=with_calls, band=distance_band(nearest))
    waits = first_use(history, until=later).join(
        known[["with_calls", "band", "cluster"]], how="inner"
    )
    table = _table(waits)
    buildings = waits.groupby("with_calls")["cluster"].nunique()
    if min(buildings.get(True, 0), buildings.get(False, 0)) < FEWEST_BUILDINGS:
        return CallsFinding(table, None, None)
    comparison = compare_waits(
        waits["time"],
        waits["ending"],
        waits["with_calls"],
        cluster=waits["cluster"],
        stratum=waits["band"],
    )
    return CallsFinding(table, comparison, _ratio(waits))


def _ratio(waits: pd.DataFrame) -> Ratio | None:
    """Return the ratio of first uses by season of waiting, among boxes as far and as old."""
    spans = waits["time"].to_numpy(dtype=np.int64)
    row = np.repeat(np.arange(len(waits)), spans)
    age = np.concatenate([np.arange(1, span + 1) for span in spans])
    happened = (age == spans[row]) & (waits["ending"].to_numpy() == EVENT)[row]
    return rate_ratio(
        happened,
        waits["with_calls"].to_numpy()[row],
        cluster=waits["cluster"].to_numpy()[row],
        stratum=waits["band"].to_numpy()[row] * 10 + np.minimum(age, _OLDEST),
    )


def _table(waits: pd.DataFrame) -> pd.DataFrame:
    grouped = waits.assign(used=waits["ending"] == EVENT).groupby(["with_calls", "band"])
    table = grouped.agg(
        buildings=("cluster", "nunique"),
        boxes=("time", "size"),
        used=("used", "sum"),
        seasons=("time", "sum"),
    ).reset_index()
    return table.assign(band=[BAND_WORDS[int(band)] for band in table["band"]])
