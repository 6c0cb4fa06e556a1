"""Charts that a hand-written page asks for by name, each above a table, folded, of the same."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING

from markupsafe import Markup, escape

from eaveline.messages import gettext as _
from eaveline.public.pages.page_charts import newest_weeks
from eaveline.public.words import figure_words
from eaveline.public.words.wording import box_use, day, number

if TYPE_CHECKING:
    from eaveline.public.pages.site_pages import SitePages

Rows = Iterable[Sequence[str]]


def told_charts(site: SitePages) -> dict[str, Callable[[], Markup]]:
    """Return what draws each chart with its table, by the name under which a page asks for it.

    A chart that has nothing to show yet says so in a sentence.
    """
    return {
        "use_of_boxes": lambda: _use_of_boxes(site),
        "parties_by_week": lambda: _parties_by_week(site),
        "parties_by_sunset": lambda: _parties_by_sunset(site),
        "daily_peaks": lambda: _daily_peaks(site),
    }


def _use_of_boxes(site: SitePages) -> Markup:
    return _figure(
        site.box_charts.get("use"),
        caption=_("Use of boxes by swifts, by season"),
        header=(_("Season"), _("Use by swifts"), _("Share of buildings, 95%% interval")),
        rows=(
            (
                season.season,
                box_use(season.box_use),
                figure_words.use_share(season.box_use, site.release.rule),
            )
            for season in reversed(site.release.town_seasons)
        ),
    )


def _parties_by_week(site: SitePages) -> Markup:
    newest = newest_weeks(site.release)
    return _figure(
        site.season_charts.get("weeks"),
        caption=_("Screaming parties by week"),
        header=(_("Week beginning"), _("Parties")),
        rows=(
            (day(week.monday), number(week.parties)) for week in (newest.weeks if newest else ())
        ),
    )


def _parties_by_sunset(site: SitePages) -> Markup:
    return _figure(
        site.season_charts.get("sunset"),
        caption=_("Screaming parties by the time before sunset"),
        header=(_("Minutes before sunset"), _("Parties")),
        rows=(
            (figure_words.sunset_band(band), number(band.parties))
            for band in site.release.town_figures.parties_by_sunset
        ),
    )


def _daily_peaks(site: SitePages) -> Markup:
    return _figure(
        site.season_charts.get("peaks"),
        caption=_("Median daily peak, by season"),
        header=(_("Season"), _("Median daily peak"), _("Hours watched")),
        rows=(
            (season.season, figure_words.peak(season), number(season.hours_watched))
            for season in reversed(site.release.town_seasons)
        ),
    )


def _figure(svg: Markup | None, *, caption: str, header: Sequence[str], rows: Rows) -> Markup:
    """Return a chart above its table, both of which the theme knows."""
    if svg is None:
        return Markup("<p>{}</p>").format(_("There is too little for this chart yet."))
    head = Markup("").join(Markup('<th scope="col">{}</th>').format(name) for name in header)
    body = Markup("").join(
        Markup('<tr><th scope="row">{}</th>{}</tr>').format(
            row[0], Markup("").join(Markup("<td>{}</td>").format(cell) for cell in row[1:])
        )
        for row in rows
    )
    return Markup(
        '<figure class="chart-figure">{svg}</figure>'
        '<details class="figures"><summary>{fold} <span class="unseen">({caption})</span></summary>'
        '<div class="scroll" role="region" aria-label="{caption}" tabindex="0"><table>'
        "<caption>{caption}</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody>"
        "</table></div></details>"
    ).format(svg=svg, fold=_("The same as a table"), caption=escape(caption), head=head, body=body)
