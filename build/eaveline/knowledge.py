"""What the audit must know: the private values to look for, the public ones that look alike."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry
from slugify import slugify

from eaveline.audit.secrets import Secrets
from eaveline.audit.sources import Source
from eaveline.config import Config
from eaveline.gazetteer import Gazetteer
from eaveline.private.intake.forget import split_people
from eaveline.private.intake.schema import PERSON_COLUMNS, plain
from eaveline.private.intake.take_in import Intake
from eaveline.public.maps.leaflet import leaflet_files
from eaveline.public.pages.social_cards import social_cards
from eaveline.public.records import release_from_json
from eaveline.public.site import HOME_PAGE, default_theme
from eaveline.public.town import PublicTown

_TRUSTED_SUFFIXES = frozenset({".js", ".css", ".png", ".svg"})
_MADE_OF_FIGURES = frozenset(
    "boxes data helping map method offers search seasons streets".split()  # noqa: SIM905 - as words
)
"""Folders of a site without a word of content/ in them."""


@dataclass(frozen=True, repr=False)
class Knowledge:
    """Everything `audit_site` asks for beside the site itself."""

    secrets: Secrets
    public_vertices: np.ndarray[tuple[int, ...], np.dtype[np.float64]]
    trusted: frozenset[str]

    def __repr__(self) -> str:
        """Show counts only."""
        return f"<Knowledge: {self.secrets!r}>"


def audit_knowledge(intake: Intake, town: Gazetteer, config: Config) -> Knowledge:
    """Gather what the audit must know.

    Every row that came in counts, also those held back or forgotten: what a member wrote
    must not be published because it was wrong.
    """
    east, north = _exact_points(intake, town)
    west, south, right, top = town.frame.bounds
    public = {(building.street, building.house) for building in config.public_buildings}
    addresses = set(_addresses(intake, town))
    secrets = Secrets(
        bounds_m=(west, south, right, top),
        cell_size_m=float(config.privacy.cell_size_m),
        crs=config.crs,
        people=frozenset(_people(intake)),
        contacts=frozenset(_contacts(intake)) - {config.town.email},
        addresses=frozenset(addresses - public),
        easting_m=east,
        northing_m=north,
        street_names=frozenset(street.name for street in town.basemap.streets),
        public_names=frozenset(
            {
                config.town.name,
                config.town.group,
                *(building.name for building in config.public_buildings),
            }
        ),
        public_contacts=frozenset({config.town.email}),
        public_addresses=frozenset(public),
    )
    return Knowledge(secrets, _public_vertices(town), _trusted())


def written_pages(site: Path) -> frozenset[str]:
    """Return the pages of a site that hold what a person wrote, by their paths below it.

    Those are all but the pages made of figures alone: which address a page of content/ gets is
    the site builder's affair, and a page it should ever make anew is looked at as well.
    """
    names = (path.relative_to(site).as_posix() for path in site.rglob("*.html"))
    return frozenset(name for name in names if name.partition("/")[0] not in _MADE_OF_FIGURES)


def drawn_pictures(site: Path, town: PublicTown) -> frozenset[str]:
    """Return digests of the pictures that a site's own release draws.

    They are drawn again here, so a picture that was changed afterwards is none of them.
    """
    try:
        release = release_from_json((site / "data" / "release.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):  # then no picture is known, and each wants a person's look
        return frozenset()
    cards = social_cards(release, town)
    return frozenset(hashlib.sha256(card).hexdigest() for card in cards.values())


def _people(intake: Intake) -> Iterable[str]:
    """Yield every name in the columns that name people, whole cells and their parts."""
    for raw in intake.files:
        for column in PERSON_COLUMNS:
            if column in raw.cells:
                for text in raw.cells[column].categories:
                    yield from split_people(str(text))


_CONTACT = re.compile(
    r"(?<![\w.+-])[\w.+-]++@[\w-]+(?:\.[\w-]+)+"  # an e-mail address
    r"|(?:\+44|\b0)(?:[\s().-]*\d){9,10}\b"  # a British telephone number
    r"|\b[A-Z]{1,2}\d[A-Z\d]?\s*\d[A-Z]{2}\b",  # a full postcode
    re.IGNORECASE,
)


def _contacts(intake: Intake) -> Iterable[str]:
    """Yield every e-mail address, telephone number and postcode in any cell."""
    for raw in intake.files:
        for cells in raw.cells.values():
            for text in cells.categories:
                yield from _CONTACT.findall(str(text))


def _addresses(intake: Intake, town: Gazetteer) -> Iterable[tuple[str, str]]:
    """Yield every street and house that the list of addresses or any row names."""
    if town.addresses is not None:
        listed = town.addresses.buildings
        yield from zip(listed["street"].astype(str), listed["house"].astype(str), strict=True)
    for raw in intake.files:
        if "street" in raw.cells and "house" in raw.cells:
            street, house = raw.cells["street"], raw.cells["house"]
            both = (street.codes >= 0) & (house.codes >= 0)
            pairs = np.unique(np.column_stack([street.codes[both], house.codes[both]]), axis=0)
            for s, h in pairs:
                yield str(street.categories[s]), str(house.categories[h])
        # A whole address often stands in one cell.
        for column in {"street", "house"} & raw.cells.keys():
            for reading in town.streets.read(list(map(str, raw.cells[column].categories))):
                if reading.street and reading.house:
                    yield reading.street, reading.house


def _exact_points(intake: Intake, town: Gazetteer) -> tuple[np.ndarray, np.ndarray]:
    tables = [table for table in intake.tables.values() if "easting" in table]
    east = [table["easting"].to_numpy(dtype=np.float64) for table in tables]
    north = [table["northing"].to_numpy(dtype=np.float64) for table in tables]
    if town.buildings is not None:
        east.append(town.buildings["easting"].to_numpy(dtype=np.float64))
        north.append(town.buildings["northing"].to_numpy(dtype=np.float64))
    points = np.column_stack([np.concatenate(east), np.concatenate(north)])
    points = np.unique(points[np.isfinite(points).all(axis=1)], axis=0)
    return points[:, 0].copy(), points[:, 1].copy()


def _public_vertices(town: Gazetteer) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    base = town.basemap
    shapes: list[BaseGeometry] = [street.lines for street in base.streets]
    shapes += [base.boundary] if base.boundary is not None else []
    shapes += [*base.water, *base.greens, *base.buildings]
    return np.asarray(shapely.get_coordinates(shapes), dtype=np.float64)


def _trusted() -> frozenset[str]:
    """Return digests of the files that come unchanged with Leaflet or the theme."""
    digests = {hashlib.sha256(data).hexdigest() for data in leaflet_files().values()}
    for path in (default_theme() / "static").rglob("*"):
        if path.is_file() and path.suffix in _TRUSTED_SUFFIXES:
            digests.add(hashlib.sha256(path.read_bytes()).hexdigest())
    return frozenset(digests)


def content_sources(site: Path, content: Path) -> dict[str, Source]:
    """Return the file of content/ behind each path below a site that was made from one."""
    pages, news = _texts(content / "pages"), _texts(content / "news")
    found = {}
    for path in site.rglob("*"):
        name = path.relative_to(site).as_posix()
        if name.startswith(("images/", "files/")):
            own = content / name if (content / name).is_file() else None
        elif name == "index.html":
            own = pages.get(plain(HOME_PAGE))
        elif match := re.fullmatch(r"(news/)?([^/]+)/index\.html", name):
            own = (news if match.group(1) else pages).get(plain(match.group(2)))
        else:
            own = None
        if own is not None:
            shown = f"content/{own.relative_to(content).as_posix()}"
            found[name] = Source(shown, own)
    return found


def _texts(folder: Path) -> dict[str, Path]:
    """Return the texts of a folder by their addresses in the site, in plain form."""
    found = {}
    for path in sorted(folder.rglob("*.md")):
        head = path.read_text(encoding="utf-8", errors="replace")[:2000]
        named = re.search(r"^slug:\s*(\S+)", head, re.IGNORECASE | re.MULTILINE)
        found[plain(named.group(1) if named else slugify(path.stem))] = path
    return found
