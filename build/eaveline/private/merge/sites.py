"""Joins nest evidence into sites: one for each building and species, over all seasons."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.spatial import cKDTree

from eaveline.private.intake.crossref import names
from eaveline.private.intake.vocabulary import BEHAVIOUR_CODES, NEST_EVIDENCE_CODE
from eaveline.private.merge.decisions import Decisions, joined_labels, positions_of
from eaveline.private.places.houses import flats
from eaveline.private.places.locate import BY_ADDRESS

NAMED_APART_M = 30.0
"""Beyond both uncertainties and this, one site name is in two places (common practice)."""

IN_USE_CODE = 6
"""A row that says 'in use' and no more is taken as a bird at the site: probable, not confirmed."""


Ints = npt.NDArray[np.int64]
AssignBuilding = Callable[
    [npt.NDArray[np.float64], npt.NDArray[np.float64], npt.NDArray[np.float64]], Ints
]
"""Takes easting, northing and uncertainty; returns the building nearest within it, or -1."""


@dataclass(frozen=True, repr=False)
class MergedSites:
    """Nest sites after merging.

    Attributes
    ----------
    sites
        One row for each, indexed by site number: species, building (-1 if it is not known
        which), easting, northing, uncertainty_m, name, share (bool), share_since (season),
        refused (a row says share = no), agreed (flats in the rows that say share = yes,
        "" for a row that names none).
    evidence
        One row for each site and season: site, season, atlas_code (the highest), status,
        nests, last_date.
    members
        For each nest-site row merged away, the row of the same site and season it went into.
    joins
        row_id, into, metres: how far apart the merged rows were.
    site_of_row
        For every nest-site row and every sighting joined to a site, the site's number.
    doubtful
        Rows of one name far apart: first_id, second_id, metres.
    """

    sites: pd.DataFrame
    evidence: pd.DataFrame
    members: dict[int, int]
    joins: pd.DataFrame
    site_of_row: dict[int, int]
    doubtful: pd.DataFrame

    def __repr__(self) -> str:
        """Show counts only."""
        return f"<MergedSites: {len(self.sites)} sites>"


def merge_sites(
    table: pd.DataFrame,
    sightings: pd.DataFrame,
    *,
    decisions: Decisions,
    assign_building: AssignBuilding,
) -> MergedSites:
    """Join nest-site rows and sightings at buildings into sites.

    A row is joined to one building before anything else. Sites are then one for each
    building and species; merging never crosses two buildings. Evidence that fits no
    building stays at its place, one site for each name, or for each place without a name.

    Parameters
    ----------
    table
        The usable rows of nest_sites/, indexed by row id; the place may be missing where
        another row of the same site name has it.
    sightings
        Merged sightings with atlas code 6 or more that are not about a box.
    decisions
        Rows that are the same site, or are not.
    assign_building
        See `AssignBuilding`.
    """
    rows, doubtful = _with_places(table.sort_values("key", kind="stable"))
    reports = pd.concat([_nest_reports(rows), _sighting_reports(sightings)])
    reports = reports.sort_values(["key"], kind="stable")
    building = _buildings(reports, assign_building)
    label = _identities(reports, building)
    keys = reports["key"].to_numpy(dtype=np.uint64)
    label = joined_labels(
        label, _one_building(positions_of(decisions.same, keys), building, reports)
    )
    label = _split(label, positions_of(decisions.different, keys))
    numbers = pd.factorize(label)[0]
    reports = reports.assign(site=numbers, building=building)
    members, joins = _members(reports)
    return MergedSites(
        sites=_sites(reports),
        evidence=_evidence(reports),
        members=members,
        joins=joins,
        site_of_row=dict(zip(reports.index.tolist(), numbers.tolist(), strict=True)),
        doubtful=doubtful,
    )


def _with_places(rows: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Give rows without a place that of the most precise row of the same site name."""
    title = names(rows["site"])
    placed = rows[rows["easting"].notna()].assign(title=title)
    named = placed[placed["title"].notna()].sort_values(["title", "uncertainty_m", "key"])
    anchor = named.drop_duplicates("title").set_index("title")
    filled = rows.copy()
    missing = rows.index[rows["easting"].isna()]
    for column in ("easting", "northing", "uncertainty_m", "method"):
        filled.loc[missing, column] = title.reindex(missing).map(anchor[column])
    metres = np.hypot(
        named["easting"] - named["title"].map(anchor["easting"]),
        named["northing"] - named["title"].map(anchor["northing"]),
    )
    allowed = named["uncertainty_m"] + named["title"].map(anchor["uncertainty_m"]) + NAMED_APART_M
    far = metres > allowed
    anchor_ids = dict(zip(anchor.index, named.drop_duplicates("title").index, strict=True))
    doubtful = pd.DataFrame(
        {
            "first_id": np.array(
                [anchor_ids[name] for name in named["title"][far]], dtype=np.int64
            ),
            "second_id": np.asarray(named.index[far], dtype=np.int64),
            "metres": np.round(np.asarray(metres[far], dtype=np.float64), 1),
        }
    )
    strayed = named.index[far]
    # A row of a name that lies elsewhere is not the named site; only its own place counts.
    filled["title"] = title.where(~title.index.isin(strayed))
    near = named.index[~far]
    for column in ("easting", "northing", "uncertainty_m", "method"):
        filled.loc[near, column] = named.loc[near, "title"].map(anchor[column]).to_numpy()
    filled["own_easting"] = rows["easting"].where(rows["easting"].notna(), filled["easting"])
    filled["own_northing"] = rows["northing"].where(rows["northing"].notna(), filled["northing"])
    return filled, doubtful


def _nest_reports(rows: pd.DataFrame) -> pd.DataFrame:
    seen = rows["behaviour"].astype(object).map(BEHAVIOUR_CODES).astype("float64")
    status = rows["status"].astype(object)
    said = pd.Series(np.where(status == "in use", IN_USE_CODE, 0), index=rows.index)
    code = seen.fillna(said.astype("float64")).astype(np.int64)
    season = rows["season"].where(rows["season"].notna(), rows["date"].dt.year).astype(np.int64)
    return pd.DataFrame(
        {
            "key": rows["key"],
            "kind": "nest_sites",
            "title": rows["title"],
            "name": rows["site"].astype(object),
            "species": rows["species"].astype(object),
            "season": season,
            "date": rows["date"],
            "atlas_code": code,
            "status": status,
            "nests": rows["nests"],
            "share": (rows["share"] == "yes").to_numpy(),
            "refused": (rows["share"] == "no").to_numpy(),
            "flat": flats(rows["house"]),
            "easting": rows["easting"],
            "northing": rows["northing"],
            "uncertainty_m": rows["uncertainty_m"],
            "own_easting": rows["own_easting"],
            "own_northing": rows["own_northing"],
            "at_address": False,
        },
        index=rows.index,
    )


def _sighting_reports(sightings: pd.DataFrame) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "key": sightings["key"],
            "kind": "sightings",
            "title": None,
            "name": None,
            "species": sightings["species"],
            "season": sightings["season"].astype(np.int64),
            "date": sightings["date"],
            "atlas_code": sightings["atlas_code"].astype(np.int64),
            "status": None,
            "nests": np.nan,
            "share": False,
            "refused": False,
            "flat": "",
            "easting": sightings["easting"],
            "northing": sightings["northing"],
            "uncertainty_m": sightings["uncertainty_m"],
            "own_easting": sightings["easting"],
            "own_northing": sightings["northing"],
            "at_address": (sightings["method"] == BY_ADDRESS).to_numpy(dtype=bool),
        },
        index=sightings.index,
    )


def _buildings(reports: pd.DataFrame, assign_building: AssignBuilding) -> Ints:
    """Join each report to a building; a sighting prefers one already known as a site.

    A sighting's place is often where the watcher stood, so of the buildings within its
    uncertainty the one with a nest of that species on the group's own list is the likeliest.
    One that names its house is about that house.
    """
    place = [
        reports[name].to_numpy(dtype=np.float64)
        for name in ("easting", "northing", "uncertainty_m")
    ]
    building = assign_building(*place)
    listed = (reports["kind"] == "nest_sites").to_numpy() & (building >= 0)
    named = reports["at_address"].to_numpy(dtype=bool) & (building >= 0)
    vague = (reports["kind"] == "sightings").to_numpy() & ~named
    for species in sorted(reports["species"].unique()):
        own = (reports["species"] == species).to_numpy()
        known = np.flatnonzero(listed & own)
        seeking = np.flatnonzero(own & vague)
        if not len(known) or not len(seeking):
            continue
        tree = cKDTree(np.column_stack([place[0][known], place[1][known]]))
        apart, nearest = tree.query(np.column_stack([place[0][seeking], place[1][seeking]]))
        within = apart <= place[2][seeking] + place[2][known[np.asarray(nearest)]]
        building[seeking[within]] = building[known[np.asarray(nearest)[within]]]
    return building


def _identities(reports: pd.DataFrame, building: Ints) -> Ints:
    """Return a label for each report: its building and species, else its name, else its place."""
    species = pd.factorize(reports["species"], sort=True)[0]
    identity = [
        (int(kind), "building", str(number))
        if number >= 0
        else (int(kind), "name", str(title))
        if isinstance(title, str)
        else (int(kind), "place", f"{east:.0f} {north:.0f}")
        for kind, number, title, east, north in zip(
            species,
            building,
            reports["title"],
            reports["easting"],
            reports["northing"],
            strict=True,
        )
    ]
    position: dict[tuple[int, str, str], int] = {}
    return np.array(
        [position.setdefault(name, index) for index, name in enumerate(identity)], dtype=np.int64
    )


def _one_building(
    pairs: tuple[Ints, Ints], building: Ints, reports: pd.DataFrame
) -> tuple[Ints, Ints]:
    """Drop decisions that would join two species or two known buildings."""
    first, second = pairs
    species = reports["species"].to_numpy()
    fits = (species[first] == species[second]) & (
        (building[first] == building[second]) | (building[first] < 0) | (building[second] < 0)
    )
    return first[fits], second[fits]


def _split(label: Ints, pairs: tuple[Ints, Ints]) -> Ints:
    """Give the second row of each 'different' pair in one site a site of its own."""
    apart = label.copy()
    for first, second in zip(*pairs, strict=True):
        if apart[first] == apart[second]:
            apart[second] = len(label) + int(second)
    return apart


def _sites(reports: pd.DataFrame) -> pd.DataFrame:
    best = (
        reports.sort_values(["site", "uncertainty_m", "kind", "key"])
        .drop_duplicates("site")
        .set_index("site")
    )
    named = reports[reports["name"].notna()].sort_values(["site", "season", "key"])
    grouped = reports.groupby("site")
    building = grouped["building"].max()
    shared = reports[reports["share"]]
    return pd.DataFrame(
        {
            "species": best["species"],
            "building": building,
            "easting": best["easting"],
            "northing": best["northing"],
            "uncertainty_m": best["uncertainty_m"],
            "name": named.groupby("site")["name"].last().reindex(best.index),
            # A refusal in any row counts, however often others say yes: publish less.
            "share": grouped["share"].any() & ~grouped["refused"].any(),
            "share_since": shared.groupby("site")["season"].min().reindex(best.index),
            "refused": grouped["refused"].any(),
            "agreed": _agreed(shared, best.index),
            "key": grouped["key"].min(),
        }
    ).sort_index()


def _agreed(shared: pd.DataFrame, sites: pd.Index) -> pd.Series:
    """Return for each site the flats whose households agreed."""
    found = {site: frozenset(group) for site, group in shared.groupby("site")["flat"]}
    return pd.Series([found.get(site, frozenset()) for site in sites], index=sites, dtype=object)


_STATUS_ORDER = ("not checked", "quiet this season", "blocked", "in use", "lost")


def _evidence(reports: pd.DataFrame) -> pd.DataFrame:
    rank = {status: number for number, status in enumerate(_STATUS_ORDER)}
    work = reports.assign(rank=reports["status"].map(rank).fillna(-1))
    grouped = work.groupby(["site", "season"], as_index=False).agg(
        atlas_code=("atlas_code", "max"),
        rank=("rank", "max"),
        nests=("nests", "max"),
        last_date=("date", "max"),
    )
    active = (grouped["atlas_code"] >= NEST_EVIDENCE_CODE) & (grouped["rank"] < rank["in use"])
    grouped.loc[active, "rank"] = rank["in use"]
    status = grouped["rank"].map(
        lambda number: _STATUS_ORDER[int(number)] if number >= 0 else "not checked"
    )
    return grouped.drop(columns="rank").assign(status=status)


def _members(reports: pd.DataFrame) -> tuple[dict[int, int], pd.DataFrame]:
    """Merge nest-site rows of one site, season and status into the one with most evidence."""
    rows = reports[reports["kind"] == "nest_sites"].assign(
        status=lambda table: table["status"].fillna("in use"), row_id=lambda table: table.index
    )
    rows = rows.sort_values(
        ["site", "season", "status", "atlas_code", "uncertainty_m", "key"],
        ascending=[True, True, True, False, True, True],
    )
    head = rows.groupby(["site", "season", "status"], sort=False)["row_id"].transform("first")
    again = rows[(head != rows["row_id"])]
    into = head[again.index]
    metres = np.hypot(
        again["own_easting"].to_numpy() - rows.loc[into, "own_easting"].to_numpy(),
        again["own_northing"].to_numpy() - rows.loc[into, "own_northing"].to_numpy(),
    )
    joins = pd.DataFrame(
        {
            "row_id": again.index.to_numpy(dtype=np.int64),
            "into": into.to_numpy(dtype=np.int64),
            "metres": np.round(metres.astype(np.float64), 1),
        }
    )
    return dict(zip(joins["row_id"].tolist(), joins["into"].tolist(), strict=True)), joins
