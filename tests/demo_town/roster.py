"""The fourteen members: who they are and how each of them writes.

All of them are invented; their habits stand in roster.toml.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

Headings = Mapping[str, str]
Words = Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class Member:
    """One member.

    Parameters
    ----------
    name
        As it stands in the cells.
    years
        First and last season with records.
    home
        The street the member lives in; sightings thin out with distance from it.
    share
        How much the member records, against the others.
    date, time, place, nest_place
        Names of notations in `demo_town.notation`; `nest_place` is used at a nest or box.
    words
        Spellings for canonical words; the canonical word itself where there are none.
    separator, encoding, line_end
        How the file is written; `excel` makes it a workbook instead.
    headings
        For each folder, canonical column to heading, in the order of the columns.
    by_season
        True for a file a season, False for one file that grows.
    """

    name: str
    years: tuple[int, int]
    home: str
    share: float
    date: str
    time: str
    place: str
    nest_place: str
    headings: Mapping[str, Headings]
    words: Words = field(default_factory=dict)
    separator: Literal[",", ";", "\t"] = ","
    encoding: Literal["utf-8", "utf-8-sig", "utf-16", "cp1252"] = "utf-8"
    line_end: Literal["\n", "\r\n", "\r"] = "\n"
    excel: bool = False
    by_season: bool = False
    streets_as_spoken: Literal["full", "short", "careless"] = "full"

    @property
    def key(self) -> str:
        """Surname in lower case: the name of the member's files."""
        return self.name.split()[-1].casefold()

    def active(self, season: int) -> bool:
        """Return whether the member records that season."""
        return self.years[0] <= season <= self.years[1]


def _member(habits: Mapping[str, Any]) -> Member:
    """Return one member from the table in roster.toml."""
    words = dict(line.split(": ", 1) for line in habits.get("words", ()))
    return Member(
        **{
            **habits,
            "years": (habits["years"][0], habits["years"][1]),
            "words": {word: tuple(spelt.split(" / ")) for word, spelt in words.items()},
            "headings": {
                folder: dict(line.split(": ", 1) for line in lines)
                for folder, lines in habits["headings"].items()
            },
        }
    )


def _members() -> tuple[Member, ...]:
    text = (Path(__file__).parent / "roster.toml").read_text(encoding="utf-8")
    return tuple(_member(habits) for habits in tomllib.loads(text)["member"])


MEMBERS: tuple[Member, ...] = _members()

BY_KEY: dict[str, Member] = {member.key: member for member in MEMBERS}
