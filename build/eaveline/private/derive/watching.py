"""Where watching was done: by street, elevation and season, with the share watched."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd
import shapely

from eaveline.messages import gettext as _
from eaveline.messages import number
from eaveline.private.derive.effort import (
    FIRST_DAY_OF_YEAR,
    LAST_DAY_OF_YEAR,
    SHORTEST_MINUTES,
    is_void,
)
from eaveline.private.intake.crossref import StreetFinder, streets_named

WATCHED_FRONT_M = 60.0
"""How much of one side of a street a watcher can follow (common practice, no source)."""
NOT_SAID = "not said"


def why_void(watches: pd.DataFrame) -> pd.Series:
    """Return why a watch counts for nothing; empty where it counts."""
    day = watches["date"].dt.day_of_year
    reasons = np.select(
        [
            watches["valid_minutes"] > 0,
            watches["end"] - watches["start"] < SHORTEST_MINUTES,
            (day < FIRST_DAY_OF_YEAR) | (day > LAST_DAY_OF_YEAR),
            is_void(watches),
        ],
        [
            "",
            _("shorter than %(minutes)s minutes", minutes=number(SHORTEST_MINUTES)),
            _("outside May to mid August"),
            _("bad weather and no bird seen"),
        ],
        default=_("too far from dusk and from dawn"),
    )
    return pd.Series(reasons, index=watches.index)


def watch_sites(watches: pd.DataFrame, find_street: StreetFinder) -> pd.Series:
    """Return the streets of each watch as a sorted tuple of slugs; of one at a place, its square.

    The square is a name such as ``6501 3302``, of 100 m, where no street is known.
    """
    sites: list[tuple[str, ...]] = []
    for watch in watches.itertuples():
        named = (
            streets_named(str(watch.streets), find_street) if isinstance(watch.streets, str) else []
        )
        slugs = tuple(sorted({slug for slug in named if slug is not None}))
        if not slugs and isinstance(watch.street_slug, str):
            slugs = (watch.street_slug,)
        east, north = float(str(watch.easting)), float(str(watch.northing))
        if not slugs and not np.isnan(east):
            slugs = (f"{east // 100:.0f} {north // 100:.0f}",)
        sites.append(slugs)
    return pd.Series(sites, index=watches.index, dtype=object)


def street_effort(
    watches: pd.DataFrame, sites: pd.Series, streets: Mapping[str, shapely.Geometry]
) -> pd.DataFrame:
    """Return the watching done along each street in each season.

    Parameters
    ----------
    watches
        season, elevation, valid_minutes, most_birds.
    sites
        See `watch_sites`. A watch along several streets is shared equally among them.
    streets
        Lines in metres by slug.

    Returns
    -------
    pandas.DataFrame
        street, season, watches, minutes (that count), elevations (those watched), share
        (of both sides of the street that those elevations can have covered, 0 to 1),
        most_birds. A street is never clear because one elevation was watched: the share
        takes each elevation named as one stretch of `WATCHED_FRONT_M`.
    """
    valid = watches[watches["valid_minutes"] > 0]
    rows = valid.assign(
        street=sites[valid.index],
        each=valid["valid_minutes"] / sites[valid.index].map(len).clip(lower=1),
        elevation=valid["elevation"].astype(object).where(valid["elevation"].notna(), NOT_SAID),
    ).explode("street")
    rows = rows[rows["street"].notna()]
    lengths = {slug: float(shapely.length(line)) for slug, line in streets.items()}
    lines = []
    for (street, season), group in rows.groupby(["street", "season"], sort=True):
        elevations = sorted(set(group["elevation"].astype(str)))
        front = 2 * lengths.get(str(street), np.nan)
        share = min(1.0, len(elevations) * WATCHED_FRONT_M / front) if front > 0 else np.nan
        lines.append(
            (
                street,
                season,
                len(group),
                round(float(group["each"].sum())),
                "; ".join(elevations),
                round(share, 2),
                group["most_birds"].max(),
            )
        )
    return pd.DataFrame(
        lines,
        columns=[
            "street",
            "season",
            "watches",
            "minutes",
            "elevations",
            "share",
            "most_birds",
        ],
    )


def visit_counts(watches: pd.DataFrame, site: pd.Series, *, near_calls: pd.Series) -> pd.DataFrame:
    """Return what `estimation.regression.yearly_change` takes, from watches.

    Void watches, those without a count, those near a caller and those without a site are left
    out; a watch with no bird seen counts as none.

    Parameters
    ----------
    watches
        season, valid_minutes, most_birds.
    site
        A name for each watch's site, or None.
    near_calls
        Which watches a caller may have swollen.
    """
    used = watches[
        (watches["valid_minutes"] > 0)
        & watches["most_birds"].notna()
        & ~near_calls
        & site.notna().to_numpy()
    ]
    table = used.assign(site=site[used.index].astype(str), year=used["season"])
    return table.groupby(["site", "year"], as_index=False).agg(
        birds=("most_birds", "sum"),
        visits=("most_birds", "size"),
        minutes=("valid_minutes", "mean"),
    )
