"""What each folder of survey_data/ may hold: its columns, their aliases and value types."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
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
    aliases: tuple[str, ...] = ()
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
    Column(
        "grid_ref",
        ValueType.PLACE,
        "British or Irish grid reference, any precision",
        (
            "grid reference",
            "gridref",
            "os grid ref",
            "os ref",
            "ngr",
            "grid",
            "map ref",
            "map reference",
            "gr",
            "os grid reference",
            "square",
            "national grid",
        ),
    ),
    Column(
        "latitude",
        ValueType.PLACE,
        "Latitude, or latitude and longitude in one cell",
        (
            "lat",
            "lat long",
            "lat lon",
            "latlong",
            "latlon",
            "coordinates",
            "coords",
            "gps",
            "y",
            "latitude longitude",
            "position gps",
            "lat / long",
            "gps position",
        ),
    ),
    Column("longitude", ValueType.PLACE, "Longitude", ("lon", "long", "lng", "x")),
    Column(
        "easting", ValueType.PLACE, "Easting in metres", ("eastings", "east", "e", "osgb e", "x m")
    ),
    Column("northing", ValueType.PLACE, "Northing in metres", ("northings", "north", "n", "y m")),
    Column(
        "street",
        ValueType.PLACE,
        "Street, alone or with the house number in the same cell",
        (
            "road",
            "street name",
            "where",
            "address",
            "location",
            "place",
            "st",
            "road name",
            "where seen",
            "site address",
            "location address",
            "street road",
            "road street",
        ),
    ),
    Column(
        "house",
        ValueType.PLACE,
        "House number or name",
        (
            "house no",
            "house number",
            "number",
            "no",
            "house name",
            "door",
            "house name number",
            "house no name",
            "property",
            "door number",
            "hse",
            "hse no",
            "house num",
            "num",
        ),
    ),
)

_SPECIES = Column(
    "species",
    ValueType.SPECIES,
    "swift or house martin",
    ("bird", "which bird", "kind of bird", "spp", "sp"),
    required=True,
)
_NOTES = Column(
    "notes",
    ValueType.TEXT,
    "Anything else; never published",
    (
        "note",
        "comments",
        "comment",
        "remarks",
        "other",
        "details",
        "any other notes",
        "anything else",
        "remark",
        "extra",
    ),
)
_SEEN_BY = Column(
    "seen_by",
    ValueType.TEXT,
    "Who saw it; never published",
    (
        "who",
        "observer",
        "recorder",
        "name",
        "seen by whom",
        "spotted by",
        "recorded by",
        "observers",
        "your name",
        "reported by",
        "observer name",
        "initials",
        "member",
        "by",
    ),
)
_CALLS = Column(
    "calls_playing",
    ValueType.YES_NO,
    "Whether a caller was running within earshot",
    (
        "calls",
        "caller on",
        "calls on",
        "speaker",
        "speaker on",
        "call playing",
        "playback",
        "caller running",
        "caller",
        "calls playing nearby",
        "sound system",
    ),
)
_DATE_ALIASES = (
    "date seen",
    "day",
    "when",
    "visit date",
    "date of visit",
    "date of sighting",
    "seen on",
    "survey date",
    "obs date",
    "evening",
    "the date",
)

SIGHTINGS = RecordKind(
    "sightings",
    "Swifts and house martins seen",
    (
        Column("date", ValueType.DATE, "Day first", _DATE_ALIASES, required=True),
        Column(
            "time",
            ValueType.TIME,
            "Local time",
            ("time seen", "at", "clock", "hour", "time of day", "start time", "when time"),
        ),
        *_PLACE,
        _SPECIES,
        Column(
            "behaviour",
            ValueType.BEHAVIOUR,
            "What the birds did",
            (
                "behavior",
                "activity",
                "what",
                "doing",
                "what doing",
                "what were they doing",
                "what they did",
                "seen doing",
                "evidence",
                "what seen",
            ),
            required=True,
        ),
        Column(
            "birds",
            ValueType.COUNT,
            "How many birds",
            (
                "no seen",
                "number seen",
                "count",
                "how many",
                "number of birds",
                "no of birds",
                "total",
                "qty",
                "bird count",
                "max",
                "no birds",
                "num birds",
                "birds seen",
            ),
            low=1,
            high=2000,
        ),
        _SEEN_BY,
        Column(
            "watch",
            ValueType.TEXT,
            "The watch it was seen on",
            ("watch id", "watch no", "watch number", "session", "watch ref"),
        ),
        _CALLS,
        _NOTES,
    ),
)

NEST_SITES = RecordKind(
    "nest_sites",
    "Nest sites, a row for each site and season or visit",
    (
        Column(
            "site",
            ValueType.TEXT,
            "The group's own name for the site",
            (
                "site id",
                "site no",
                "site code",
                "site name",
                "nest",
                "nest id",
                "nest site",
                "ref",
                "site ref",
                "nest ref",
                "id",
            ),
        ),
        *_PLACE,
        _SPECIES,
        Column(
            "position",
            ValueType.TEXT,
            "Where on the building; never published",
            (
                "where on building",
                "where on house",
                "nest position",
                "part of building",
                "position on building",
                "which wall",
                "entrance position",
            ),
        ),
        Column("season", ValueType.SEASON, "The year", ("year", "yr", "breeding season", "summer")),
        Column(
            "date",
            ValueType.DATE,
            "Day first",
            (*_DATE_ALIASES, "last seen", "date checked", "checked on"),
        ),
        Column(
            "behaviour",
            ValueType.BEHAVIOUR,
            "What the birds did",
            (
                "behavior",
                "activity",
                "evidence",
                "what",
                "what seen",
                "proof",
                "seen doing",
                "doing",
                "signs",
            ),
        ),
        Column(
            "nests",
            ValueType.COUNT,
            "How many nests",
            (
                "no of nests",
                "number of nests",
                "nest count",
                "how many",
                "how many nests",
                "no nests",
                "count",
                "pairs",
            ),
            low=0,
            high=200,
        ),
        Column(
            "status",
            ValueType.STATUS,
            "in use, quiet this season, lost, blocked, not checked",
            ("state", "still there", "in use", "condition", "site status", "how is it"),
        ),
        Column(
            "share",
            ValueType.YES_NO,
            "yes if the owner agrees that the place is shown",
            (
                "may share",
                "share ok",
                "ok to share",
                "public",
                "owner agrees",
                "can we share",
                "consent",
                "share location",
                "show on map",
            ),
        ),
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
        Column(
            "box",
            ValueType.TEXT,
            "The box's id",
            (
                "box id",
                "box no",
                "box number",
                "box ref",
                "boxid",
                "nestbox",
                "nest box",
                "id",
                "box code",
                "ref",
            ),
            required=True,
        ),
        *_PLACE,
        Column(
            "fixed_on",
            ValueType.DATE,
            "When it went up",
            (
                "date fixed",
                "date fitted",
                "fitted",
                "fitted on",
                "installed",
                "date installed",
                "put up",
                "date put up",
                "erected",
                "date up",
                "up since",
                "date",
                "fixed",
            ),
        ),
        Column(
            "removed_on",
            ValueType.DATE,
            "When it came down",
            ("date removed", "removed", "taken down", "came down", "date down", "down"),
        ),
        Column(
            "kind",
            ValueType.TEXT,
            "Kind of box",
            ("type", "box type", "box kind", "make", "model", "style"),
        ),
        Column(
            "cavities",
            ValueType.COUNT,
            "Nest spaces in it",
            (
                "holes",
                "chambers",
                "compartments",
                "no of cavities",
                "spaces",
                "nest spaces",
                "entrances",
                "no holes",
                "number of cavities",
            ),
            low=1,
            high=50,
        ),
        Column(
            "height_m",
            ValueType.NUMBER,
            "Height above ground",
            ("height", "height (m)", "how high", "height metres", "ht", "height m approx"),
            unit="m",
            low=1,
            high=60,
        ),
        Column(
            "facing",
            ValueType.FACING,
            "Which way it faces",
            ("aspect", "faces", "direction", "orientation", "which way"),
        ),
        Column(
            "entrance_mm",
            ValueType.NUMBER,
            "Height of the entrance slot",
            ("entrance", "hole", "entrance size", "entrance height", "hole size", "slot"),
            unit="mm",
            low=10,
            high=150,
        ),
        Column(
            "clear_drop_m",
            ValueType.NUMBER,
            "Clear fall below the entrance",
            ("clear drop", "drop", "clearance", "flight path", "clear fall"),
            unit="m",
            low=0,
            high=60,
        ),
        Column(
            "calls_from",
            ValueType.DATE,
            "Caller on from",
            ("caller from", "calls start", "caller on from", "calls started", "call from"),
        ),
        Column(
            "calls_to",
            ValueType.DATE,
            "Caller on until",
            ("caller to", "calls end", "caller until", "calls ended", "calls until", "call to"),
        ),
        Column(
            "share",
            ValueType.YES_NO,
            "yes if the owner agrees that the place is shown",
            (
                "may share",
                "share ok",
                "ok to share",
                "public",
                "owner agrees",
                "can we share",
                "consent",
                "share location",
                "show on map",
            ),
        ),
        Column(
            "paid_by",
            ValueType.TEXT,
            "Who paid; never published",
            ("funded by", "funder", "paid for by", "who paid", "grant"),
        ),
        Column(
            "cost",
            ValueType.MONEY,
            "Pounds",
            ("price", "cost gbp", "cost pounds", "paid", "total cost", "cost £", "£"),
            unit="£",
            low=0,
            high=100_000,
        ),
        _NOTES,
    ),
    place_from="box",
)

CHECKS = RecordKind(
    "checks",
    "What was in each box",
    (
        Column(
            "box",
            ValueType.TEXT,
            "The box's id",
            (
                "box id",
                "box no",
                "box number",
                "box ref",
                "boxid",
                "nestbox",
                "nest box",
                "id",
                "box code",
                "ref",
            ),
            required=True,
        ),
        Column(
            "cavity",
            ValueType.TEXT,
            "Which nest space, where a box has several",
            ("hole", "chamber", "compartment", "cavity no", "which hole", "space", "hole no"),
        ),
        Column(
            "date",
            ValueType.DATE,
            "Day first",
            (
                *_DATE_ALIASES,
                "date checked",
                "checked on",
                "check date",
                "checked",
                "date of check",
            ),
            required=True,
        ),
        Column(
            "seen",
            ValueType.SEEN,
            "Who was in it",
            (
                "contents",
                "occupant",
                "found",
                "what was in it",
                "occupied by",
                "species",
                "in box",
                "what",
                "occupants",
                "result",
                "who lives there",
            ),
            required=True,
        ),
        Column(
            "stage",
            ValueType.STAGE,
            "How far they were",
            ("nest stage", "state", "breeding stage", "progress", "how far"),
        ),
        Column(
            "eggs",
            ValueType.COUNT,
            "Eggs seen",
            ("no of eggs", "no eggs", "egg count", "number of eggs"),
            low=0,
            high=20,
        ),
        Column(
            "young",
            ValueType.COUNT,
            "Young seen",
            ("chicks", "no of young", "nestlings", "pulli", "no chicks", "number of young"),
            low=0,
            high=20,
        ),
        Column(
            "fledged",
            ValueType.COUNT,
            "Young that flew",
            ("no fledged", "young fledged", "fledglings", "flown", "number fledged"),
            low=0,
            high=40,
        ),
        Column(
            "checked_by",
            ValueType.TEXT,
            "Who looked; never published",
            (
                "who",
                "checker",
                "by",
                "observer",
                "name",
                "checked by whom",
                "recorder",
                "initials",
                "who checked",
            ),
        ),
        _NOTES,
    ),
)

WATCHES = RecordKind(
    "watches",
    "Time spent watching, whatever was seen",
    (
        Column(
            "watch",
            ValueType.TEXT,
            "The watch's id",
            ("watch id", "watch no", "watch number", "session", "id", "ref", "watch ref"),
        ),
        Column("date", ValueType.DATE, "Day first", _DATE_ALIASES, required=True),
        Column(
            "start",
            ValueType.TIME,
            "Local time",
            ("start time", "from", "began", "started", "time from", "time start", "time on"),
            required=True,
        ),
        Column(
            "end",
            ValueType.TIME,
            "Local time",
            (
                "end time",
                "to",
                "finish",
                "finished",
                "until",
                "ended",
                "time to",
                "time end",
                "time off",
            ),
            required=True,
        ),
        Column(
            "watchers",
            ValueType.TEXT,
            "Who watched; never published",
            (
                "who",
                "observers",
                "observer",
                "names",
                "seen by",
                "name",
                "watched by",
                "recorder",
                "team",
            ),
        ),
        Column(
            "streets",
            ValueType.TEXT,
            "Streets watched, separated by semicolons",
            ("streets watched", "roads", "roads watched", "which streets", "streets covered"),
        ),
        *_PLACE,
        Column(
            "elevation",
            ValueType.TEXT,
            "Which side of the building",
            ("side", "elevation watched", "side watched", "aspect watched", "which side"),
        ),
        Column(
            "weather",
            ValueType.WEATHER,
            "The weather",
            ("conditions", "wx", "sky", "weather conditions"),
        ),
        Column(
            "wind_bft",
            ValueType.COUNT,
            "Beaufort force",
            ("wind", "beaufort", "wind force", "wind (bft)", "bft", "force"),
            low=0,
            high=12,
        ),
        Column(
            "temp_c",
            ValueType.NUMBER,
            "Air temperature",
            ("temp", "temperature", "deg c", "temp (c)", "degrees"),
            unit="c",
            low=-10,
            high=45,
        ),
        Column(
            "most_birds",
            ValueType.COUNT,
            "Most birds seen at once",
            (
                "max birds",
                "most seen",
                "peak",
                "max count",
                "birds",
                "most at once",
                "max seen",
                "peak count",
                "max",
                "count",
            ),
            low=0,
            high=2000,
        ),
        _CALLS,
        _NOTES,
    ),
)

REQUESTS = RecordKind(
    "requests",
    "Owners who asked for boxes, and doors the group has knocked on",
    (
        Column(
            "asked_on",
            ValueType.DATE,
            "When the owner asked",
            ("date asked", "asked", "date", "requested on", "request date", "date of request"),
        ),
        *_PLACE,
        Column(
            "eaves_height_m",
            ValueType.NUMBER,
            "Height of the eaves above ground",
            ("eaves height", "eaves", "height", "height m", "height of eaves"),
            unit="m",
            low=1,
            high=60,
        ),
        Column(
            "facing",
            ValueType.FACING,
            "Which way the wall faces",
            ("aspect", "faces", "direction", "orientation", "which way"),
        ),
        Column(
            "tenure",
            ValueType.TEXT,
            "Who owns it: owner, housing association, school ...",
            ("kind of tenure", "ownership", "owned by", "landlord"),
        ),
        Column(
            "boxes",
            ValueType.COUNT,
            "How many boxes were offered or promised",
            ("lot", "how many boxes", "number of boxes", "no of boxes", "boxes wanted"),
            low=1,
            high=20,
        ),
        Column(
            "promised",
            ValueType.YES_NO,
            "yes if the group has promised the boxes and not fixed them yet",
            ("promise", "already promised", "agreed"),
        ),
        Column(
            "offered_on",
            ValueType.DATE,
            "When the group offered boxes",
            ("date offered", "offered", "knocked on", "visited on", "offer date"),
        ),
        Column(
            "accepted",
            ValueType.YES_NO,
            "What the owner said to the offer",
            ("said yes", "answer", "reply", "outcome", "accepts"),
        ),
        Column(
            "contact",
            ValueType.TEXT,
            "Whom to talk to; never published",
            ("owner", "householder", "name", "who", "phone", "email", "contact details"),
        ),
        _NOTES,
    ),
    one_of=(("asked_on", "offered_on"),),
)

DECISIONS = RecordKind(
    "decisions",
    "What a person decided about two rows",
    (
        Column(
            "first",
            ValueType.TEXT,
            "Key of one row",
            ("key 1", "row 1", "first key", "a"),
            required=True,
        ),
        Column(
            "second",
            ValueType.TEXT,
            "Key of the other",
            ("key 2", "row 2", "second key", "b"),
            required=True,
        ),
        Column(
            "decision",
            ValueType.DECISION,
            "same or different",
            ("verdict", "decided", "answer"),
            required=True,
        ),
        Column("decided_by", ValueType.TEXT, "Who decided; never published", ("who", "by")),
        Column("why", ValueType.TEXT, "Why", ("reason", "because", "notes")),
    ),
)

KINDS: MappingProxyType[str, RecordKind] = MappingProxyType(
    {
        kind.folder: kind
        for kind in (SIGHTINGS, NEST_SITES, BOXES, CHECKS, WATCHES, REQUESTS, DECISIONS)
    }
)

PERSON_COLUMNS = ("seen_by", "checked_by", "watchers", "paid_by", "decided_by", "contact")
"""Columns that name people: the audit looks for every name in them."""


@lru_cache(maxsize=10_000)
def plain(text: str) -> str:
    """Return `text` without case, accents, spaces or punctuation, for comparing headings."""
    decomposed = unicodedata.normalize("NFKD", text).casefold()
    return re.sub(r"[^a-z0-9£]", "", decomposed)


@lru_cache(maxsize=32)
def heading_table(folder: str) -> MappingProxyType[str, str]:
    """Return the plain headings of a folder and the canonical name each stands for.

    A canonical name always wins over another column's alias.
    """
    kind = KINDS[folder]
    table: dict[str, str] = {}
    for column in kind.columns:
        for alias in column.aliases:
            table.setdefault(plain(alias), column.name)
    table |= {plain(column.name): column.name for column in kind.columns}
    return MappingProxyType(table)
