"""What the law of each nation says of nests, from dated data files.

A line that could not be checked against a source is left out of the files, not softened.
"""

from __future__ import annotations

import datetime as dt
import tomllib
from importlib import resources
from typing import Annotated

from pydantic import Field

from eaveline.public.records import Nation, Record

Line = Annotated[str, Field(min_length=1, max_length=600)]


class LegalLine(Record):
    """One statement, where it comes from, and when somebody last looked."""

    text: Line
    source: Line
    checked_on: dt.date


class NationLaw(Record):
    """What applies in one nation."""

    nest_law: tuple[LegalLine, ...]
    consents: tuple[Line, ...]
    """Permissions that work on a wall may need there."""


def nation_law(nation: Nation) -> NationLaw:
    """Return the lines of one nation."""
    name = nation.value.lower().replace(" ", "_")
    file = resources.files("eaveline") / "data" / "policy" / f"{name}.toml"
    return NationLaw.model_validate(tomllib.loads(file.read_text(encoding="utf-8")))
