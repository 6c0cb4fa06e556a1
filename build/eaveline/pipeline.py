"""The whole flow on one page: private, protect, public, audit, site."""

from __future__ import annotations

import datetime as dt
import shutil
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

import pandas as pd

from eaveline.audit.findings import AuditResult, audit_problems
from eaveline.audit.site import audit_site
from eaveline.cleaning.content import copy_content
from eaveline.config import Config, Stock, load_config
from eaveline.errors import InputError, Problem, SiteRefusedError
from eaveline.gazetteer import Gazetteer, load_gazetteer, town_centre
from eaveline.group_papers import group_papers, propose_offers
from eaveline.knowledge import audit_knowledge, content_sources, drawn_pictures, written_pages
from eaveline.messages import Language, load_language, speaking
from eaveline.papers.keep import edited_papers, write_papers
from eaveline.papers.nothing_usable import nothing_usable
from eaveline.papers.officer.papers import about_no_application
from eaveline.papers.printed import PrintedBefore
from eaveline.papers.report import Summary, summarise
from eaveline.papers.review import review_papers
from eaveline.private.intake.memory import Memory
from eaveline.private.intake.take_in import Intake, take_in
from eaveline.private.merge.box_sightings import of_no_box
from eaveline.private.merge.sites import AssignBuilding
from eaveline.private.planning.applications import merge_applications
from eaveline.private.planning.news import Seen, read_seen
from eaveline.private.register import Merges, Register, build_register
from eaveline.protect.consent import Listing, list_consented
from eaveline.protect.division.districts import save_districts
from eaveline.protect.division.frozen import save_regions
from eaveline.protect.release import make_release
from eaveline.protect.remembered.joined_places import Joins
from eaveline.protect.watching import main_regions, street_shares, watched_minutes
from eaveline.public.maps.basemap import street_regions
from eaveline.public.records import PublicRelease, release_to_json
from eaveline.public.site import SiteJob, SiteProcess, build_site, default_theme
from eaveline.public.words.law import nation_law, stale_lines
from eaveline.staging import staging_folder, swap_in
from eaveline.stamp import inputs_digest, write_stamp
from eaveline.tracked import tracked_records

PUBLIC_LAYERS = ("streets", "boundary", "water", "greens", "buildings")

Progress = Callable[[str], None]
"""Called with what is being done now; names stages and files, nothing private."""


def quiet(_: str) -> None:
    """Say nothing."""


@dataclass(frozen=True)
class Outcome:
    """What a build came to."""

    summary: Summary
    site: Path
    files_changed: int
    planning: Seen | None = None
    """The planning applications with what is new; None where there are none."""


def build_town(
    folder: Path,
    *,
    today: dt.date,
    accept_loss: bool = False,
    stock: Stock | None = None,
    progress: Progress = quiet,
) -> Outcome:
    """Build a town's site and its private papers.

    Parameters
    ----------
    folder
        The town's folder: it holds survey_data/, content/ and perhaps theme/.
    today
        Records dated later are held. Nothing published depends on it.
    accept_loss
        Join squares even where many premises are gone from the list.
    stock
        Free boxes and money, for asking what if; what town.toml says where it is silent.
    progress
        Told of each step.

    Raises
    ------
    InputError
        If town.toml or a map file cannot be used; nothing is written. If no record can, then
        what is wrong with them.
    SiteRefusedError
        If the audit finds something; the private papers are written, the old site stands.
    """
    config = load_config(folder).with_stock(stock or Stock())
    # Taken before anything is read: what a person saves meanwhile makes the site stale.
    inputs = inputs_digest(folder)
    # The builder of pages is a process of its own; it loads while the records are read.
    with speaking(town_language(folder, config)), SiteProcess() as builder:
        progress("Reading the map")
        town = load_gazetteer(folder, config, accept_loss=accept_loss)
        progress("Reading records")
        intake = take_in_town(folder, town, today=today, progress=progress)
        progress("Merging")
        joins = Joins(town.assign_building, town.premises)
        register, merges = merge_town(intake, town, config, assign_building=joins.assign_building)
        applications, register = merge_planning(intake, register, config)
        if register.newest is None:
            # What is wrong with the first rows must be there to read, or nobody could mend them.
            write_papers(folder / "private", review_papers(intake, register.ledger, merges))
            raise InputError(nothing_usable(intake, register.ledger))
        progress("Blurring")
        release, listing = protect_town(register, town, config)
        with staging_folder(folder) as staged, ThreadPoolExecutor(max_workers=1) as pool:
            site = staged / "site"

            def make_and_read() -> AuditResult:
                make_site(folder, release, config, out=site, process=builder)
                return audit_staged(folder, site, intake, town, config)

            progress("Making the site, and weighing where boxes stand a chance")
            audit = pool.submit(make_and_read)
            proposal = propose_offers(intake, register, town, config, today=today)
            progress("Making the site, and writing the group's papers")
            summary = summarise(
                intake,
                register.ledger,
                release,
                nest_sites=len(register.sites),
                boxes=len(register.boxes),
                streets=len(town.basemap.streets),
                waiting=listing.waiting,
                notices=(
                    *town.notices,
                    *town.partial_list(register),
                    *of_no_box(register.sightings),
                    *(edited_papers(folder / "private") if intake.forgets else ()),
                    # An invented town has nobody's address.
                    *(() if config.town.invented else tracked_records(folder)),
                    *stale_lines(nation_law(config.town.nation), on=today),
                    *(proposal.notices if proposal is not None else ()),
                ),
            )
            kept = write_papers(
                folder / "private",
                group_papers(
                    intake=intake,
                    register=register,
                    merges=merges,
                    applications=applications,
                    proposal=proposal,
                    summary=summary,
                    release=release,
                    town=town,
                    config=config,
                    today=today,
                    printed=PrintedBefore(folder / "private"),
                    seen=read_seen(folder / "private"),
                ),
                # Whoever is to be forgotten may stand in any paper of an earlier build.
                gone=(lambda _: True) if intake.forgets else about_no_application(applications),
            )
            progress("Reading the site as a stranger would")
            audited = audit.result()
            if not audited.passed:
                raise SiteRefusedError(audit_problems(audited))
            if len(town.regions.ids):
                save_regions(folder / "survey_data" / "map" / "regions.csv", town.regions)
                save_districts(
                    folder / "survey_data" / "map" / "districts.csv", town.regions, town.districts
                )
                town.remember(folder, register, joins)
            changed = swap_in(site, folder / "site")
    write_stamp(folder, inputs=inputs)
    planning = None if applications.empty else read_seen(folder / "private")
    return Outcome(replace(summary, kept=kept), folder / "site", changed, planning)


def town_language(folder: Path, config: Config) -> Language:
    """Return the language of a town's pages and papers.

    Raises
    ------
    InputError
        If its file of messages is missing or cannot be used.
    """
    return load_language(config.town.language, folders=[folder / "theme" / "messages"])


def take_in_town(
    folder: Path,
    town: Gazetteer,
    *,
    today: dt.date,
    progress: Progress = quiet,
    memory: Memory | None = None,
) -> Intake:
    """Read, check and locate the town's records; with a memory, only what has changed."""
    return take_in(
        folder / "survey_data",
        locator=town.locate,
        today=today,
        find_street=town.find_street,
        progress=progress,
        memory=memory,
    )


def merge_town(
    intake: Intake,
    town: Gazetteer,
    config: Config,
    *,
    assign_building: AssignBuilding | None = None,
) -> tuple[Register, Merges]:
    """Merge what came in into the register; by default the town joins places to buildings."""
    return build_register(
        intake,
        premises=town.buildings,
        assign_building=assign_building or town.assign_building,
        sun_times=town.sun_times,
        distance_m=config.merging.distance_m,
        minutes=config.merging.minutes,
    )


def merge_planning(
    intake: Intake, register: Register, config: Config
) -> tuple[pd.DataFrame, Register]:
    """Merge planning applications; the register's ledger then knows of their rows too."""
    applications, members = merge_applications(intake.tables["planning"], crs=config.crs)
    return applications, replace(register, ledger=register.ledger.merge(members))


def protect_town(
    register: Register, town: Gazetteer, config: Config
) -> tuple[PublicRelease, Listing]:
    """Pass the register through the gate."""
    size = config.privacy.cell_size_m
    listing = list_consented(
        register,
        town.regions,
        present_premises=town.present_premises,
        minimum_premises=config.privacy.minimum_premises,
        cell_size_m=size,
        public_buildings=town.public_buildings,
        first_season=min(register.seasons, default=0),
    )
    shares = street_shares(
        {street.slug: street.lines for street in town.basemap.streets},
        town.regions,
        cell_size_m=size,
    )
    release = make_release(
        register,
        regions=town.regions,
        region_streets=street_regions(
            town.basemap,
            dict(zip(town.regions.ids, town.regions.cells, strict=True)),
            cell_size_m=size,
        ),
        districts=town.districts,
        present_premises=town.present_premises,
        listing=listing,
        lots=town.box_lots(register),
        watched=watched_minutes(
            register.watches, town.regions, shares, find_street=town.find_street
        ),
        watch_regions=main_regions(
            register.watches, town.regions, shares, find_street=town.find_street
        ),
        config=config,
    )
    return release, listing


def make_site(
    folder: Path,
    release: PublicRelease,
    config: Config,
    *,
    out: Path,
    process: SiteProcess | None = None,
) -> None:
    """Build the site in `out` from the release and public files alone; see `build_site`."""
    handed_over = out.with_name("release")
    handed_over.mkdir(parents=True)
    (handed_over / "release.json").write_text(
        release_to_json(release), encoding="utf-8", newline="\n"
    )
    content = out.with_name("content")
    copy_content(folder / "content", content)
    public_map = handed_over / "map"
    public_map.mkdir()
    for path in sorted((folder / "survey_data" / "map").glob("*")):
        # A shapefile is several files of one name, so everything of a public name goes along.
        if path.name.split(".")[0].casefold() in PUBLIC_LAYERS and path.is_file():
            shutil.copyfile(path, public_map / path.name)
    own_theme = folder / "theme"
    themes = (
        [own_theme]
        if own_theme.is_dir() and own_theme.resolve() != default_theme().resolve()
        else []
    )
    build_site(
        SiteJob(
            release=handed_over / "release.json",
            town=config.town,
            map_folder=public_map,
            content=content,
            theme=(*themes, default_theme()),
            centre_m=town_centre(config),
            out=out,
        ),
        process=process,
    )


def audit_staged(
    folder: Path, site: Path, intake: Intake, town: Gazetteer, config: Config
) -> AuditResult:
    """Read a staged site as a stranger would, knowing what must not be there."""
    knowledge = audit_knowledge(intake, town, config)
    # Pictures hold words, and are drawn again to compare; threads do not hand a language on.
    with speaking(town_language(folder, config)):
        drawn = drawn_pictures(site, config.town)
    return audit_site(
        site,
        knowledge.secrets,
        allow=config.audit_allow,
        public_vertices=knowledge.public_vertices,
        trusted=knowledge.trusted,
        drawn=drawn,
        content_pages=written_pages(site),
        sources=content_sources(site, folder / "content"),
    )


def check_town(
    folder: Path, *, today: dt.date, progress: Progress = quiet
) -> tuple[Intake, Gazetteer]:
    """Read, check and locate everything, and write nothing."""
    config = load_config(folder)
    town = load_gazetteer(folder, config)
    return take_in_town(folder, town, today=today, progress=progress), town


def site_from_release(
    folder: Path, release: PublicRelease, *, out: Path, today: dt.date, progress: Progress = quiet
) -> None:
    """Build the site again from a published release.

    No record goes into it; whatever records the folder still holds are only what the audit
    looks for.

    Raises
    ------
    InputError
        If `out` exists already.
    SiteRefusedError
        If the audit finds something.
    """
    if out.exists():
        raise InputError(
            Problem(
                "folder-exists",
                "The folder to build in is there already.",
                "Name one that does not exist yet.",
            )
        )
    config = load_config(folder)
    intake, town = check_town(folder, today=today, progress=progress)
    with staging_folder(out.absolute().parent) as staged:
        progress("Making the site")
        make_site(folder, release, config, out=staged / "site")
        audited = audit_staged(folder, staged / "site", intake, town, config)
        if not audited.passed:
            raise SiteRefusedError(audit_problems(audited))
        swap_in(staged / "site", out)
