"""The charts of the pages about seasons and boxes, from the release alone."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from eaveline.messages import gettext as _
from eaveline.messages import number, pgettext
from eaveline.public.pages import charts
from eaveline.public.words import figure_words
from eaveline.public.words.wording import day

if TYPE_CHECKING:
    from markupsafe import Markup

    from eaveline.public.records import PublicRelease, TownSeason


def season_charts(release: PublicRelease) -> dict[str, Markup]:
    """Return the charts that have something to show: weeks, sunset, peaks."""
    made: dict[str, Markup] = {}
    with_weeks = [season for season in release.town_seasons if season.weeks]
    if with_weeks:
        made["weeks"] = _weeks(with_weeks[-1])
    bands = release.town_figures.parties_by_sunset
    if any(band.parties for band in bands):
        made["sunset"] = charts.bars(
            "parties-by-sunset",
            [_short(band.from_minutes, band.to_minutes) for band in bands],
            [band.parties for band in bands],
            title=_("Screaming parties by the time before sunset"),
            about=figure_words.last_hour(release.town_figures),
            across=_("Minutes before sunset"),
            up=_("Parties"),
        )
    peaks = [season.median_daily_peak for season in release.town_seasons]
    if sum(peak is not None for peak in peaks) > 1:
        made["peaks"] = charts.points(
            "daily-peaks",
            list(release.seasons),
            peaks,
            title=_("Median daily peak by season"),
            about="; ".join(
                _("%(season)s: %(figure)s", season=season.season, figure=figure_words.peak(season))
                for season in release.town_seasons
            ),
            across=_("Season"),
            up=_("Birds"),
        )
    return made


def newest_weeks(release: PublicRelease) -> TownSeason | None:
    """Return the newest season with parties by week, which the chart of weeks is of."""
    return next((season for season in reversed(release.town_seasons) if season.weeks), None)


def _weeks(season: TownSeason) -> Markup:
    """Draw every week from the first with a party to the last, those without as gaps."""
    counts = {week.monday: week.parties for week in season.weeks}
    first, last = min(counts), max(counts)
    mondays = [first + dt.timedelta(weeks=week) for week in range((last - first).days // 7 + 1)]
    return charts.bars(
        "parties-by-week",
        [day(monday) for monday in mondays],
        [counts.get(monday, 0) for monday in mondays],
        title=_("Screaming parties by week, %(season)s", season=season.season),
        about=figure_words.busiest_week(season),
        across=_("Week beginning"),
        up=_("Parties"),
    )


def _short(start: int | None, end: int | None) -> str:
    if start is None:
        return pgettext("minutes before sunset", "over %(minutes)s", minutes=number(end or 0))
    if end is None:
        return pgettext("minutes before sunset", "after")
    return f"{number(start)}–{number(end)}"


def box_charts(release: PublicRelease) -> dict[str, Markup]:
    """Return the chart of the use of boxes, where it has two seasons or more to show."""
    uses = [season.box_use for season in release.town_seasons]
    if sum(use is not None for use in uses) < 2:  # noqa: PLR2004 - one point is no chart
        return {}
    intervals = [figure_words.use_interval(use, release.rule) for use in uses]
    return {
        "use": charts.points(
            "use-of-boxes",
            list(release.seasons),
            [use.used_at_least / use.buildings_checked if use else None for use in uses],
            intervals=intervals,
            percent=True,
            title=_("Buildings whose boxes swifts used, of those checked"),
            about="; ".join(
                _(
                    "%(season)s: %(figure)s",
                    season=season.season,
                    figure=figure_words.use_share(season.box_use, release.rule),
                )
                for season in release.town_seasons
            ),
            across=_("Season"),
            up=_("Share used, at least"),
        )
    }
