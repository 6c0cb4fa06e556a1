"""What each folder of survey_data/ may hold: its columns, their aliases and value types."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from importlib import resources
from types import MappingProxyType


class ValueType(StrEnum):
    """How a column's cells are read; `values.py` has one reader for each."""

    TEXT = "text"
    DATE = "date"
    SEASON = "season"
    TIME = "time"
    COUNT = "count"
    NUMBER = "number"
    MONEY = "money"
    YES_NO = "yes or no"
    SPECIES = "species"
    BEHAVIOUR = "behaviour"
    STATUS = "status"
    LOST_CAUSE = "lost cause"
    SEEN = "seen"
    STAGE = "stage"
    FACING = "facing"
    WEATHER = "weather"
    DECISION = "decision"
    PLACE = "place"
    """Kept as text here; `locate.py` reads it."""


@dataclass(frozen=True, slots=True)
class Column:
    """One canonical column.

    `unit` is the unit a bare number is in; `low` and `high` are the limits outside which a
    number is a slip of the pen (common practice, no source).
    """

    name: str
    type: ValueType
    about: str
    required: bool = False
    unit: str | None = None
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class RecordKind:
    """One folder: its columns in the order they are written."""

    folder: str
    about: str
    columns: tuple[Column, ...]
    place_from: str | None = None
    """A column that may stand in for a place given in another row (a site's or box's name)."""
    one_of: tuple[tuple[str, ...], ...] = ()
    """Groups of columns of which at least one must be filled."""

    @property
    def names(self) -> tuple[str, ...]:
        """Canonical column names in order."""
        return tuple(column.name for column in self.columns)

    @property
    def has_place(self) -> bool:
        """Whether rows of this kind lie somewhere."""
        return any(column.type is ValueType.PLACE for column in self.columns)

    def column(self, name: str) -> Column:
        """Return the column of that canonical name."""
        return next(column for column in self.columns if column.name == name)


PLACE_COLUMNS = ("grid_ref", "latitude", "longitude", "easting", "northing", "street", "house")

_PLACE = (
    Column("grid_ref", ValueType.PLACE, "British or Irish grid reference, any precision"),
    Column("latitude", ValueType.PLACE, "Latitude, or latitude and longitude in one cell"),
    Column("longitude", ValueType.PLACE, "Longitude"),
    Column("easting", ValueType.PLACE, "Easting in metres"),
    Column("northing", ValueType.PLACE, "Northing in metres"),
    Column("street", ValueType.PLACE, "Street, alone or with the house number in the same cell"),
    Column("house", ValueType.PLACE, "House number or name"),
)

_SPECIES = Column("species", ValueType.SPECIES, "swift or house martin", required=True)
_NOTES = Column("notes", ValueType.TEXT, "Anything else; never published")
_SEEN_BY = Column("seen_by", ValueType.TEXT, "Who saw it; never published")
_CALLS = Column("calls_playing", ValueType.YES_NO, "Whether a caller was running within earshot")
SIGHTINGS = RecordKind(
    "sightings",
    "Swifts and house martins seen",
    (
        Column("date", ValueType.DATE, "Day first", required=True),
        Column("time", ValueType.TIME, "Local time"),
        *_PLACE,
        _SPECIES,
        Column("behaviour", ValueType.BEHAVIOUR, "What the birds did", required=True),
        Column("birds", ValueType.COUNT, "How many birds", low=1, high=2000),
        _SEEN_BY,
        Column("watch", ValueType.TEXT, "The watch it was seen on"),
        _CALLS,
        _NOTES,
    ),
)

NEST_SITES = RecordKind(
    "nest_sites",
    "Nest sites, a row for each site and season or visit",
    (
        Column("site", ValueType.TEXT, "The group's own name for the site"),
        *_PLACE,
        _SPECIES,
        Column("position", ValueType.TEXT, "Where on the building; never published"),
        Column("season", ValueType.SEASON, "The year"),
        Column("date", ValueType.DATE, "Day first"),
        Column("behaviour", ValueType.BEHAVIOUR, "What the birds did"),
        Column("nests", ValueType.COUNT, "How many nests", low=0, high=200),
        Column("status", ValueType.STATUS, "in use, quiet this season, lost, blocked, not checked"),
        Column("lost_cause", ValueType.LOST_CAUSE, "What became of a lost site; never published"),
        Column("share", ValueType.YES_NO, "yes if the owner agrees that the place is shown"),
        _SEEN_BY,
        _NOTES,
    ),
    place_from="site",
    one_of=(("season", "date"), ("status", "behaviour")),
)

BOXES = RecordKind(
    "boxes",
    "Boxes fitted",
    (
        Column("box", ValueType.TEXT, "The box's id", required=True),
        *_PLACE,
        Column("fixed_on", ValueType.DATE, "When it went up"),
        Column("removed_on", ValueType.DATE, "When it came down"),
        Column("kind", ValueType.TEXT, "Kind of box"),
        Column("cavities", ValueType.COUNT, "Nest spaces in it", low=1, high=50),
        Column("height_m", ValueType.NUMBER, "Height above ground", unit="m", low=1, high=60),
        Column("facing", ValueType.FACING, "Which way it faces"),
        Column(
            "entrance_mm",
            ValueType.NUMBER,
            "Height of the entrance slot",
            unit="mm",
            low=10,
            high=150,
        ),
        Column(
            "clear_drop_m",
            ValueType.NUMBER,
            "Clear fall below the entrance",
            unit="m",
            low=0,
            high=60,
        ),
        Column("calls_from", ValueType.DATE, "Caller on from"),
        Column("calls_to", ValueType.DATE, "Caller on until"),
        Column("share", ValueType.YES_NO, "yes if the owner agrees that the place is shown"),
        Column("paid_by", ValueType.TEXT, "Who paid; never published"),
        Column("cost", ValueType.MONEY, "Pounds", unit="£", low=0, high=100_000),
        _NOTES,
    ),
    place_from="box",
)

CHECKS = RecordKind(
    "checks",
    "What was in each box",
    (
        Column("box", ValueType.TEXT, "The box's id", required=True),
        Column("cavity", ValueType.TEXT, "Which nest space, where a box has several"),
        Column("date", ValueType.DATE, "Day first", required=True),
        Column("seen", ValueType.SEEN, "Who was in it", required=True),
        Column("stage", ValueType.STAGE, "How far they were"),
        Column("eggs", ValueType.COUNT, "Eggs seen", low=0, high=20),
        Column("young", ValueType.COUNT, "Young seen", low=0, high=20),
        Column("fledged", ValueType.COUNT, "Young that flew", low=0, high=40),
        Column("checked_by", ValueType.TEXT, "Who looked; never published"),
        _NOTES,
    ),
)

WATCHES = RecordKind(
    "watches",
    "Time spent watching, whatever was seen",
    (
        Column("watch", ValueType.TEXT, "The watch's id"),
        Column("date", ValueType.DATE, "Day first", required=True),
        Column("start", ValueType.TIME, "Local time", required=True),
        Column("end", ValueType.TIME, "Local time", required=True),
        Column("watchers", ValueType.TEXT, "Who watched; never published"),
        Column("streets", ValueType.TEXT, "Streets watched, separated by semicolons"),
        *_PLACE,
        Column("elevation", ValueType.TEXT, "Which side of the building"),
        Column("weather", ValueType.WEATHER, "The weather"),
        Column("wind_bft", ValueType.COUNT, "Beaufort force", low=0, high=12),
        Column("temp_c", ValueType.NUMBER, "Air temperature", unit="c", low=-10, high=45),
        Column("most_birds", ValueType.COUNT, "Most birds seen at once", low=0, high=2000),
        _CALLS,
        _NOTES,
    ),
)

REQUESTS = RecordKind(
    "requests",
    "Owners who asked for boxes, and doors the group has knocked on",
    (
        Column("asked_on", ValueType.DATE, "When the owner asked"),
        *_PLACE,
        Column(
            "eaves_height_m",
            ValueType.NUMBER,
            "Height of the eaves above ground",
            unit="m",
            low=1,
            high=60,
        ),
        Column("facing", ValueType.FACING, "Which way the wall faces"),
        Column("tenure", ValueType.TEXT, "Who owns it: owner, housing association, school ..."),
        Column("boxes", ValueType.COUNT, "How many boxes were offered or promised", low=1, high=20),
        Column(
            "promised",
            ValueType.YES_NO,
            "yes if the group has promised the boxes and not fixed them yet",
        ),
        Column("offered_on", ValueType.DATE, "When the group offered boxes"),
        Column("accepted", ValueType.YES_NO, "What the owner said to the offer"),
        Column("contact", ValueType.TEXT, "Whom to talk to; never published"),
        _NOTES,
    ),
    one_of=(("asked_on", "offered_on"),),
)

DECISIONS = RecordKind(
    "decisions",
    "What a person decided about two rows",
    (
        Column("first", ValueType.TEXT, "Key of one row", required=True),
        Column("second", ValueType.TEXT, "Key of the other", required=True),
        Column("decision", ValueType.DECISION, "same or different", required=True),
        Column("decided_by", ValueType.TEXT, "Who decided; never published"),
        Column("why", ValueType.TEXT, "Why"),
    ),
)

PLANNING = RecordKind(
    "planning",
    "Planning applications, and what became of them",
    (
        Column("reference", ValueType.TEXT, "The council's reference", required=True),
        Column("received", ValueType.DATE, "When the council took it in, day first"),
        Column("comments_due", ValueType.DATE, "Last day for comments, day first"),
        *_PLACE,
        Column(
            "site_wkt",
            ValueType.TEXT,
            "The site's outline as WKT, in the town's grid unless SRID=4326; stands before it",
        ),
        Column("proposal", ValueType.TEXT, "What is proposed"),
        Column("work", ValueType.TEXT, "Kind of work: roof, demolition, new dwellings"),
        Column("dwellings", ValueType.COUNT, "New dwellings", low=0, high=5000),
        Column("outcome", ValueType.TEXT, "What the council decided"),
        Column("decided_on", ValueType.DATE, "When it decided, day first"),
        Column("conditions", ValueType.TEXT, "Conditions for birds, as granted"),
        Column(
            "boxes_asked", ValueType.COUNT, "Integral boxes the group asked for", low=0, high=5000
        ),
        Column(
            "boxes_granted", ValueType.COUNT, "Integral boxes in the conditions", low=0, high=5000
        ),
        Column(
            "boxes_drawn",
            ValueType.COUNT,
            "Integral boxes shown on approved drawings",
            low=0,
            high=5000,
        ),
        Column(
            "boxes_fitted",
            ValueType.COUNT,
            "Integral boxes seen in the finished building",
            low=0,
            high=5000,
        ),
        Column("fitted_on", ValueType.DATE, "When they were seen, day first"),
        Column("photographed", ValueType.YES_NO, "Whether there is a photograph of them in place"),
        _NOTES,
    ),
    place_from="site_wkt",
)

KINDS: MappingProxyType[str, RecordKind] = MappingProxyType(
    {
        kind.folder: kind
        for kind in (SIGHTINGS, NEST_SITES, BOXES, CHECKS, WATCHES, REQUESTS, PLANNING, DECISIONS)
    }
)

PERSON_COLUMNS = ("seen_by", "checked_by", "watchers", "paid_by", "decided_by", "contact")
"""Columns that name people: the audit looks for every name in them."""


@lru_cache(maxsize=10_000)
def plain(text: str) -> str:
    """Return `text` without case, accents, spaces or punctuation, for comparing headings."""
    decomposed = unicodedata.normalize("NFKD", text).casefold()
    return re.sub(r"[^a-z0-9£]", "", decomposed)


def aliases(folder: str, column: str) -> tuple[str, ...]:
    """Return the headings that stand for a column, beside its own name, as people write them."""
    listed = package_words("headings")
    return listed.get(folder, {}).get(column) or listed["everywhere"].get(column, ())


@lru_cache(maxsize=4)
def package_words(name: str) -> Mapping[str, Mapping[str, tuple[str, ...]]]:
    """Return the words in one of the package's data files: table, key, words."""
    text = resources.files("eaveline.data").joinpath(f"{name}.toml").read_text("utf-8")
    return {
        table: {key: tuple(words) for key, words in entries.items()}
        for table, entries in tomllib.loads(text).items()
    }


@lru_cache(maxsize=32)
def heading_table(folder: str) -> MappingProxyType[str, str]:
    """Return the plain headings of a folder and the canonical name each stands for.

    A canonical name always wins over another column's alias.
    """
    kind = KINDS[folder]
    table: dict[str, str] = {}
    for column in kind.columns:
        for alias in aliases(folder, column.name):
            table.setdefault(plain(alias), column.name)
    table |= {plain(column.name): column.name for column in kind.columns}
    return MappingProxyType(table)
