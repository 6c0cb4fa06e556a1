"""What the group's own page says of watching and of the counts made on it."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd
import shapely

from eaveline.estimation.regression import Ratio, yearly_change
from eaveline.messages import gettext as _
from eaveline.messages import ngettext, number, percent, together
from eaveline.papers.box_pages import SURE
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
from eaveline.public.pages import charts


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
            title=_("Hours of watching by season"),
            about=_("The hours that count as looking."),
            across=_("Season"),
            up=_("Hours"),
        ),
    )
    words = (
        _(
            "%(watched)s; %(never)s.",
            watched=ngettext(
                "%(num)s street or place has been watched",
                "%(num)s streets and places have been watched",
                len(watched),
            ),
            never=ngettext("%(num)s street never has", "%(num)s streets never have", len(never)),
        ),
        _(
            "One elevation watched does not clear a street. The share is of both sides of its "
            "whole length, if each elevation watched showed 60 m of it."
        ),
    )
    ordered = named.sort_values(["season", "street"], ascending=[False, True])
    return Section(
        _("Watching by street, elevation and season"),
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
        ngettext(
            "%(counting)s of %(num)s watch count as looking; %(void)s do not.",
            "%(counting)s of %(num)s watches count as looking; %(void)s do not.",
            len(watches),
            counting=number(len(watches) - len(void)),
            void=number(len(void)),
        ),
    )
    return Section(_("Watches that do not count"), words, void[columns], "watches-void.csv")


def _arrivals(register: Register) -> Section:
    table = arrivals(register.sightings, register.watches)
    words = (
        _(
            "A first date says when somebody first looked and saw one. Where no record of any "
            "kind fell in the fortnight before, the birds may have come earlier."
        ),
    )
    ordered = table.sort_values(["season", "species"], ascending=[False, True])
    return Section(_("First and last dates"), words, ordered, "arrivals.csv")


def _parties(register: Register) -> Section:
    parties = swift_parties(register.sightings)
    near = near_caller(parties, register.boxes)
    away = parties[~near]
    peaks = median_peaks(away)
    weeks = by_week(away)
    middles = [
        ngettext(
            "%(season)s %(peak)s (%(num)s day)",
            "%(season)s %(peak)s (%(num)s days)",
            int(days),
            season=str(season),
            peak=number(peak, decimals=0),
        )
        for season, days, peak in zip(peaks.index, peaks["days"], peaks["median_peak"], strict=True)
    ]
    words = (
        ngettext(
            "%(near)s of %(num)s party was seen within 100 m of calls being played and is left "
            "out: calls draw young birds.",
            "%(near)s of %(num)s parties were seen within 100 m of calls being played and are left "
            "out: calls draw young birds.",
            len(parties),
            near=number(int(near.sum())),
        ),
        _("Median daily peak: %(peaks)s.", peaks=together(middles))
        if middles
        else _("No party has a number of birds yet."),
    )
    return Section(
        _("Screaming parties by week"),
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
        _(
            "Each place watched is compared with itself (log-linear Poisson model with missing "
            "visits; overdispersion widens the interval). Places were not drawn by lot."
        ),
    )
    table = counts.sort_values(["site", "year"])
    return Section(_("Trend of the most birds at once"), words, table, "trend.csv")


def trend_words(change: Ratio | None) -> str:
    """Return the trend as a sentence."""
    if change is None:
        return _("Too few places have been watched in several seasons to say.")
    low, value, high = (round(100 * (each - 1)) for each in (change.low, change.value, change.high))
    found = _(
        "About %(value)s a year; the %(sure)s interval runs from %(low)s to %(high)s. "
        "Dispersion %(dispersion)s.",
        value=_change(value),
        sure=percent(SURE),
        low=_change(low),
        high=_change(high),
        dispersion=number(change.dispersion, decimals=1),
    )
    if low > 0 or high < 0:
        return found
    unsure = _("So it may not have changed at all.")
    return f"{found} {unsure}"


def _change(per_cent: int) -> str:
    """Return a change with its sign."""
    return f"{'+' if per_cent >= 0 else ''}{percent(per_cent / 100)}"
