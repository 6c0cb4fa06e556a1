"""What the law and policy of each nation say of nests, from dated data files.

A line that could not be checked against a source is left out of the files, not softened.
"""

from __future__ import annotations

import datetime as dt
import tomllib
from importlib import resources
from typing import Annotated

from pydantic import Field

from eaveline.errors import Problem
from eaveline.public.records import Nation, Record

Line = Annotated[str, Field(min_length=1, max_length=600)]
FRESH_DAYS = 365
"""A line looked up longer ago has to be looked up again."""


class LegalLine(Record):
    """One statement, where it comes from, and when somebody last looked."""

    text: Line
    source: Line
    checked_on: dt.date


class NationLaw(Record):
    """What applies in one nation."""

    nest_law: tuple[LegalLine, ...]
    policy: tuple[LegalLine, ...] = ()
    """What planning policy there asks for."""
    consents: tuple[Line, ...]
    """Permissions that work on a wall may need there."""


class Standards(Record):
    """Standards and practice that requests to a planning authority rest on."""

    boxes_per_dwelling: LegalLine
    grouping: LegalLine
    sufficient_information: LegalLine
    age_of_records: LegalLine


def nation_law(nation: Nation) -> NationLaw:
    """Return the lines of one nation."""
    return NationLaw.model_validate(_read(nation.value.lower().replace(" ", "_")))


def standards() -> Standards:
    """Return the standards, which are the same in every nation."""
    return Standards.model_validate(_read("standards"))


def stale_lines(law: NationLaw, *, on: dt.date) -> tuple[Problem, ...]:
    """Return a warning for each line that nobody has looked up for twelve months.

    Parameters
    ----------
    law
        The nation's lines; the standards are looked at as well.
    on
        The day to count from.
    """
    common = standards()
    lines = [*law.nest_law, *law.policy]
    lines += [line for name in Standards.model_fields if (line := getattr(common, name))]
    old = [line for line in lines if (on - line.checked_on).days > FRESH_DAYS]
    return tuple(
        Problem(
            "policy-line-old",
            f"A line of law or policy was last looked up on {line.checked_on.isoformat()} "
            f"({line.source}).",
            "Look it up again before you rely on it, and update Eaveline.",
        )
        for line in old
    )


def _read(name: str) -> dict[str, object]:
    file = resources.files("eaveline") / "data" / "policy" / f"{name}.toml"
    return tomllib.loads(file.read_text(encoding="utf-8"))
