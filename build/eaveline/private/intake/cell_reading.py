"""What one cell says: a value, a repair that was certain, or a fault."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from eaveline.private.intake.schema import Column


@dataclass(frozen=True, slots=True)
class Reading:
    """What one cell says.

    Exactly one of `value` and `fault` is set, except that an explicit blank ("?", "n/k")
    gives neither. `suggestion` is the cell a person may have meant to write.
    """

    value: object = None
    fault: str | None = None
    suggestion: str | None = None
    repair: str | None = None


Reader = Callable[[str, Column], Reading]
"""Takes a cell's text, trimmed and not empty, and its column."""

UNKNOWN = frozenset(
    {"?", "n/k", "nk", "n/a", "na", "-", "--", "unknown", "not known", "nil", "none"}
)
"""Cells that say, in so many words, that nothing is known."""
