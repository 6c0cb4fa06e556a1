"""Answers what a member asks between builds, without making the site."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from eaveline.audit.findings import AuditResult
from eaveline.config import load_config
from eaveline.errors import InputError, Problem
from eaveline.gazetteer import load_gazetteer
from eaveline.messages import gettext as _
from eaveline.messages import speaking
from eaveline.papers.keep import write_papers
from eaveline.papers.officer.answer import answer
from eaveline.papers.officer.document import Document
from eaveline.papers.officer.effort import WatchFinder
from eaveline.papers.officer.papers import folder_names
from eaveline.papers.officer.planning_list import FOLDER as OFFICER_FOLDER
from eaveline.papers.officer.planning_list import (
    PlanningCounts,
    planning_counts,
    planning_lists,
    screen_list,
)
from eaveline.pipeline import (
    Progress,
    audit_staged,
    check_town,
    merge_planning,
    merge_town,
    protect_town,
    quiet,
    take_in_town,
    town_language,
)
from eaveline.private.planning.news import read_seen
from eaveline.private.planning.question import find_place
from eaveline.private.planning.screen import known_places


def plan_town(folder: Path, *, today: dt.date, progress: Progress = quiet) -> PlanningCounts:
    """Screen the planning applications, and write their lists into the private folder.

    Neither the site nor a paper for an officer is made: it is the weekly look at a council's
    list, which can be long.
    """
    config = load_config(folder)
    with speaking(town_language(folder, config)):
        town = load_gazetteer(folder, config)
        intake = take_in_town(folder, town, today=today, progress=progress)
        progress("Merging")
        register, _ = merge_town(intake, town, config)
        applications, register = merge_planning(intake, register, config)
        if applications.empty:
            return PlanningCounts()
        release, _ = protect_town(register, town, config)
        progress("Screening applications")
        screened = screen_list(
            applications, register, release, earlier=read_seen(folder / "private"), today=today
        )
        papers = folder / "private" / OFFICER_FOLDER
        folders = folder_names(applications["reference"])
        lists = planning_lists(
            screened,
            group=config.town.group,
            today=today,
            has_papers=lambda reference: (papers / folders[reference]).is_dir(),
        )
        write_papers(folder / "private", lists)
        return planning_counts(screened)


def ask_town(folder: Path, place: str, *, today: dt.date, progress: Progress = quiet) -> Document:
    """Return what the records say of a place, privately; nothing is written.

    Parameters
    ----------
    folder
        The town's folder.
    place
        An address, a street, or a grid reference.
    today
        Ages and the season are counted from it.

    Raises
    ------
    InputError
        If the place cannot be found.
    """
    intake, town = check_town(folder, today=today, progress=progress)
    config = load_config(folder)
    asked = find_place(
        place,
        town.locate,
        streets={street.slug: street.lines for street in town.basemap.streets},
    )
    register, _merges = merge_town(intake, town, config)
    watches = WatchFinder(register, town.basemap, town.find_street)
    with speaking(town_language(folder, config)):
        if asked.read_as is not None:
            house, slug = asked.read_as
            names = {street.slug: street.name for street in town.basemap.streets}
            meant = f"{house} {names[slug]}".strip()
            place = _("%(place)s (read as %(meant)s)", place=place, meant=meant)
        return answer(
            asked.shape,
            known_places(register),
            watches.near(asked.shape),
            place=place,
            uncertainty_m=asked.uncertainty_m,
            town=config.town,
            today=today,
        )


def audit_town(folder: Path, *, today: dt.date, progress: Progress = quiet) -> AuditResult:
    """Read the site that was built last again, knowing what the records hold today.

    Raises
    ------
    InputError
        If there is no site.
    """
    site = folder / "site"
    if not site.is_dir():
        raise InputError(
            Problem("site-missing", "There is no site yet.", "Build it first.", file="site")
        )
    intake, town = check_town(folder, today=today, progress=progress)
    progress("Reading the site as a stranger would")
    return audit_staged(folder, site, intake, town, load_config(folder))
