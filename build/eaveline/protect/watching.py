"""Shares each watch's valid minutes among the regions that it covers."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd
import shapely

from eaveline.private.intake.crossref import StreetFinder, streets_named
from eaveline.protect.division.regions import Regions

Shares = dict[str, list[tuple[int, float]]]
"""For each street's slug, the regions it runs through and the part of its length in each."""


def street_shares(
    streets: Mapping[str, shapely.Geometry], regions: Regions, *, cell_size_m: int
) -> Shares:
    """Return how each street's length is spread over the regions.

    Lengths outside every region are left out, and the parts of a street add up to 1.

    Parameters
    ----------
    streets
        Lines in the town's grid (metres) by slug.
    """
    shares: Shares = {slug: [] for slug in streets}
    cells = [(number, cell) for number, held in enumerate(regions.cells) for cell in held]
    if not cells or not streets:
        return shares
    corners = np.array([cell for _, cell in cells], dtype=np.float64) * cell_size_m
    boxes = shapely.box(
        corners[:, 0], corners[:, 1], corners[:, 0] + cell_size_m, corners[:, 1] + cell_size_m
    )
    tree = shapely.STRtree(boxes)
    slugs = sorted(streets)
    lines = np.array([streets[slug] for slug in slugs], dtype=object)
    which, hit = tree.query(lines, predicate="intersects")
    lengths = shapely.length(shapely.intersection(lines[which], boxes[hit]))
    table = pd.DataFrame(
        {
            "street": which,
            "region": np.array([number for number, _ in cells])[hit],
            "metres": lengths,
        }
    )
    table = table[table["metres"] > 0].groupby(["street", "region"])["metres"].sum().reset_index()
    table["part"] = table["metres"] / table.groupby("street")["metres"].transform("sum")
    for street, region, part in zip(table["street"], table["region"], table["part"], strict=True):
        shares[slugs[street]].append((int(region), float(part)))
    return shares


def watched_minutes(
    watches: pd.DataFrame, regions: Regions, shares: Shares, *, find_street: StreetFinder
) -> pd.DataFrame:
    """Return the valid minutes of watching in each region and season.

    A watch at a place counts for the region of that place. A watch along streets is shared
    equally among them, and within a street by its length in each region: nobody watches
    every elevation at once, so a long street takes more watching to be called looked at.

    Parameters
    ----------
    watches
        key, season, streets, easting, northing, uncertainty_m, method, street_slug,
        valid_minutes.

    Returns
    -------
    pandas.DataFrame
        season, region (number), minutes; one row for each pair with any.
    """
    table = _spread(watches, regions, shares, find_street=find_street)
    # Rounded first, so that the last bit of a sum cannot depend on the order of its parts.
    rounded = table.assign(minutes=table["minutes"].round(6))
    return rounded.groupby(["season", "region"])["minutes"].sum().reset_index()


def main_regions(
    watches: pd.DataFrame, regions: Regions, shares: Shares, *, find_street: StreetFinder
) -> pd.Series:
    """Return the number of the region that most of each watch was in, or -1.

    A count made on a watch is then the count of one region, and links no two. A void watch
    has none.

    Parameters
    ----------
    watches
        As for `watched_minutes`.
    """
    table = _spread(watches, regions, shares, find_street=find_street)
    parts = table.groupby(["watch", "region"])["minutes"].sum().round(6).reset_index()
    # Ties go to the region with the lower number.
    ordered = parts.sort_values(["watch", "minutes", "region"], ascending=[True, False, True])
    main = ordered.drop_duplicates("watch").set_index("watch")["region"]
    return main.reindex(watches.index).fillna(-1).astype(np.int64)


def _spread(
    watches: pd.DataFrame, regions: Regions, shares: Shares, *, find_street: StreetFinder
) -> pd.DataFrame:
    """Return watch (its index), season, region, minutes: the parts of each watch that counts."""
    lines: list[tuple[object, int, int, float]] = []
    counted = watches[watches["valid_minutes"] > 0].sort_values("key")
    at_point = counted["method"].notna().to_numpy() & (counted["method"] != "street").to_numpy()
    points = counted[at_point]
    places = regions.region_of(
        points["easting"].to_numpy(dtype=np.float64), points["northing"].to_numpy(dtype=np.float64)
    )
    for watch, season, region, minutes in zip(
        points.index, points["season"], places, points["valid_minutes"], strict=True
    ):
        if region >= 0:
            lines.append((watch, int(season), int(region), float(minutes)))
    for watch in counted[~at_point].itertuples():
        named = (
            streets_named(str(watch.streets), find_street) if isinstance(watch.streets, str) else []
        )
        slugs = sorted({slug for slug in named if slug is not None})
        if not slugs and isinstance(watch.street_slug, str):
            slugs = [watch.street_slug]
        each = float(str(watch.valid_minutes)) / max(len(slugs), 1)
        for slug in slugs:
            for region, part in shares.get(slug, []):
                lines.append((watch.Index, int(str(watch.season)), region, each * part))
    return pd.DataFrame(lines, columns=["watch", "season", "region", "minutes"])


def hours(minutes: Mapping[int, float] | pd.Series) -> dict[int, int]:
    """Return whole hours, rounded down: a part of an hour is never made into one."""
    return {int(str(name)): int(float(total) // 60) for name, total in minutes.items()}
