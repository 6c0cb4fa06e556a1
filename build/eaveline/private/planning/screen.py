"""Screens planning applications against the register: what is known on and near each site.

No distance is laid down by law. Those used here (the site itself, 25, 100, 500 m and 1 km)
are common practice, and every paper prints them.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, NamedTuple, Self

import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely
from shapely import Point
from shapely.geometry.base import BaseGeometry

from eaveline.private.register import Register

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

BAND_EDGES_M: Final = (25.0, 100.0, 500.0, 1000.0)
BAND_WORDS: Final = ("on the site", "within 25 m", "25 to 100 m", "100 to 500 m", "500 m to 1 km")
ON_SITE: Final = 0
POINT_SITE_M: Final = 10.0
"""A site given by one point reaches this far about it: about a house (common practice)."""
PARTY_CODE: Final = 5
_ROUNDING_M: Final = 1e-6
_DAYS_OF_YEAR: Final = 365.25
_TO_JULY_S: Final = np.timedelta64(211, "D").astype("timedelta64[s]")
"""From the first day of a year to 31 July, a day earlier in a leap year."""


class Age(StrEnum):
    """How old a record is at an application's receipt; limits after CIEEM (April 2019)."""

    UNDER_A_YEAR = "under 12 months"
    TO_18_MONTHS = "12 to 18 months"
    TO_3_YEARS = "18 months to 3 years"
    OLDER = "over 3 years"


@dataclass(frozen=True, repr=False)
class Known:
    """Everything in the register that has a place and bears on planning, one row for each.

    Attributes
    ----------
    table
        kind (nest site, box, screaming party), species, season, evidence (possible, probable,
        confirmed, or the site's state where it was lost, blocked or quiet), easting, northing,
        uncertainty_m, last (date), name. A nest site has a row for each season. The oldest
        first.
    """

    table: pd.DataFrame

    def __repr__(self) -> str:
        """Show the number of rows only."""
        return f"<Known: {len(self.table)} rows>"


def known_places(register: Register) -> Known:
    """Return what the register holds, ready for screening."""
    table = pd.concat(
        [_nest_sites(register), _boxes(register), _parties(register)], ignore_index=True
    )
    order = ["last", "kind", "species", "season", "easting", "northing"]
    return Known(table.sort_values(order, kind="stable", na_position="first", ignore_index=True))


def _nest_sites(register: Register) -> pd.DataFrame:
    evidence = register.evidence
    sites = register.sites.loc[evidence["site"]]
    status = evidence["status"].astype(object)
    # Without a sign of breeding, the site's state is all that was seen that season.
    unseen = (evidence["atlas_code"] == 0).to_numpy() & status.notna().to_numpy()
    gone = unseen | status.isin(["lost", "blocked"]).to_numpy()
    return pd.DataFrame(
        {
            "kind": "nest site",
            "species": sites["species"].astype(object).to_numpy(),
            "season": evidence["season"].to_numpy(dtype=np.int64),
            "evidence": np.where(gone, status, _classes(evidence["atlas_code"])),
            "easting": sites["easting"].to_numpy(),
            "northing": sites["northing"].to_numpy(),
            "uncertainty_m": sites["uncertainty_m"].to_numpy(),
            "last": _last_dates(evidence["last_date"], evidence["season"]),
            "name": sites["name"].astype(object).to_numpy(),
        }
    )


def _classes(codes: pd.Series) -> npt.NDArray[np.object_]:
    """Return EBCC classes: possible 1-2, probable 3-9, confirmed 10-16."""
    numbers = codes.to_numpy(dtype=np.int64)
    words = np.array(["seen or heard", "possible", "probable", "confirmed"], dtype=object)
    found: npt.NDArray[np.object_] = words[np.digitize(numbers, (1, 3, 10))]
    return found


def _last_dates(dates: pd.Series, seasons: pd.Series) -> npt.NDArray[np.datetime64]:
    """Return the last date; for a season without one the end of July, when most young fly."""
    years = seasons.to_numpy(dtype=np.int64) - 1970  # where datetime64 begins
    assumed = years.astype("datetime64[Y]").astype("datetime64[s]") + _TO_JULY_S
    given = dates.to_numpy(dtype="datetime64[s]")
    return np.where(np.isnat(given), assumed, given)


def _boxes(register: Register) -> pd.DataFrame:
    boxes = register.boxes[register.boxes["removed_on"].isna()]
    checks = register.checks
    used = checks[checks["seen"] == "swift"].groupby("title")["date"].max()
    visits = set(register.box_visits["title"])
    last_use = used.reindex(boxes["title"]).to_numpy(dtype="datetime64[s]")
    is_used = ~np.isnat(last_use) | boxes["title"].isin(visits).to_numpy()
    fixed = boxes["fixed_on"].to_numpy(dtype="datetime64[s]")
    last = np.where(np.isnat(last_use), fixed, last_use)
    return pd.DataFrame(
        {
            "kind": "box",
            "species": "swift",
            "season": _years(last),
            "evidence": np.where(is_used, "used by swifts", "no use recorded"),
            "easting": boxes["easting"].to_numpy(),
            "northing": boxes["northing"].to_numpy(),
            "uncertainty_m": boxes["uncertainty_m"].to_numpy(),
            "last": last,
            "name": boxes["box"].astype(object).to_numpy(),
        }
    )


def _years(days: npt.NDArray[np.datetime64]) -> Ints:
    """Return each date's year, 0 where it is not known."""
    years = days.astype("datetime64[Y]").astype(np.int64) + 1970
    return np.where(np.isnat(days), 0, years)


def _parties(register: Register) -> pd.DataFrame:
    seen = register.sightings
    parties = seen[(seen["atlas_code"] == PARTY_CODE).to_numpy() & seen["easting"].notna()]
    return pd.DataFrame(
        {
            "kind": "screaming party",
            "species": parties["species"].astype(object).to_numpy(),
            "season": parties["season"].to_numpy(dtype=np.int64),
            "evidence": "probable",
            "easting": parties["easting"].to_numpy(),
            "northing": parties["northing"].to_numpy(),
            "uncertainty_m": parties["uncertainty_m"].to_numpy(),
            "last": parties["date"].to_numpy(dtype="datetime64[s]"),
            "name": None,
        }
    )


def distances_m(shape: BaseGeometry, places: Floats) -> Floats:
    """Return each place's distance from a site, 0 on it, in metres.

    Parameters
    ----------
    shape
        The site.
    places
        Eastings and northings, shape (n, 2).
    """
    if isinstance(shape, Point):
        apart: Floats = np.hypot(places[:, 0] - shape.x, places[:, 1] - shape.y)
        return apart
    shapely.prepare(shape)
    return np.asarray(shapely.distance(shape, shapely.points(places)), dtype=np.float64)


def bands_of(distance_m: Floats, *, on_site_m: float) -> Ints:
    """Return each distance's band: 0 on the site, then up to 25, 100, 500, 1000 m, else 5.

    A distance of just 25 m counts as within 25 m.
    """
    band = np.searchsorted(np.asarray(BAND_EDGES_M), distance_m, side="left") + 1
    return np.where(distance_m <= on_site_m, ON_SITE, band).astype(np.int64)


def on_site_reach_m(shape: BaseGeometry) -> float:
    """Return how far from a site's shape still is the site: only a point has a reach."""
    return POINT_SITE_M if isinstance(shape, Point) else 0.0


def screen(applications: pd.DataFrame, known: Known) -> pd.DataFrame:
    """Count what is known near each application.

    Parameters
    ----------
    applications
        From `merge_applications`; those without a shape are passed over.
    known
        From `known_places`.

    Returns
    -------
    DataFrame
        A row for each application and what was found in one band: application (its row id),
        band (0 to 4), kind, species, season, evidence, records, last (the newest date).
        A nest site counts once for each season.
    """
    table = known.table
    labels = ["kind", "species", "season", "evidence"]
    group = np.asarray(table.groupby(labels, sort=True).ngroup(), dtype=np.int64)
    groups = table[labels].assign(group=group).drop_duplicates("group").sort_values("group")
    count = len(groups)
    days = table["last"].to_numpy(dtype="datetime64[D]").astype(np.int64)
    places = _Places.of(table)
    parts = [
        (row_id, *_tally(shape, places, group, days, count=count))
        for row_id, shape in zip(applications.index, applications["shape"], strict=True)
        if shape is not None and count
    ]
    sizes = [len(slot) for _, slot, _, _ in parts]
    slots = _joined([slot for _, slot, _, _ in parts])
    found = pd.DataFrame(
        {
            "application": np.repeat([row_id for row_id, _, _, _ in parts], sizes),
            "band": slots // max(count, 1),
            "group": slots % max(count, 1),
            "records": _joined([records for _, _, records, _ in parts]),
            "last": _joined([newest for _, _, _, newest in parts])
            .astype("datetime64[D]")
            .astype("datetime64[s]"),
        }
    )
    named = found.merge(groups, on="group", how="left").drop(columns="group")
    return named[["application", "band", *labels, "records", "last"]]


class _Places(NamedTuple):
    """Places in the forms that are quick to measure; making points costs more than measuring."""

    east: Floats
    north: Floats
    points: npt.NDArray[np.object_]

    @classmethod
    def of(cls, table: pd.DataFrame) -> Self:
        """Return the places of a table."""
        east, north = (
            np.ascontiguousarray(table[name].to_numpy(dtype=np.float64))
            for name in ("easting", "northing")
        )
        return cls(east, north, np.asarray(shapely.points(east, north), dtype=object))


def _tally(
    shape: BaseGeometry, places: _Places, group: Ints, days: Ints, *, count: int
) -> tuple[Ints, Ints, Ints]:
    """Return what was found near a site: band and group in one number, records, newest day."""
    rows, band = _near(shape, places)
    slot = band * count + group[rows]
    records = np.bincount(slot, minlength=len(BAND_WORDS) * count)
    newest = np.zeros(len(records), dtype=np.int64)
    newest[slot] = days[rows]  # the oldest come first, so the newest stays
    hit = np.flatnonzero(records)
    return hit, records[hit], newest[hit]


def _near(shape: BaseGeometry, places: _Places) -> tuple[Ints, Ints]:
    """Return the rows of the places within the widest band, in order, with their bands.

    What is `far` from the middle of a site is between far - reach and far + reach from the site,
    where its box reaches that far. Only where a band ends in between is the distance taken to
    the outline itself, which costs a hundred times as much.
    """
    west, south, east, north = shape.bounds
    reach_m = math.hypot(east - west, north - south) / 2
    widest_m = BAND_EDGES_M[-1] + reach_m
    middle_e, middle_n = (west + east) / 2, (south + north) / 2
    inside = np.abs(places.east - middle_e) <= widest_m
    inside &= np.abs(places.north - middle_n) <= widest_m
    rows = np.flatnonzero(inside)
    far_m = np.hypot(places.east[rows] - middle_e, places.north[rows] - middle_n)
    on_site_m = on_site_reach_m(shape)
    if isinstance(shape, Point):
        band = bands_of(far_m, on_site_m=on_site_m)
    else:
        margin_m = reach_m + _ROUNDING_M
        band = bands_of(far_m - margin_m, on_site_m=on_site_m)
        unsure = (band == ON_SITE) | (band != bands_of(far_m + margin_m, on_site_m=on_site_m))
        shapely.prepare(shape)
        apart_m = shapely.distance(shape, places.points[rows[unsure]])
        band[unsure] = bands_of(apart_m, on_site_m=on_site_m)
    known = band < len(BAND_WORDS)
    return rows[known].astype(np.int64), band[known]


def _joined(arrays: list[Ints]) -> Ints:
    return np.concatenate(arrays) if arrays else np.empty(0, dtype=np.int64)


def age_class(last: dt.date, *, at: dt.date) -> Age:
    """Return how old a record of `last` is at `at`; a later record is under a year old."""
    years = (at - last).days / _DAYS_OF_YEAR
    if years < 1:
        return Age.UNDER_A_YEAR
    if years <= 1.5:  # noqa: PLR2004 - eighteen months
        return Age.TO_18_MONTHS
    return Age.TO_3_YEARS if years <= 3 else Age.OLDER  # noqa: PLR2004 - three years


def urgency(applications: pd.DataFrame, hits: pd.DataFrame, *, today: dt.date) -> pd.DataFrame:
    """Put applications that are still open in order: what is nearest, then who waits least.

    Parameters
    ----------
    applications, hits
        From `merge_applications` and `screen`.
    today
        Days left are counted from it.

    Returns
    -------
    DataFrame
        applications' columns with nearest_band (of any nest site or box, 5 for none), days_left
        (NaN if the council's date is not known), decided (bool); the most urgent first,
        decided ones last.
    """
    nests = hits[hits["kind"].isin(["nest site", "box"])]
    nearest = nests.groupby("application")["band"].min()
    band = nearest.reindex(applications.index).to_numpy(dtype=np.float64)
    due = applications["comments_due"]
    left = (due - pd.Timestamp(today)).dt.days.to_numpy(dtype=np.float64)
    table = applications.assign(
        nearest_band=np.where(np.isnan(band), len(BAND_WORDS), band).astype(np.int64),
        days_left=left,
        decided=applications["outcome"].notna(),
    )
    late = table["days_left"] < 0
    return (
        table.assign(late=late)
        .sort_values(["decided", "late", "nearest_band", "days_left", "reference"], kind="stable")
        .drop(columns="late")
    )
