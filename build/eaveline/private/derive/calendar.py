"""When the birds were seen: first and last dates, daily peaks, parties by week and by dusk."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

SCREAMING_CODE = 5
EARSHOT_M = 100.0
"""Calls from a speaker draw swifts from about so far (common practice, no source)."""

SUNSET_BANDS: tuple[tuple[int | None, int | None], ...] = (
    (None, 120),
    (120, 90),
    (90, 60),
    (60, 30),
    (30, 0),
    (0, None),
)
"""From how many minutes before sunset until how many; after sunset in the last."""


def swift_parties(sightings: pd.DataFrame) -> pd.DataFrame:
    """Return the screaming parties among merged sightings."""
    return sightings[
        (sightings["atlas_code"] == SCREAMING_CODE) & (sightings["species"] == "swift")
    ]


def near_caller(sightings: pd.DataFrame, boxes: pd.DataFrame) -> pd.Series:
    """Return which sightings were made within earshot of calls being played.

    Calls draw young birds, so that such a count says nothing of a trend.

    Parameters
    ----------
    sightings
        date, easting, northing, calls_playing; any table of dated places will do.
    boxes
        easting, northing, calls_from, calls_to.

    Returns
    -------
    pandas.Series of bool
        On the index of `sightings`.
    """
    near = sightings["calls_playing"].to_numpy(dtype=bool).copy()
    east, north = sightings["easting"].to_numpy(float), sightings["northing"].to_numpy(float)
    for box in boxes[boxes["calls_from"].notna()].itertuples():
        within = np.hypot(east - float(str(box.easting)), north - float(str(box.northing)))
        near |= (within <= EARSHOT_M) & playing(sightings["date"], box.calls_from, box.calls_to)
    return pd.Series(near, index=sightings.index)


def playing(dates: pd.Series[pd.Timestamp], start: object, end: object) -> npt.NDArray[np.bool_]:
    """Return on which dates a caller ran; without an end, until 31 July of its first year."""
    first = pd.Timestamp(str(start))
    last = pd.Timestamp(first.year, 7, 31) if pd.isna(end) else pd.Timestamp(str(end))  # type: ignore[call-overload]  # any scalar will do
    on: npt.NDArray[np.bool_] = ((dates >= first) & (dates <= last)).to_numpy(dtype=bool)
    return on


def daily_peaks(parties: pd.DataFrame) -> pd.DataFrame:
    """Return the largest party of each day with one: season, date, birds."""
    counted = parties[parties["birds"].notna()]
    return counted.groupby(["season", "date"])["birds"].max().reset_index()


def median_peaks(parties: pd.DataFrame) -> pd.DataFrame:
    """Return for each season the median of its daily peaks, and of how many days.

    The lower of the two middle days is taken, so that it is a count somebody made.

    Returns
    -------
    pandas.DataFrame
        days, median_peak by season.
    """
    peaks = daily_peaks(parties).groupby("season")["birds"]
    median = peaks.quantile(interpolation="lower")
    return pd.DataFrame({"days": peaks.size(), "median_peak": median})


def arrivals(sightings: pd.DataFrame, watches: pd.DataFrame) -> pd.DataFrame:
    """Return the first and last date of each species and season, with the effort behind it.

    Returns
    -------
    pandas.DataFrame
        species, season, first, last, days_with_records (of either species, that season),
        days_before (of those, in the fortnight before the first date: without any, the
        birds may have come earlier), hours_watched.
    """
    hours = watches.groupby("season")["valid_minutes"].sum() // 60
    days = sightings[["season", "date"]].drop_duplicates()
    lines = []
    for (species, season), group in sightings.groupby(["species", "season"], sort=True):
        first, last = group["date"].min(), group["date"].max()
        that_season = days[days["season"] == season]["date"]
        fortnight = (that_season < first) & (that_season >= first - pd.Timedelta(days=14))
        lines.append(
            (
                species,
                season,
                first,
                last,
                len(that_season),
                int(fortnight.sum()),
                int(hours.get(season, 0)),
            )
        )
    return pd.DataFrame(
        lines,
        columns=[
            "species",
            "season",
            "first",
            "last",
            "days_with_records",
            "days_before",
            "hours_watched",
        ],
    )


def by_week(parties: pd.DataFrame) -> pd.DataFrame:
    """Return the parties of each week with one: season, monday (the week's first day), parties."""
    monday = parties["date"] - pd.to_timedelta(parties["date"].dt.day_of_week, unit="D")
    weeks = parties.assign(monday=monday).groupby(["season", "monday"])
    return weeks.size().rename("parties").reset_index()


def by_sunset(parties: pd.DataFrame) -> npt.NDArray[np.int64]:
    """Return the number of parties in each of `SUNSET_BANDS`; those without a time are in none.

    Parameters
    ----------
    parties
        before_sunset_min: minutes from the sighting to that day's sunset.
    """
    before = parties["before_sunset_min"].to_numpy(dtype=np.float64)
    counts = []
    for start, end in SUNSET_BANDS:
        low = -np.inf if end is None else end
        high = np.inf if start is None else start
        # 90 minutes before sunset belongs to the band that starts there, sunset to the last.
        counts.append(int(((before > low) & (before <= high)).sum()))
    return np.array(counts, dtype=np.int64)
