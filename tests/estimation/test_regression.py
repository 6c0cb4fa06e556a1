"""Poisson models, against a published worked example."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from eaveline.estimation.regression import fit_poisson, rate_ratio, yearly_change

# McCullagh & Nelder 1989, Generalized Linear Models, 6.3.2: damage to cargo ships.
# type, year of building, period of service, months of service, damages.
SHIPS = """
A 60 60 127 0;A 60 75 63 0;A 65 60 1095 3;A 65 75 1095 4;A 70 60 1512 6;A 70 75 3353 18
A 75 75 2244 11;B 60 60 44882 39;B 60 75 17176 29;B 65 60 28609 58;B 65 75 20370 53
B 70 60 7064 12;B 70 75 13099 44;B 75 75 7117 18;C 60 60 1179 1;C 60 75 552 1;C 65 60 781 0
C 65 75 676 1;C 70 60 783 6;C 70 75 1948 2;C 75 75 274 1;D 60 60 251 0;D 60 75 105 0
D 65 60 288 0;D 65 75 192 0;D 70 60 349 2;D 70 75 1208 11;D 75 75 2051 4;E 60 60 45 0
E 65 60 789 7;E 65 75 437 7;E 70 60 1157 5;E 70 75 2161 12;E 75 75 542 1
"""


def test_the_ships() -> None:
    lines = [line.split() for line in SHIPS.replace("\n", ";").split(";") if line]
    ships = pd.DataFrame(lines, columns=["type", "year", "period", "months", "damages"])
    columns = np.column_stack(
        [
            np.ones(len(ships)),
            *[ships["type"] == letter for letter in "BCDE"],
            *[ships["year"] == year for year in ("65", "70", "75")],
            ships["period"] == "75",
        ]
    )
    fit = fit_poisson(ships["damages"].astype(int), columns, exposure=ships["months"].astype(int))
    published = [-6.406, -0.543, -0.687, -0.076, 0.326, 0.697, 0.818, 0.453, 0.384]
    assert fit.coefficients == pytest.approx(published, abs=0.0006)
    assert fit.deviance == pytest.approx(38.695, abs=0.001)
    assert fit.freedom == 25
    assert fit.dispersion == pytest.approx(1.69, abs=0.005)


def visits(birds: dict[tuple[str, int], int]) -> pd.DataFrame:
    return pd.DataFrame(
        [(site, year, count, 1, 90) for (site, year), count in birds.items()],
        columns=["site", "year", "birds", "visits", "minutes"],
    )


def test_a_change_without_noise_comes_back_exactly() -> None:
    """Counts double every year, and some visits are missing."""
    table = visits(
        {
            (site, year): level * 2 ** (year - 2020)
            for site, level in (("a", 3), ("b", 5), ("c", 8), ("d", 1))
            for year in range(2020, 2025)
            if (site, year) not in {("a", 2021), ("c", 2024), ("d", 2020)}
        }
    )
    found = yearly_change(table)
    assert found is not None
    assert found.value == pytest.approx(2, rel=1e-6)
    assert found.dispersion == pytest.approx(0, abs=1e-6)
    assert found.low < 2 < found.high  # never narrower than Poisson's own


def test_more_visits_are_not_more_birds() -> None:
    table = visits({(site, year): 8 for site in "abcd" for year in range(2020, 2025)})
    often = table.assign(visits=table["year"] - 2019, birds=8 * (table["year"] - 2019))
    found = yearly_change(often)
    assert found is not None
    assert found.value == pytest.approx(1, rel=1e-6)


@pytest.mark.parametrize(
    "birds",
    [
        {},
        {("a", 2020): 40},
        {(site, 2020): 40 for site in "abcdef"},
        {(site, year): 40 for site in "abc" for year in (2020, 2021, 2022)},
        {(site, year): 40 for site in "abcdef" for year in (2020, 2021)},
        {(site, year): 0 for site in "abcdef" for year in range(2020, 2026)},
        {(site, year): 1 for site in "abcd" for year in (2020, 2021, 2022)},
    ],
)
def test_too_few_to_say(birds: dict[tuple[str, int], int]) -> None:
    assert yearly_change(visits(birds)) is None


def test_the_input_is_left_alone() -> None:
    table = visits({(site, year): 9 for site in "dcba" for year in (2022, 2021, 2020)})
    before = table.copy(deep=True)
    yearly_change(table)
    pd.testing.assert_frame_equal(table, before)


def test_a_ratio_of_rates_by_hand() -> None:
    """12 of 40 against 6 of 40 in the one stratum with events: a ratio of 2."""
    events = np.r_[np.ones(12), np.zeros(28), np.ones(6), np.zeros(34), np.zeros(20)]
    group = np.r_[np.ones(40), np.zeros(40), np.ones(10), np.zeros(10)]
    stratum = np.r_[np.zeros(80), np.ones(20)]
    found = rate_ratio(events, group, cluster=np.arange(100), stratum=stratum)
    assert found is not None
    assert found.value == pytest.approx(2)
    # var(log RR) = 1/12 - 1/40 + 1/6 - 1/40 = 0.2 for independent trials, so about 0.8 to 4.9
    assert found.low == pytest.approx(2 * np.exp(-1.99 * np.sqrt(0.2)), rel=0.04)


def test_no_ratio_from_a_handful() -> None:
    assert rate_ratio([1, 0, 1], [1, 0, 0], cluster=[0, 1, 2], stratum=[0, 0, 0]) is None
