"""How near a place is to swifts, from evidence weighted by kind and age.

Each piece of evidence has a weight (`WEIGHTS`), loses a part of it every year and counts
less with distance. The sum S of what is left near a place, put on a scale from 0 to 1 as
S / (1 + S), is its *pull*: one fresh, certain nest on the spot makes it one half, a colony
more.

An entrance in use is still used after five years with odds of about one half, so a year
keeps 0.87 of the weight (Verkade and others 2015, Limosa 88: 164-172: 0.87 ** 5 = 0.50). The
weights of the kinds and the 150 m of the fall with distance are common practice without a
source: the wall of a nest and up to a hundred metres are good, half a kilometre is poor.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.spatial import cKDTree

from eaveline.private.intake.vocabulary import BEHAVIOUR_CODES
from eaveline.private.merge.sightings import is_nest_evidence
from eaveline.private.register import Register

YEARLY = 0.87
FALL_M = 150.0
REACH_M = 600.0
"""Beyond it evidence adds less than a fiftieth of its weight and is left out."""
CONFIRMED_CODE = 10
PARTY_CODE = BEHAVIOUR_CODES["screaming party"]
PARTY_CELL_M = 100.0
"""Parties of one season within a square this wide are one piece of evidence."""
LOST_SEASONS = 2
"""So long after the loss birds still come back to the place and look for another."""

CONFIRMED, PROBABLE, WALL, PARTY, BOX, LOST = (
    "a nest in use",
    "a likely nest",
    "birds visiting a wall",
    "low screaming parties",
    "a box in use",
    "a nest site lost",
)
WEIGHTS = {CONFIRMED: 1.0, BOX: 1.0, LOST: 1.0, PROBABLE: 0.6, WALL: 0.6, PARTY: 0.3}

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, repr=False)
class Strongest:
    """The piece of evidence that adds most to the pull of each of some places.

    Attributes
    ----------
    pull
        See `pull`.
    row
        The evidence's row number, or -1 where there is none within reach.
    away_m
        How far off it is; infinite where there is none.
    """

    pull: Floats
    row: npt.NDArray[np.int64]
    away_m: Floats


def swift_evidence(register: Register) -> pd.DataFrame:
    """Return every piece of evidence that swifts live near a place.

    Returns
    -------
    pandas.DataFrame
        easting, northing, season, kind (see `WEIGHTS`), weight, source (which site, box or
        square it speaks of: of several pieces on one, only the strongest counts) and
        building (-1 if unknown).
    """
    parts = [_nests(register), _parties(register), _boxes_in_use(register)]
    table = pd.concat([part for part in parts if len(part)] or parts, ignore_index=True)
    table = table.assign(weight=table["kind"].map(WEIGHTS).astype(np.float64))
    order = ["season", "source", "kind", "easting", "northing"]
    return table.sort_values(order, ignore_index=True)


def _nests(register: Register) -> pd.DataFrame:
    sites = register.sites[register.sites["species"] == "swift"]
    seen = register.evidence.join(
        sites[["easting", "northing", "building"]], on="site", how="inner"
    )
    code = seen["atlas_code"].fillna(0).to_numpy(dtype=np.float64)
    lost = seen["status"].isin(["lost", "blocked"]).to_numpy()
    quiet = seen["status"].isin(["quiet this season", "not checked"]).to_numpy()
    kind = np.select(
        [lost, code >= CONFIRMED_CODE, code > BEHAVIOUR_CODES["visiting wall or eaves"], code > 0],
        [LOST, CONFIRMED, PROBABLE, WALL],
        default="",
    )
    table = pd.DataFrame(
        {
            "easting": seen["easting"].to_numpy(dtype=np.float64),
            "northing": seen["northing"].to_numpy(dtype=np.float64),
            "season": seen["season"].to_numpy(dtype=np.int64),
            "kind": kind.astype(object),
            "source": [f"site {site}" for site in seen["site"]],
            "building": seen["building"].to_numpy(dtype=np.int64),
        }
    )
    result: pd.DataFrame = table[(kind != "") & ~(quiet & ~lost & (code == 0))]
    return result


def _parties(register: Register) -> pd.DataFrame:
    """Return low screaming parties: one for each square and season, with no caller running."""
    rows = register.sightings
    rows = rows[
        (rows["species"] == "swift").to_numpy()
        & (rows["atlas_code"] == PARTY_CODE).to_numpy()
        & ~rows["calls_playing"].to_numpy(dtype=bool)
        & ~is_nest_evidence(rows).to_numpy(dtype=bool)
        & rows["easting"].notna().to_numpy()
        & (rows["uncertainty_m"] <= FALL_M).to_numpy()
    ]
    squares = [
        f"square {east} {north}"
        for east, north in zip(
            (rows["easting"] // PARTY_CELL_M).astype(np.int64),
            (rows["northing"] // PARTY_CELL_M).astype(np.int64),
            strict=True,
        )
    ]
    table = pd.DataFrame(
        {
            "easting": rows["easting"].to_numpy(dtype=np.float64),
            "northing": rows["northing"].to_numpy(dtype=np.float64),
            "season": rows["season"].to_numpy(dtype=np.int64),
            "kind": PARTY,
            "source": np.array(squares, dtype=object),
            "building": -1,
        }
    )
    one_each = table.groupby(["source", "season", "kind", "building"])
    return one_each[["easting", "northing"]].mean().reset_index()


def _boxes_in_use(register: Register) -> pd.DataFrame:
    used = pd.concat(
        [
            register.checks.loc[register.checks["seen"] == "swift", ["title", "season"]],
            register.box_visits[["title", "season"]],
        ]
    ).drop_duplicates()
    places = register.boxes.drop_duplicates("title", keep="last").set_index("title")
    seen = used.join(places[["easting", "northing", "building"]], on="title", how="inner")
    return pd.DataFrame(
        {
            "easting": seen["easting"].to_numpy(dtype=np.float64),
            "northing": seen["northing"].to_numpy(dtype=np.float64),
            "season": seen["season"].to_numpy(dtype=np.int64),
            "kind": BOX,
            "source": [f"box {title}" for title in seen["title"]],
            "building": seen["building"].to_numpy(dtype=np.int64),
        }
    )


def as_of(evidence: pd.DataFrame, season: int) -> pd.DataFrame:
    """Return the evidence known in a season, with each source's strongest weight that year.

    What came later is left out, so that a judgement of the past uses no later knowledge.
    A nest lost stays evidence for `LOST_SEASONS`, and then its site is none any more.

    Returns
    -------
    pandas.DataFrame
        The columns of `swift_evidence`, `weight` aged; one row for each source.
    """
    known = evidence[evidence["season"] <= season]
    lost = known[known["kind"] == LOST].groupby("source")["season"].max()
    gone_in = known["source"].map(lost).astype(np.float64)
    before_loss = gone_in.notna() & (known["season"] <= gone_in) & (known["kind"] != LOST)
    over = (known["kind"] == LOST) & (season - known["season"] > LOST_SEASONS)
    known = known[~before_loss & ~over]
    aged = known.assign(weight=known["weight"] * YEARLY ** (season - known["season"]))
    best = aged.sort_values(
        ["source", "weight", "season"], ascending=[True, False, False], kind="stable"
    )
    return best.drop_duplicates("source").reset_index(drop=True)


def pull(
    easting: npt.ArrayLike,
    northing: npt.ArrayLike,
    known: pd.DataFrame,
    *,
    except_boxes_on: npt.ArrayLike | None = None,
) -> Floats:
    """Return the pull of places, from 0 (no sign of swifts) up to 1.

    Parameters
    ----------
    easting, northing
        Places in metres, shape (n,).
    known
        Evidence with aged weights; see `as_of`.
    except_boxes_on
        For each place a building whose own boxes are not evidence for it, or -1.

    Returns
    -------
    numpy.ndarray
        S / (1 + S) with S = sum(weight * exp(-distance / FALL_M)), shape (n,).
    """
    return strongest(easting, northing, known, except_boxes_on=except_boxes_on).pull


def strongest(
    easting: npt.ArrayLike,
    northing: npt.ArrayLike,
    known: pd.DataFrame,
    *,
    except_boxes_on: npt.ArrayLike | None = None,
) -> Strongest:
    """Return the pull of places and what adds most to it; see `pull`."""
    places = np.column_stack([easting, northing]).astype(np.float64)
    count = len(places)
    row = np.full(count, -1, dtype=np.int64)
    away = np.full(count, np.inf)
    if not len(known) or not count:
        return Strongest(np.zeros(count), row, away)
    spots = known[["easting", "northing"]].to_numpy(dtype=np.float64)
    near = cKDTree(places).sparse_distance_matrix(cKDTree(spots), REACH_M, output_type="ndarray")
    share = known["weight"].to_numpy()[near["j"]] * np.exp(-near["v"] / FALL_M)
    if except_boxes_on is not None:
        own = np.asarray(except_boxes_on)[near["i"]]
        home = known["building"].to_numpy()[near["j"]]
        is_box = (known["kind"] == BOX).to_numpy()[near["j"]]
        share = np.where(is_box & (own >= 0) & (own == home), 0.0, share)
    # Summed in an order of their own, so that the tree's walk cannot change the last bit.
    order = np.lexsort((near["j"], -share, near["i"]))
    place, share = near["i"][order], share[order]
    total = np.bincount(place, weights=share, minlength=count)
    first = np.flatnonzero(np.diff(place, prepend=-1) > 0)
    row[place[first]] = near["j"][order][first]
    away[place[first]] = near["v"][order][first]
    return Strongest(total / (1.0 + total), row, away)


def distance_to(easting: npt.ArrayLike, northing: npt.ArrayLike, known: pd.DataFrame) -> Floats:
    """Return the distance to the nearest evidence, in metres; infinite if there is none."""
    places = np.column_stack([easting, northing]).astype(np.float64)
    if not len(known):
        return np.full(len(places), np.inf)
    away, _ = cKDTree(known[["easting", "northing"]].to_numpy(dtype=np.float64)).query(places)
    return np.asarray(away, dtype=np.float64)
