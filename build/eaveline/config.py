"""town.toml as one frozen object, read once and passed as an argument."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import Field, ValidationError, model_validator

from eaveline.errors import InputError, Problem
from eaveline.public.records import Nation, Record
from eaveline.public.town import PublicTown, Text

TOWN_FILE = "survey_data/town.toml"


class Privacy(Record):
    """How the published map is blurred."""

    minimum_premises: Annotated[int, Field(ge=5, le=1000)] = 10
    """The minimum count k: no published region holds fewer premises."""
    cell_size_m: Literal[100, 200, 500, 1000] = 100
    looked_hours: Annotated[int, Field(ge=1, le=100)] = 2
    """Hours of valid watching in a region and season before 'none found' is an answer."""


class Merging(Record):
    """Limits within which two sightings are one; the defaults come from tests/merging_quality."""

    distance_m: Annotated[float, Field(ge=0, le=2000)] = 150.0
    """On top of both records' own uncertainties."""
    minutes: Annotated[float, Field(ge=0, le=120)] = 5.0
    """On top of what recorders who round their times to five minutes are allowed."""


class PublicBuilding(Record):
    """A church, school or library: its name may be shown if it agrees to be listed."""

    name: Text
    street: Text
    house: Text


class AuditAllowance(Record):
    """A finding of the audit that a person has judged harmless."""

    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    reason: Text


class Stock(Record):
    """Boxes and money to reckon with instead of what town.toml says; None leaves it."""

    boxes: Annotated[int, Field(ge=0, le=10_000)] | None = None
    budget_pounds: Annotated[float, Field(ge=0, le=10_000_000)] | None = None


class OfferQuota(Record):
    """A share of the boxes for some streets or one kind of tenure."""

    name: Text
    streets: tuple[Text, ...] = ()
    tenure: Text | None = None
    """As requests/ write it."""
    at_least: Annotated[int, Field(ge=0, le=10_000)] = 0
    at_most: Annotated[int, Field(ge=0, le=10_000)] | None = None


class Offers(Record):
    """How many free boxes the group has, what they cost, and whom to be fair to.

    Limits and defaults are common practice without a source.
    """

    boxes: Annotated[int, Field(ge=0, le=10_000)] = 24
    budget_pounds: Annotated[float, Field(ge=0, le=10_000_000)] | None = None
    box_pounds: Annotated[float, Field(ge=0, le=10_000)] = 0.0
    visit_pounds: Annotated[float, Field(ge=0, le=100_000)] = 0.0
    """Fixing the boxes of one building, whatever their number."""
    scaffold_pounds: Annotated[float, Field(ge=0, le=100_000)] = 0.0
    """One scaffold or platform; neighbours within reach share it."""
    scaffold_reach_m: Annotated[float, Field(ge=0, le=50)] = 10.0
    smallest_lot: Annotated[int, Field(ge=1, le=6)] = 2
    largest_lot: Annotated[int, Field(ge=1, le=12)] = 6
    most_per_street: Annotated[int, Field(ge=1, le=1000)] | None = 3
    """Buildings."""
    most_houses_near: Annotated[int, Field(ge=1, le=1000)] | None = 1
    """Houses offered boxes within `near_m` of any one house; those whose owner asked come on
    top. Boxes side by side wait for the same few young swifts."""
    near_m: Annotated[float, Field(ge=0, le=200)] = 30.0
    new_area_share: Annotated[float, Field(ge=0, le=1)] = 0.25
    """Of the boxes, kept for places where none hangs near by yet."""
    quotas: tuple[OfferQuota, ...] = ()
    watch_evenings_a_week: Annotated[int, Field(ge=0, le=50)] = 3
    """Watches the group can manage, for the rota."""

    @model_validator(mode="after")
    def _lots_in_order(self) -> Self:
        if self.smallest_lot > self.largest_lot:
            msg = "smallest_lot is above largest_lot"
            raise ValueError(msg)
        return self


class Config(Record):
    """Everything town.toml says."""

    town: PublicTown
    privacy: Privacy = Privacy()
    merging: Merging = Merging()
    offers: Offers = Offers()
    public_buildings: tuple[PublicBuilding, ...] = ()
    records_centre: Text | None = None
    """A body trusted with exact places; if one is named, an export for it is written."""
    audit_allow: tuple[AuditAllowance, ...] = ()

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


def _place_of_key(key: str) -> str | None:
    """Return where in the file a key belongs that stands at a wrong place."""
    for table, field in Config.model_fields.items():
        part = field.annotation
        if isinstance(part, type) and issubclass(part, Record) and key in part.model_fields:
            return f"below the line [{table}]"
    return "to the top, above every line in [brackets]" if key == "records_centre" else None


def _config_problems(error: ValidationError) -> list[Problem]:
    """One problem for each wrong key; the value itself is not repeated."""
    problems = []
    for fault in error.errors(include_url=False, include_input=False, include_context=False):
        key = ".".join(str(part) for part in fault["loc"])
        if fault["type"] == "missing":
            what, step = "A needed line is missing.", f"Add {key} to the file."
        elif fault["type"] == "extra_forbidden":
            what = "This key is not known."
            step = "Check its spelling against DEVELOPERS.md, or remove the line."
            if (place := _place_of_key(str(fault["loc"][-1]))) is not None:
                what = "This key is not known at this place of the file."
                step = f"Move its line {place}."
        elif fault["type"] == "string_pattern_mismatch":
            what = "This value is not written as it has to be."
            step = "Look at the example in README.md, change it and run the command again."
        else:
            what = f"This value cannot be used: {fault['msg']}."
            step = "Change it and run the command again."
        problems.append(
            Problem(
                code="town-file-wrong-value", what=what, next_step=step, file=TOWN_FILE, column=key
            )
        )
    return problems
