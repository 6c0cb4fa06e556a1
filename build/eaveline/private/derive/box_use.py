"""How well boxes do: occupancy by season and by kind of place, young fledged, cost."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from eaveline.estimation.proportion import Share, clustered_share
from eaveline.messages import gettext as _
from eaveline.messages import number
from eaveline.private.derive.box_seasons import BoxHistory
from eaveline.terms import term

FEW_SEASONS = 3
"""A box unused for so many seasons has failed so far: uptake commonly takes one to five years."""
LOWEST_M = 4.5
CLEAR_DROP_M = 4.5
WIDEST_SLOT_MM = 30
"""Lower, with less clear fall, or wider (it lets starlings in): common practice, no source."""
_HEIGHTS = ((0.0, "below 5 m"), (5.0, "5 to 6.9 m"), (7.0, "7 to 9.9 m"), (10.0, "10 m and higher"))
_NUMBERS = ((1, "1"), (2, "2"), (3, "3 or 4"), (5, "5 or more"))
NOT_SAID = "not said"


def occupancy_by_season(history: BoxHistory) -> pd.DataFrame:
    """Return for each season the boxes standing, checked and used, with a Wilson interval.

    The interval allows for boxes that share a building (`estimation.proportion`).

    Returns
    -------
    pandas.DataFrame
        season, standing, checked, used, share, low, high (NaN where too few were checked),
        other_species, fledged, broods_counted.
    """
    lines = []
    clusters = history.units["cluster"]
    for season, rows in history.seasons.groupby("season", sort=True):
        seen = rows[rows["looked"]]
        found = clustered_share(seen["used"], clusters.loc[seen["unit"]])
        fledged = rows["fledged"].dropna()
        lines.append(
            (
                int(str(season)),
                len(rows),
                found.trials,
                found.hits,
                *_given(found),
                int((~seen["used"] & (seen["other"] != "")).sum()),
                int(fledged.sum()),
                len(fledged),
            )
        )
    return pd.DataFrame(
        lines,
        columns=[
            "season",
            "standing",
            "checked",
            "used",
            "share",
            "low",
            "high",
            "other_species",
            "fledged",
            "broods_counted",
        ],
    )


def occupancy_by_place(history: BoxHistory) -> pd.DataFrame:
    """Return how many boxes were ever used, by kind, height, facing and number on the building.

    Returns
    -------
    pandas.DataFrame
        what, value, standing, checked, used, share, low, high.
    """
    units = history.units
    by_unit = history.seasons.groupby("unit")[["looked", "used"]].any()
    by_unit = by_unit.reindex(units.index, fill_value=False)
    lines = []
    for what, values in _groupings(units):
        for value, members in values.groupby(values, sort=True):
            rows = by_unit.loc[members.index]
            seen = rows[rows["looked"]]
            found = clustered_share(seen["used"], units.loc[seen.index, "cluster"])
            lines.append((what, str(value), len(rows), found.trials, found.hits, *_given(found)))
    return pd.DataFrame(
        lines,
        columns=["what", "value", "standing", "checked", "used", "share", "low", "high"],
    )


def _groupings(units: pd.DataFrame) -> Iterator[tuple[str, pd.Series]]:
    yield "kind", units["kind"].astype(object).fillna(NOT_SAID)
    yield "height", _band(units["height_m"], _HEIGHTS)
    yield "facing", units["facing"].astype(object).fillna(NOT_SAID)
    yield "boxes on the building", _band(units["neighbours"], _NUMBERS)


def _band(values: pd.Series, bands: tuple[tuple[float, str], ...]) -> pd.Series:
    numbers = pd.to_numeric(values, errors="coerce").to_numpy(dtype=np.float64)
    place = np.searchsorted([low for low, _name in bands], numbers, side="right") - 1
    words = np.array([name for _low, name in bands], dtype=object)[
        np.clip(place, 0, len(bands) - 1)
    ]
    return pd.Series(np.where(np.isnan(numbers), NOT_SAID, words), index=values.index)


def _given(found: Share) -> tuple[float, float, float]:
    """Return share, low and high; NaN where there are too few to say."""
    if not found.enough or found.value is None:
        return np.nan, np.nan, np.nan
    return round(found.value, 3), round(found.low, 3), round(found.high, 3)


def failed_boxes(history: BoxHistory) -> pd.DataFrame:
    """Return the boxes not used in their first three seasons or more, and what may be why.

    Returns
    -------
    pandas.DataFrame
        box, first_season, seasons, checked_in (seasons looked into), why; on the units' index.
    """
    units, seasons = history.units, history.seasons
    grouped = seasons.groupby("unit")
    summary = pd.DataFrame(
        {
            "seasons": grouped.size(),
            "checked_in": grouped["looked"].sum(),
            "used": grouped["used"].any(),
            "others": seasons[seasons["other"] != ""]
            .groupby("unit")["other"]
            .agg(lambda names: ", ".join(map(term, sorted(set(names))))),
        }
    ).reindex(units.index)
    failed = (summary["seasons"] >= FEW_SEASONS) & ~summary["used"].eq(other=True)
    table = units[failed]
    found = summary[failed]
    why = [
        _reasons(checked=checked, others=others, height=height, drop=drop, slot=slot)
        for checked, others, height, drop, slot in zip(
            found["checked_in"],
            found["others"],
            table["height_m"],
            table["clear_drop_m"],
            table["entrance_mm"],
            strict=True,
        )
    ]
    return pd.DataFrame(
        {
            "box": table["box"],
            "first_season": table["first_season"],
            "seasons": found["seasons"].astype(np.int64),
            "checked_in": found["checked_in"].astype(np.int64),
            "why": np.array(why, dtype=object),
        }
    )


def _reasons(*, checked: int, others: object, height: float, drop: float, slot: float) -> str:
    reasons = []
    if not checked:
        reasons.append(_("never checked, so nobody knows"))
    if isinstance(others, str):
        reasons.append(_("taken over (%(species)s)", species=others))
    if height < LOWEST_M:
        reasons.append(_("low: below %(metres)s m", metres=number(LOWEST_M, decimals=1)))
    if drop < CLEAR_DROP_M:
        reasons.append(_("clear fall below %(metres)s m", metres=number(CLEAR_DROP_M, decimals=1)))
    if slot > WIDEST_SLOT_MM:
        reasons.append(
            _(
                "entrance over %(millimetres)s mm, which lets starlings in",
                millimetres=number(WIDEST_SLOT_MM),
            )
        )
    return "; ".join(reasons) or _("nothing known against it")


def costs(history: BoxHistory) -> pd.DataFrame:
    """Return money per box, per used box and per young fledged, for boxes whose cost is known.

    Returns
    -------
    pandas.DataFrame
        what, number, pounds_each; pounds_each is NaN where the number is 0.
    """
    priced = history.units[history.units["cost"].notna()]
    total = float(priced["cost"].astype(np.float64).sum())
    rows = history.seasons[history.seasons["unit"].isin(priced.index)]
    used = int(rows.groupby("unit")["used"].any().sum())
    fledged = int(rows["fledged"].sum())
    numbers = {"box": len(priced), "box used by swifts": used, "young fledged": fledged}
    return pd.DataFrame(
        {
            "what": list(numbers),
            "number": list(numbers.values()),
            "pounds_each": [
                round(total / each, 2) if each else np.nan for each in numbers.values()
            ],
        }
    )
