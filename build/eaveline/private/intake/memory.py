"""Remembers what files gave when they were last read, for a preview that reads them again."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import TypeVar, cast

T = TypeVar("T")


class Memory:
    """The answers of one reading, to be used again by the next; older ones are forgotten.

    It holds private records, in memory only, for as long as its owner keeps it.
    """

    def __init__(self) -> None:
        """Remember nothing."""
        self._under: object = None
        self._last: dict[Hashable, object] = {}
        self._now: dict[Hashable, object] = {}

    def __repr__(self) -> str:
        """Show nothing."""
        return "<Memory>"

    def begin(self, *, under: object) -> None:
        """Begin a reading.

        Parameters
        ----------
        under
            What all answers depend on; if it is not equal to the last time's, they are
            forgotten.
        """
        self._last = self._now if under == self._under else {}
        self._now = {}
        self._under = under

    def recall(self, key: Hashable, make: Callable[[], T]) -> T:
        """Return what `make` returned for this key in the last reading, or call it.

        Parameters
        ----------
        key
            All that the answer depends on, and which kind of answer it is.
        make
            What returns the answer; nobody changes it afterwards.
        """
        if key not in self._now:
            self._now[key] = self._last[key] if key in self._last else make()
        return cast("T", self._now[key])
