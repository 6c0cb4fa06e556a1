"""Gathers the group's own papers: all that goes into private/."""

from __future__ import annotations

import datetime as dt

import pandas as pd

from eaveline.config import Config
from eaveline.gazetteer import Gazetteer
from eaveline.papers.annual_report import annual_papers
from eaveline.papers.contents import CONTENTS_FILE, contents_page
from eaveline.papers.doorstep import doorstep_papers
from eaveline.papers.exact_map import exact_map
from eaveline.papers.field_sheets import field_sheets
from eaveline.papers.figures import Streets, figure_papers
from eaveline.papers.officer.papers import officer_papers
from eaveline.papers.printed import PRINTED_FILE, PrintedBefore
from eaveline.papers.records_centre import records_centre_csv
from eaveline.papers.report import Summary, report_html
from eaveline.papers.review import review_papers
from eaveline.private.intake.take_in import Intake
from eaveline.private.offers.proposal import Proposal, propose
from eaveline.private.offers.watch_first import Line
from eaveline.private.planning.news import Seen
from eaveline.private.planning.tally import tally
from eaveline.private.register import Merges, Register
from eaveline.public.records import PublicRelease


def group_papers(
    *,
    intake: Intake,
    register: Register,
    merges: Merges,
    applications: pd.DataFrame,
    proposal: Proposal | None,
    summary: Summary,
    release: PublicRelease,
    town: Gazetteer,
    config: Config,
    today: dt.date,
    printed: PrintedBefore,
    seen: Seen | None = None,
) -> dict[str, bytes]:
    """Return every paper by its name below the private folder.

    Parameters
    ----------
    intake, register, merges
        What came in, and what became of it.
    applications
        Planning applications after merging.
    proposal
        Whom to offer boxes to; None where no premises are known.
    summary
        What the build report says.
    release
        What is published: the papers that may be handed on hold nothing more.
    town, config
        The town.
    today
        Ages and days left are counted from it.
    printed
        What the last build printed, so that the same paper need not be printed again.
    seen
        What was remembered of the planning applications the last time; None at the first.
    """
    face = config.town
    papers = review_papers(intake, register.ledger, merges)
    papers["review/build-report.html"] = report_html(
        summary, town=face.name, group=face.group, made_on=release.made_on
    )
    papers["register.gpkg"] = exact_map(register, crs=config.crs, made_on=release.made_on)
    if config.records_centre is not None:
        papers["records-centre.csv"] = records_centre_csv(
            register, face, centre=config.records_centre, crs=config.crs
        )
    if proposal is not None:
        papers |= offer_papers(proposal, town, config)
    papers |= annual_papers(release, town.basemap, face, planning=tally(applications))
    papers |= officer_papers(
        applications,
        register,
        release,
        basemap=town.basemap,
        town=face,
        find_street=town.find_street,
        today=today,
        earlier=seen,
        printer=printed.pdf,
    )
    papers[PRINTED_FILE] = printed.to_json()
    papers |= field_sheets(
        [street.name for street in town.basemap.streets],
        group=face.group,
        made_on=release.made_on,
    )
    papers |= figure_papers(
        register,
        merges,
        intake,
        streets=town_streets(town),
        town=face.name,
        group=face.group,
        today=today,
        addresses=town.addresses.buildings if town.addresses is not None else None,
    )
    papers[CONTENTS_FILE] = contents_page(
        papers, summary, group=face.group, made_on=release.made_on
    )
    return papers


def propose_offers(
    intake: Intake, register: Register, town: Gazetteer, config: Config, *, today: dt.date
) -> Proposal | None:
    """Work out whom to offer boxes to, and which streets to watch first."""
    return propose(
        register,
        requests=intake.tables["requests"],
        left_alone=intake.left_alone,
        addresses=town.addresses.buildings if town.addresses is not None else None,
        streets=_lines(town),
        offers=config.offers,
        assign_building=town.assign_building,
        find_street=town.find_street,
        sun_times=town.sun_times,
        today=today,
    )


def offer_papers(proposal: Proposal, town: Gazetteer, config: Config) -> dict[str, bytes]:
    """Return the doorstep papers."""
    return doorstep_papers(proposal, streets=_lines(town), config=config)


def _lines(town: Gazetteer) -> list[Line]:
    """Return the town's streets as private work knows them."""
    return [Line(street.slug, street.name, street.lines) for street in town.basemap.streets]


def town_streets(town: Gazetteer) -> Streets:
    """Return the streets as the group's own figures want them."""
    return Streets(
        lines={street.slug: street.lines for street in town.basemap.streets},
        names={street.slug: street.name for street in town.basemap.streets},
        find=town.find_street,
    )
