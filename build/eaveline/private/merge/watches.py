"""Joins rows that report one watch, so that its time counts once."""

from __future__ import annotations

import numpy as np
import pandas as pd

from eaveline.private.intake.crossref import names


def merge_watches(table: pd.DataFrame) -> tuple[pd.DataFrame, dict[int, int]]:
    """Join rows of one watch.

    Rows are one watch if they share its id and date; without an id, if they share date,
    start, end, place and streets. The longest row speaks, with the most birds of any.

    Parameters
    ----------
    table
        The usable rows of watches/, indexed by row id.

    Returns
    -------
    watches
        One row for each: date, season, start, end (minutes of the day), streets (text),
        easting, northing, uncertainty_m, method, street_slug, elevation, weather, wind_bft, temp_c,
        most_birds, calls_playing (bool). Index: the row id that speaks.
    members
        For each row merged away, the row it went into.
    """
    title = names(table["watch"])
    streets = names(table["streets"]).fillna("")
    own = pd.Series(
        [
            f"{start:.0f} {end:.0f} {east:.0f} {north:.0f} {where}"
            for start, end, east, north, where in zip(
                table["start"],
                table["end"],
                table["easting"],
                table["northing"],
                streets,
                strict=True,
            )
        ],
        index=table.index,
        dtype=object,
    )
    identity = title.where(title.notna(), own)
    rows = table.assign(
        identity=identity.astype(object), minutes=table["end"] - table["start"], row_id=table.index
    ).sort_values(["date", "identity", "minutes", "key"], ascending=[True, True, False, True])
    groups = rows.groupby(["date", "identity"], sort=False)
    head = groups["row_id"].transform("first")
    most = groups["most_birds"].transform("max")
    calls = (rows["calls_playing"] == "yes").groupby(head).transform("any")
    again = rows.index[(head != rows["row_id"]).to_numpy()]
    members = dict(zip(again.tolist(), head[again].tolist(), strict=True))
    kept = (head == rows["row_id"]).to_numpy()
    spoken = rows[kept]
    watches = pd.DataFrame(
        {
            "key": spoken["key"],
            "date": spoken["date"],
            "season": spoken["date"].dt.year.astype(np.int64),
            "start": spoken["start"],
            "end": spoken["end"],
            "streets": spoken["streets"].astype(object),
            "easting": spoken["easting"],
            "northing": spoken["northing"],
            "uncertainty_m": spoken["uncertainty_m"],
            "method": spoken["method"].astype(object),
            "street_slug": spoken["street_slug"].astype(object),
            "elevation": spoken["elevation"].astype(object),
            "weather": spoken["weather"].astype(object),
            "wind_bft": spoken["wind_bft"],
            "temp_c": spoken["temp_c"],
            "most_birds": most[kept],
            "calls_playing": calls[kept].to_numpy(dtype=bool),
        }
    )
    return watches, members
