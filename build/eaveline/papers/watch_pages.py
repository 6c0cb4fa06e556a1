"""What the group's own page says of watching and of the counts made on it."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd
import shapely

from eaveline.estimation.regression import Ratio, yearly_change
from eaveline.papers.sections import Section
from eaveline.private.derive.calendar import (
    arrivals,
    by_week,
    median_peaks,
    near_caller,
    swift_parties,
)
from eaveline.private.derive.watching import (
    street_effort,
    visit_counts,
    watch_sites,
    why_void,
)
from eaveline.private.intake.crossref import StreetFinder
from eaveline.private.register import Register
from eaveline.public import charts


def watch_sections(
    register: Register,
    *,
    lines: Mapping[str, shapely.Geometry],
    names: Mapping[str, str],
    find: StreetFinder,
) -> list[Section]:
    """Return the sections on effort, dates, parties and the trend.

    Parameters
    ----------
    register
        Everything merged.
    lines, names
        The streets' lines (metres) and names by slug.
    find
        Finds a street's slug by name.
    """
    sites = watch_sites(register.watches, find)
    return [
        _effort(register, sites, lines, names),
        _void(register),
        _arrivals(register),
        _parties(register),
        _trend(register, sites),
    ]


def _effort(
    register: Register,
    sites: pd.Series,
    lines: Mapping[str, shapely.Geometry],
    names: Mapping[str, str],
) -> Section:
    table = street_effort(register.watches, sites, lines)
    named = table.assign(street=[names.get(slug, slug) for slug in table["street"]])
    watched = set(table["street"])
    never = [slug for slug in lines if slug not in watched]
    hours = register.watches.groupby("season")["valid_minutes"].sum() / 60
    drawn = (
        charts.bars(
            "hours-by-season",
            [str(season) for season in hours.index],
            [round(float(each), 1) for each in hours],
            title="Hours of watching by season",
            about="The hours that count as looking.",
            across="Season",
            up="Hours",
        ),
    )
    words = (
        f"{len(watched)} streets and places have been watched; {len(never)} streets never have.",
        (
            "One elevation watched does not clear a street. The share is of both sides of its "
            "whole length, if each elevation watched showed 60 m of it."
        ),
    )
    ordered = named.sort_values(["season", "street"], ascending=[False, True])
    return Section(
        "Watching by street, elevation and season",
        words,
        ordered,
        "effort-by-street.csv",
        drawn if len(hours) else (),
    )


def _void(register: Register) -> Section:
    watches = register.watches.assign(why_not=why_void(register.watches))
    void = watches[watches["why_not"] != ""]
    columns = ["date", "streets", "elevation", "weather", "wind_bft", "temp_c", "why_not"]
    words = (
        (
            f"{len(watches) - len(void)} of {len(watches)} watches count as looking; "
            f"{len(void)} do not."
        ),
    )
    return Section("Watches that do not count", words, void[columns], "watches-void.csv")


def _arrivals(register: Register) -> Section:
    table = arrivals(register.sightings, register.watches)
    words = (
        (
            "A first date says when somebody first looked and saw one. Where no record of any "
            "kind fell in the fortnight before, the birds may have come earlier."
        ),
    )
    ordered = table.sort_values(["season", "species"], ascending=[False, True])
    return Section("First and last dates", words, ordered, "arrivals.csv")


def _parties(register: Register) -> Section:
    parties = swift_parties(register.sightings)
    near = near_caller(parties, register.boxes)
    away = parties[~near]
    peaks = median_peaks(away)
    weeks = by_week(away)
    middles = ", ".join(
        f"{season} {peak:.0f} ({days} days)"
        for season, days, peak in zip(peaks.index, peaks["days"], peaks["median_peak"], strict=True)
    )
    words = (
        (
            f"{int(near.sum())} of {len(parties)} parties were seen within 100 m of calls being "
            "played and are left out: calls draw young birds."
        ),
        f"Median daily peak: {middles}." if middles else "No party has a number of birds yet.",
    )
    return Section(
        "Screaming parties by week",
        words,
        weeks.sort_values("monday", ascending=False),
        "parties-by-week.csv",
    )


def _trend(register: Register, sites: pd.Series) -> Section:
    watches = register.watches
    near = near_caller(watches, register.boxes)
    names = sites.map(lambda slugs: "; ".join(slugs) or None)
    counts = visit_counts(watches, names, near_calls=near)
    words = (
        trend_words(yearly_change(counts)),
        (
            "Each place watched is compared with itself (log-linear Poisson model with missing "
            "visits; overdispersion widens the interval). Places were not drawn by lot."
        ),
    )
    table = counts.sort_values(["site", "year"])
    return Section("Trend of the most birds at once", words, table, "trend.csv")


def trend_words(change: Ratio | None) -> str:
    """Return the trend as a sentence."""
    if change is None:
        return "Too few places have been watched in several seasons to say."
    low, value, high = (round(100 * (each - 1)) for each in (change.low, change.value, change.high))
    clear = "" if low > 0 or high < 0 else " So it may not have changed at all."
    return (
        f"About {value:+d}% a year; the 95% interval runs from {low:+d}% to {high:+d}%. "
        f"Dispersion {change.dispersion:.1f}.{clear}"
    )
