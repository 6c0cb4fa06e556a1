"""The group's own figures: full tables with exact places, and a page that tells what they say."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace

import pandas as pd
import shapely

from eaveline.messages import day, ngettext, number
from eaveline.messages import gettext as _
from eaveline.papers.addresses import with_addresses
from eaveline.papers.box_pages import box_sections
from eaveline.papers.pages import page
from eaveline.papers.sections import Section
from eaveline.papers.tables import page_rows, to_csv
from eaveline.papers.watch_pages import watch_sections
from eaveline.private.derive.box_seasons import BoxHistory, box_history
from eaveline.private.derive.evidence import YEARLY_WEIGHT, site_seasons, site_status
from eaveline.private.derive.jobs import jobs
from eaveline.private.intake.crossref import StreetFinder
from eaveline.private.intake.take_in import Intake
from eaveline.private.register import Merges, Register

SHOWN_ROWS = 20
"""A longer table is cut on the page, and whole in its CSV."""


@dataclass(frozen=True, repr=False)
class Streets:
    """The town's streets: lines in metres by slug, names by slug, and what finds one by name."""

    lines: Mapping[str, shapely.Geometry]
    names: Mapping[str, str]
    find: StreetFinder

    def __repr__(self) -> str:
        """Show a count only."""
        return f"<Streets: {len(self.lines)}>"


def figure_papers(
    register: Register,
    merges: Merges,
    intake: Intake,
    *,
    streets: Streets,
    town: str,
    group: str,
    today: dt.date,
    addresses: pd.DataFrame | None = None,
) -> dict[str, bytes]:
    """Return the figures by their names below the private folder.

    Parameters
    ----------
    register, merges, intake
        Everything merged, how, and from what.
    streets
        The town's streets.
    town, group
        Names for the page.
    today
        The day the list of jobs is for.
    addresses
        street, house, easting, northing of the town's houses; None if there is no list.
    """
    newest = max(register.seasons, default=today.year)
    history = box_history(register.boxes, register.checks, register.box_visits, newest=newest)
    sections = [
        jobs_section(history, today=today),
        evidence_section(register, season=newest),
        lost_section(register, merges, intake, season=newest),
        *watch_sections(register, lines=streets.lines, names=streets.names, find=streets.find),
        *box_sections(register, history),
    ]
    sections = [
        section
        if section.table is None
        else replace(section, table=with_addresses(section.table, register, addresses))
        for section in sections
    ]
    papers = {
        f"figures/{section.file}": to_csv(section.table)
        for section in sections
        if section.file and section.table is not None
    }
    papers["private-figures.html"] = figures_html(sections, town=town, group=group, today=today)
    return papers


def jobs_section(history: BoxHistory, *, today: dt.date) -> Section:
    """Return this month's jobs."""
    table = jobs(history, today=today)
    words = (
        ngettext("%(num)s to do.", "%(num)s to do.", len(table))
        if len(table)
        else _("Nothing is due this month."),
        _(
            "A nest in use is left alone: watch from the ground, and open no box from May to "
            "August."
        ),
    )
    return Section(_("Jobs for this month"), words, table, "jobs-this-month.csv")


def evidence_section(register: Register, *, season: int) -> Section:
    """Return what each site is worth as evidence."""
    status = site_status(register.sites, register.evidence, season=season)
    places = register.sites[["name", "species", "easting", "northing"]]
    table = places.join(status).sort_values(
        ["weight", "last_confirmed", "easting", "northing"], ascending=[False, False, True, True]
    )
    by_season = site_seasons(register.evidence)
    classes = by_season.loc[by_season["season"] == season, "evidence"].value_counts()
    words = (
        ngettext(
            "%(num)s nest site. In %(season)s: %(confirmed)s confirmed, %(probable)s probable, "
            "%(possible)s possible.",
            "%(num)s nest sites. In %(season)s: %(confirmed)s confirmed, %(probable)s probable, "
            "%(possible)s possible.",
            len(table),
            season=str(season),
            **{
                kind: number(int(classes.get(kind, 0)))
                for kind in ("confirmed", "probable", "possible")
            },
        ),
        _(
            "A confirmation counts for its own season only. An old one is worth %(weight)s for "
            "each year since: about half of swifts’ entrances are still in use after five years.",
            weight=number(YEARLY_WEIGHT, decimals=2),
        ),
    )
    return Section(_("Evidence for each nest site"), words, table, "evidence.csv")


def lost_section(register: Register, merges: Merges, intake: Intake, *, season: int) -> Section:
    """Return the lost sites, with the season, the cause and whatever was noted beside it."""
    status = site_status(register.sites, register.evidence, season=season)
    lost = register.sites.join(status)[lambda sites: sites["lost_in"].notna()]
    rows = intake.tables["nest_sites"]
    said = rows[rows["status"] == "lost"]
    number = pd.Series(merges.sites.site_of_row).reindex(said.index)

    def told(column: str) -> pd.Series:
        texts = pd.DataFrame({"site": number, "text": said[column].astype(object)}).dropna()
        each = texts.groupby("site")["text"].agg(lambda group: "; ".join(sorted(set(group))))
        return each.reindex(lost.index)

    table = pd.DataFrame(
        {
            "name": lost["name"],
            "species": lost["species"],
            "easting": lost["easting"],
            "northing": lost["northing"],
            "lost_in": lost["lost_in"],
            "last_occupied": lost["last_occupied"],
            "cause": told("lost_cause").fillna(_("no cause noted")),
            "notes": told("notes").fillna(""),
        }
    ).sort_values(["lost_in", "easting", "northing"], ascending=[False, True, True])
    words = (
        ngettext(
            "%(num)s known site is lost and has not been seen in use since.",
            "%(num)s known sites are lost and have not been seen in use since.",
            len(table),
        )
        if len(table)
        else _("No site is known to be lost."),
        _("Place and cause stay with you; the site gives a number for the town."),
    )
    return Section(_("Sites lost"), words, table, "sites-lost.csv")


def figures_html(sections: list[Section], *, town: str, group: str, today: dt.date) -> bytes:
    """Return private-figures.html."""
    shown = [
        (section, page_rows(section.table.head(SHOWN_ROWS)) if section.table is not None else [])
        for section in sections
    ]
    return page(
        "private-figures.html",
        sections=shown,
        town=town,
        group=group,
        today=day(today),
        limit=SHOWN_ROWS,
    )
