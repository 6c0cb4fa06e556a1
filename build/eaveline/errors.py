"""Problems a person can act on: what, where, why, and what to do next.

A message names places (file, spreadsheet row, column), never the value found there,
because messages end up in terminals, logs and e-mails, and the value may be somebody's
address. The values themselves go only into the group's private papers.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum


class ExitCode(IntEnum):
    """What the command tells the shell."""

    BUILT = 0
    REFUSED = 1
    """The audit refused the new site; the old one still stands."""
    BAD_INPUT = 2
    """The command line, town.toml or a map file needs a person's hand."""
    OUR_FAULT = 3
    """A fault in Eaveline itself."""


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing that is wrong, in words for the person who can mend it.

    Parameters
    ----------
    code
        A kebab-case name that DEVELOPERS.md lists and tests pin.
    what
        What is wrong, and why it matters where that is not plain. Holds no private value.
    next_step
        What to do about it.
    file
        The file's name below the town's folder, if the problem has one.
    row
        The row as a spreadsheet numbers it (the header of a plain CSV is row 1).
    column
        The column's heading, or the dotted key in town.toml.
    """

    code: str
    what: str
    next_step: str
    file: str | None = None
    row: int | None = None
    column: str | None = None

    @property
    def where(self) -> str:
        """The place in words, for example ``boxes/list.csv, row 7, column fixed_on``."""
        parts = [self.file] if self.file else []
        if self.row is not None:
            parts.append(f"row {self.row}")
        if self.column:
            parts.append(f"column {self.column}")
        return ", ".join(parts)

    def __str__(self) -> str:
        """Return the whole message on one line."""
        place = f"{self.where}: " if self.where else ""
        return f"{place}{self.what} {self.next_step} [{self.code}]"


class EavelineError(Exception):
    """Stops the command; carries every problem found, not only the first."""

    exit_code = ExitCode.OUR_FAULT

    def __init__(self, problems: Problem | Iterable[Problem]) -> None:
        """Keep the problems in a stable order."""
        found = [problems] if isinstance(problems, Problem) else list(problems)
        self.problems: tuple[Problem, ...] = tuple(found)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class InputError(EavelineError):
    """Something a person gave us cannot be used, and nothing was written."""

    exit_code = ExitCode.BAD_INPUT


class SiteRefusedError(EavelineError):
    """The audit found something in the staged site that must not be published."""

    exit_code = ExitCode.REFUSED
