"""town.toml as one frozen object, read once and passed as an argument."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from difflib import get_close_matches
from pathlib import Path
from typing import Annotated, Literal, NamedTuple, Self, get_args, get_origin

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from eaveline.errors import InputError, Problem
from eaveline.public.records import Nation, Record
from eaveline.public.town import PublicTown, Text

TOWN_FILE = "survey_data/town.toml"


class Table(NamedTuple):
    """A part of town.toml."""

    path: str
    """Its dotted name; empty for the keys at the top of the file."""
    model: type[BaseModel]
    """The keys it may have."""
    repeated: bool = False
    """Whether it may stand several times, in double brackets."""


class Setting(Record):
    """A part of town.toml; the words below a key tell a group what it is for."""

    model_config = ConfigDict(use_attribute_docstrings=True)


class Privacy(Setting):
    """How the published map is blurred."""

    minimum_premises: Annotated[int, Field(ge=5, le=1000)] = 10
    """The minimum count: no square of the map holds fewer homes. Settled by the first build."""
    cell_size_m: Literal[100, 200, 500, 1000] = 100
    """Side of a square, in metres; settled by the first build, like the minimum."""
    looked_hours: Annotated[int, Field(ge=1, le=100)] = 2
    """Hours of watching in a square and season before 'none found' is an answer."""


class Merging(Setting):
    """Limits within which two sightings are one; the defaults come from tests/merging_quality."""

    distance_m: Annotated[float, Field(ge=0, le=2000)] = 150.0
    """Metres between two sightings of one party, on top of both records' own uncertainties."""
    minutes: Annotated[float, Field(ge=0, le=120)] = 5.0
    """Minutes between them, on top of what is allowed for times rounded to five minutes."""


class PublicBuilding(Setting):
    """A church, school or library: its name may be shown if it agrees to be listed."""

    name: Text
    """As the site shows it."""
    street: Text
    """As the list of addresses has it."""
    house: Text
    """As the list of addresses has it."""


class AuditAllowance(Setting):
    """A finding of the audit that a person has judged harmless."""

    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$", examples=["0123456789abcdef" * 4])]
    """The 64 letters and digits that the audit's message gives."""
    reason: Text
    """Why it is harmless."""


class Stock(Record):
    """Boxes and money to reckon with instead of what town.toml says; None leaves it."""

    boxes: Annotated[int, Field(ge=0, le=10_000)] | None = None
    budget_pounds: Annotated[float, Field(ge=0, le=10_000_000)] | None = None


class OfferQuota(Setting):
    """A share of the boxes for some streets or one kind of tenure."""

    name: Text
    """As the papers show it."""
    streets: tuple[Text, ...] = ()
    """Their names."""
    tenure: Text | None = None
    """As requests/ write it."""
    at_least: Annotated[int, Field(ge=0, le=10_000)] = 0
    """Boxes."""
    at_most: Annotated[int, Field(ge=0, le=10_000)] | None = None
    """Boxes."""


class Offers(Setting):
    """How many free boxes the group has, what they cost, and whom to be fair to.

    Limits and defaults are common practice without a source.
    """

    boxes: Annotated[int, Field(ge=0, le=10_000)] = 24
    """Free boxes to give away."""
    budget_pounds: Annotated[float, Field(ge=0, le=10_000_000)] | None = None
    """Money to spend on them."""
    box_pounds: Annotated[float, Field(ge=0, le=10_000)] = 0.0
    """What one box costs."""
    visit_pounds: Annotated[float, Field(ge=0, le=100_000)] = 0.0
    """Fixing the boxes of one building, whatever their number."""
    scaffold_pounds: Annotated[float, Field(ge=0, le=100_000)] = 0.0
    """One scaffold or platform; neighbours within reach share it."""
    scaffold_reach_m: Annotated[float, Field(ge=0, le=50)] = 10.0
    """How near they must be, in metres."""
    smallest_lot: Annotated[int, Field(ge=1, le=6)] = 2
    """Fewest boxes for one building."""
    largest_lot: Annotated[int, Field(ge=1, le=12)] = 6
    """Most boxes for one building."""
    most_per_street: Annotated[int, Field(ge=1, le=1000)] | None = 3
    """Buildings offered boxes in one street."""
    most_houses_near: Annotated[int, Field(ge=1, le=1000)] | None = 1
    """Houses offered boxes within `near_m` of any one house; those whose owner asked come on
    top. Boxes side by side wait for the same few young swifts."""
    near_m: Annotated[float, Field(ge=0, le=200)] = 30.0
    """What counts as near, in metres."""
    new_area_share: Annotated[float, Field(ge=0, le=1)] = 0.25
    """Of the boxes, kept for places where none hangs near by yet."""
    quotas: tuple[OfferQuota, ...] = ()
    """Fair shares."""
    watch_evenings_a_week: Annotated[int, Field(ge=0, le=50)] = 3
    """Watches the group can manage, for the rota."""

    @model_validator(mode="after")
    def _lots_in_order(self) -> Self:
        if self.smallest_lot > self.largest_lot:
            msg = "smallest_lot is above largest_lot"
            raise ValueError(msg)
        return self


class Config(Setting):
    """Everything town.toml says."""

    town: PublicTown
    """The town's and the group's public face."""
    privacy: Privacy = Privacy()
    """How the published map is blurred."""
    merging: Merging = Merging()
    """Limits within which two sightings are one."""
    offers: Offers = Offers()
    """How many free boxes the group has, what they cost, and whom to be fair to."""
    public_buildings: tuple[PublicBuilding, ...] = ()
    """Churches, schools and libraries whose names may be shown because they agreed."""
    records_centre: Text | None = None
    """A body trusted with exact places; if one is named, an export for it is written."""
    audit_allow: tuple[AuditAllowance, ...] = ()
    """Findings of the audit that a person has judged harmless."""

    def with_stock(self, stock: Stock) -> Self:
        """Return these settings with another stock of free boxes."""
        offers = self.offers.model_copy(update=stock.model_dump(exclude_none=True))
        return self.model_copy(update={"offers": offers})

    @property
    def crs(self) -> Literal["EPSG:27700", "EPSG:29903"]:
        """The town's projected system: British National Grid, or Irish Grid."""
        return "EPSG:29903" if self.town.nation is Nation.NORTHERN_IRELAND else "EPSG:27700"


def load_config(folder: Path) -> Config:
    """Read `folder`/survey_data/town.toml.

    Raises
    ------
    InputError
        With every fault at once, if the file is missing, is not TOML or holds a wrong value.
    """
    path = folder / TOWN_FILE
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise InputError(
            Problem(
                code="town-file-missing",
                what="There is no town.toml, the file that names your town and group.",
                next_step="Run the command in a town's folder, or give the folder's name after it;"
                " --help lists the commands.",
                file=TOWN_FILE,
            )
        ) from None
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(
            Problem(
                code="town-file-unreadable",
                what=f"The file cannot be read ({type(error).__name__}).",
                next_step="Save it again as plain text (UTF-8) and check that you may open it.",
                file=TOWN_FILE,
            )
        ) from None
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(
            Problem(
                code="town-file-not-toml",
                what=f"The file does not follow the TOML format: {error}.",
                next_step='Text needs quotation marks (name = "Ottersley"); mend it and try again.',
                file=TOWN_FILE,
            )
        ) from None
    try:
        return Config.model_validate(data)
    except ValidationError as error:
        raise InputError(_config_problems(error)) from None


def tables_of(top: Table | None = None) -> Iterator[Table]:
    """Yield a part of town.toml and those within it; by default all of them, the top first."""
    top = top or Table("", Config)
    yield top
    for name, field in top.model.model_fields.items():
        part = part_of(field.annotation)
        if part is not None:
            path = f"{top.path}.{name}".lstrip(".")
            yield from tables_of(Table(path, part, get_origin(field.annotation) is tuple))


def part_of(annotation: object) -> type[BaseModel] | None:
    """Return the settings that a key holds as a table, or as a list of tables."""
    for kind in (annotation, *get_args(annotation)):
        if isinstance(kind, type) and issubclass(kind, BaseModel):
            return kind
    return None


def _place_of_key(key: str) -> str | None:
    """Return where in the file a key belongs that stands at a wrong place."""
    for path, model, repeated in tables_of():
        field = None if repeated else model.model_fields.get(key)
        if field is not None and part_of(field.annotation) is None:
            at_top = "to the top, above every line in [brackets]"
            return f"below the line [{path}]" if path else at_top
    return None


def _config_problems(error: ValidationError) -> list[Problem]:
    """One problem for each wrong key; the value itself is not repeated."""
    problems = []
    models = {table.path: table.model for table in tables_of()}
    for fault in error.errors(include_url=False, include_input=False, include_context=False):
        key = ".".join(str(part) for part in fault["loc"])
        *path, name = (part for part in fault["loc"] if isinstance(part, str))
        model = models.get(".".join(path), Config)
        if fault["type"] == "missing":
            what, step = "A needed line is missing.", f"Add {key} to the file."
        elif fault["type"] == "extra_forbidden":
            what = "This key is not known."
            near = get_close_matches(name, model.model_fields, n=1) or model.model_fields
            step = f"Known here: {', '.join(near)}. Correct its spelling, or remove the line."
            if (place := _place_of_key(name)) is not None:
                what = "This key is not known at this place of the file."
                step = f"Move its line {place}."
        elif fault["type"] == "string_pattern_mismatch":
            what = "This value is not written as it has to be."
            example = (model.model_fields[name].examples or [""])[0]
            step = f"Write it like {example}, and run the command again."
        else:
            what = f"This value cannot be used: {fault['msg']}."
            step = "Change it and run the command again."
        problems.append(
            Problem(
                code="town-file-wrong-value", what=what, next_step=step, file=TOWN_FILE, column=key
            )
        )
    return problems
