"""Poisson regression of counts: the yearly change over sites, a ratio of rates.

The trend is the log-linear model of site by year with missing visits (McCullagh & Nelder 1989,
Generalized Linear Models, ch. 6; ter Braak et al. 1994 for counts of birds): a site's own level,
one rate of change, and a variance that may be larger than Poisson's, estimated from Pearson's
chi-square. The ratio of rates is modified Poisson regression with clusters (Zou & Donner 2013,
Stat. Methods Med. Res. 22:661).
"""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
from scipy.stats import t as student

if TYPE_CHECKING:
    import pandas as pd

    from eaveline.estimation.survival import Floats

FEWEST_SITES = 4
FEWEST_YEARS = 3
FEWEST_BIRDS = 30
"""Below any of these a trend is not given (our choice, no source)."""
FEWEST_EVENTS = 5
FEWEST_CLUSTERS = 10
"""Below these, in either group, a ratio is not given (our choice, no source)."""
_WIDEST = 50.0
"""A standard error above this is the mark of a fit that has no end."""


@dataclass(frozen=True, slots=True)
class Ratio:
    """A ratio with its 95% interval: per year for a trend, between groups for rates."""

    value: float
    low: float
    high: float
    dispersion: float
    """Pearson's chi-square by degrees of freedom; 1 where counts vary as Poisson's do."""


@dataclass(frozen=True, slots=True, eq=False)
class PoissonFit:
    """A fitted log-linear model.

    Attributes
    ----------
    coefficients, errors
        On the log scale, shape (number of columns,); errors before overdispersion.
    deviance, pearson
        Goodness of fit.
    freedom
        Residual degrees of freedom.
    """

    coefficients: Floats
    errors: Floats
    deviance: float
    pearson: float
    freedom: int

    @property
    def dispersion(self) -> float:
        """Pearson's chi-square by degrees of freedom."""
        return self.pearson / self.freedom


def fit_poisson(
    counts: npt.ArrayLike, columns: npt.ArrayLike, *, exposure: npt.ArrayLike | None = None
) -> PoissonFit:
    """Fit a log-linear Poisson model.

    Parameters
    ----------
    counts
        Whole numbers, shape (n,).
    columns
        The model's columns, shape (n, p), of full rank.
    exposure
        What a count is proportional to; its logarithm is the offset. Shape (n,).
    """
    result = _fit(counts, columns, exposure=exposure)
    return PoissonFit(
        np.asarray(result.params),
        np.asarray(result.bse),
        float(result.deviance),
        float(result.pearson_chi2),
        int(result.df_resid),
    )


def _fit(
    counts: npt.ArrayLike,
    columns: npt.ArrayLike,
    *,
    exposure: npt.ArrayLike | None = None,
    **how: Any,
) -> Any:
    # Loaded here because it takes seconds, and only a build with enough records needs it.
    from statsmodels.genmod.families import Poisson  # noqa: PLC0415
    from statsmodels.genmod.generalized_linear_model import GLM  # noqa: PLC0415
    from statsmodels.tools.sm_exceptions import PerfectSeparationWarning  # noqa: PLC0415

    model = GLM(
        np.asarray(counts, dtype=np.float64),
        np.asarray(columns, dtype=np.float64),
        family=Poisson(),
        exposure=None if exposure is None else np.asarray(exposure, dtype=np.float64),
    )
    with warnings.catch_warnings():
        # Counts that fit to the last bird are rare, and no fault.
        warnings.simplefilter("ignore", PerfectSeparationWarning)
        return model.fit(maxiter=100, **how)


def yearly_change(counts: pd.DataFrame) -> Ratio | None:
    """Return the yearly change of counts over sites, or None where there are too few to say.

    Visits that did not happen are simply not in the table. A site seen in one year only, or
    where nothing was ever counted, says nothing of change and is left out.

    Parameters
    ----------
    counts
        One row for each site and year visited: site, year, birds (the sum over visits),
        visits (1 or more), minutes (of a visit, on average). Birds are proportional to the
        number of visits and, being the most seen at once, not to their length, which
        enters as a covariate where it varies.

    Notes
    -----
    The variance is taken as dispersion x mean (never less than Poisson's), and the interval
    from Student's t with the residual degrees of freedom.
    """
    table = _informative(counts)
    sites = table["site"].nunique()
    enough = (
        sites >= FEWEST_SITES
        and table["year"].nunique() >= FEWEST_YEARS
        and table["birds"].sum() >= FEWEST_BIRDS
    )
    if not enough:
        return None
    columns = _trend_columns(table)
    if len(table) - columns.shape[1] < FEWEST_YEARS:
        return None
    fit = fit_poisson(
        table["birds"].to_numpy(), columns, exposure=table["visits"].to_numpy(dtype=np.float64)
    )
    scale = max(fit.dispersion, 1.0)
    return _interval(
        float(fit.coefficients[0]),
        float(fit.errors[0]) * math.sqrt(scale),
        freedom=fit.freedom,
        dispersion=fit.dispersion,
    )


def _informative(counts: pd.DataFrame) -> pd.DataFrame:
    ordered = counts.sort_values(["site", "year"])
    by_site = ordered.groupby("site")
    informative = (by_site["year"].transform("nunique") > 1) & (
        by_site["birds"].transform("sum") > 0
    )
    return ordered[informative]


def _trend_columns(table: pd.DataFrame) -> Floats:
    """Return the model's columns: year first, perhaps length of visits, then the sites."""
    year = table["year"].to_numpy(dtype=np.float64)
    site = np.unique(table["site"].to_numpy(), return_inverse=True)[1]
    sites = np.eye(int(site.max()) + 1)[site]
    parts = [(year - year.mean())[:, None]]
    length = np.log(np.maximum(table["minutes"].to_numpy(dtype=np.float64), 1.0))
    with_length = np.hstack([*parts, (length - length.mean())[:, None], sites])
    if np.linalg.matrix_rank(with_length) == with_length.shape[1]:
        return with_length
    return np.hstack([*parts, sites])


def rate_ratio(
    events: npt.ArrayLike,
    in_group: npt.ArrayLike,
    *,
    cluster: npt.ArrayLike,
    stratum: npt.ArrayLike,
) -> Ratio | None:
    """Return how many times as often the group has the event, or None where too few to say.

    Parameters
    ----------
    events
        0 or 1 for each trial, such as a box's season of waiting; shape (n,).
    in_group
        Whether each trial is of the group.
    cluster
        Trials of one cluster may depend on each other.
    stratum
        Compared within.
    """
    happened = np.asarray(events, dtype=np.float64)
    group = np.asarray(in_group, dtype=bool)
    names, number = np.unique(np.asarray(cluster), return_inverse=True)
    for part in (group, ~group):
        few = len(np.unique(number[part])) < FEWEST_CLUSTERS
        if few or happened[part].sum() < FEWEST_EVENTS:
            return None
    strata = np.unique(np.asarray(stratum), return_inverse=True)[1]
    # A stratum without any event has no rate to compare.
    lively = np.bincount(strata, weights=happened) > 0
    kept = lively[strata]
    strata = np.unique(strata[kept], return_inverse=True)[1]
    columns = np.hstack([group[kept][:, None], np.eye(int(strata.max()) + 1)[strata]])
    if np.linalg.matrix_rank(columns) < columns.shape[1]:
        return None
    result = _fit(
        happened[kept],
        columns,
        cov_type="cluster",
        cov_kwds={"groups": number[kept], "use_correction": True},
    )
    return _interval(
        float(result.params[0]),
        float(result.bse[0]),
        freedom=len(names) - columns.shape[1],
        dispersion=1.0,
    )


def _interval(log: float, error: float, *, freedom: int, dispersion: float) -> Ratio | None:
    if not (math.isfinite(error) and error < _WIDEST) or freedom < 1:
        return None
    reach = float(student.ppf(0.975, freedom)) * error
    return Ratio(math.exp(log), math.exp(log - reach), math.exp(log + reach), dispersion)
