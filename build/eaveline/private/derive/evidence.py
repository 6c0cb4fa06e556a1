"""What is known of each nest site: its class by season, its last confirmation, its loss."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.private.intake.vocabulary import NEST_EVIDENCE_CODE
from eaveline.public.records import EvidenceClass

YEARLY_WEIGHT = 0.87
"""How much an old record is worth a year later: about half of swifts' entrances are still in
use after five years (Verkade, Dutch study of entrances), and 0.87 to the fifth is a half."""
_CLASS_FROM = (
    (10, EvidenceClass.CONFIRMED),
    (3, EvidenceClass.PROBABLE),
    (1, EvidenceClass.POSSIBLE),
)
"""The lowest code of each class (second European Breeding Bird Atlas)."""


def evidence_class(code: int) -> EvidenceClass | None:
    """Return the class of an atlas code; None for 0, a bird that need not breed here.

    Examples
    --------
    >>> [str(evidence_class(code)) for code in (0, 2, 9, 10)]
    ['None', 'possible', 'probable', 'confirmed']
    """
    return next((kind for lowest, kind in _CLASS_FROM if code >= lowest), None)


def site_seasons(evidence: pd.DataFrame) -> pd.DataFrame:
    """Return each site's evidence by season, with its class.

    Parameters
    ----------
    evidence
        Merged evidence: site, season, atlas_code, status, nests, last_date.

    Returns
    -------
    pandas.DataFrame
        The same rows and index with `evidence` (the class, or empty); nothing is carried
        forward from another season.
    """
    classes = [evidence_class(int(code)) for code in evidence["atlas_code"]]
    return evidence.assign(
        evidence=np.array([kind.value if kind else "" for kind in classes], dtype=object)
    )


def site_status(sites: pd.DataFrame, evidence: pd.DataFrame, *, season: int) -> pd.DataFrame:
    """Return what each site is worth as evidence in a season.

    Parameters
    ----------
    sites, evidence
        Merged; see `private.merge.sites`.
    season
        The season to look back from; later evidence is left out.

    Returns
    -------
    pandas.DataFrame
        On the index of `sites`: highest_code and evidence (of that season alone, 0 and empty
        where there is none), last_confirmed and last_occupied (seasons, or NaN), weight
        (0.87 for each year since the last confirmation, 0 without one or once the site is
        lost), lost_in (the season, if nothing was seen there since), status (the latest).
    """
    past = evidence[evidence["season"] <= season]
    lost = past["status"] == "lost"
    occupied = (past["atlas_code"] >= NEST_EVIDENCE_CODE) & ~lost
    confirmed = (past["atlas_code"] >= _CLASS_FROM[0][0]) & ~lost
    now = past[(past["season"] == season) & ~lost].groupby("site")["atlas_code"].max()
    table = pd.DataFrame(index=sites.index)
    code = now.reindex(sites.index).fillna(0).astype(np.int64)
    last_confirmed = _last_season(past[confirmed], sites.index)
    last_occupied = _last_season(past[occupied], sites.index)
    last_lost = _last_season(past[lost], sites.index)
    # A site seen in use again after it was called lost is not lost.
    gone = last_lost.notna() & ~(last_occupied > last_lost)
    weight = np.where(
        last_confirmed.notna() & ~gone, YEARLY_WEIGHT ** (season - last_confirmed), 0.0
    )
    latest = past.sort_values(["site", "season"]).drop_duplicates("site", keep="last")
    return table.assign(
        highest_code=code,
        evidence=[kind.value if (kind := evidence_class(int(each))) else "" for each in code],
        last_confirmed=last_confirmed,
        last_occupied=last_occupied,
        weight=_rounded(weight),
        lost_in=last_lost.where(gone),
        status=latest.set_index("site")["status"].reindex(sites.index),
    )


def _last_season(evidence: pd.DataFrame, index: pd.Index) -> pd.Series:
    return evidence.groupby("site")["season"].max().reindex(index).astype(np.float64)


def _rounded(weight: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    return np.round(weight, 3)
