"""Tells which applications are new since the group last looked at its list.

The list that was made before is remembered beside the papers: each reference with the number
of records near it, and no date, so that making the papers again from the same records changes
nothing, and does not make the news old either.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Self

import pandas as pd

SEEN_FILE = "officer/.seen.json"
"""Below the private folder."""
NEAR_BANDS = 3
"""On the site, within 25 m, 25 to 100 m: records there change what a comment says."""


class News(StrEnum):
    """What is new about an application."""

    NEW = "new"
    MORE_NEAR = "more recorded near it"


@dataclass(frozen=True, repr=False)
class Seen:
    """Two lists of applications: reference to number of records near it.

    Attributes
    ----------
    now
        The list as it stands.
    before
        The one before it that was different; None where there was none.
    """

    now: Mapping[str, int]
    before: Mapping[str, int] | None = None

    def __repr__(self) -> str:
        """Show the number of applications only."""
        return f"<Seen: {len(self.now)} applications>"

    def then(self, now: Mapping[str, int]) -> Seen:
        """Return what is remembered once the list is `now`: the same list moves nothing on."""
        return self if dict(now) == dict(self.now) else Seen(now, self.now)

    def news(self) -> dict[str, News]:
        """Return what is new, by reference; of a first list nothing is."""
        if self.before is None:
            return {}
        found: dict[str, News] = {}
        for reference, records in self.now.items():
            if reference not in self.before:
                found[reference] = News.NEW
            elif records > self.before[reference]:
                found[reference] = News.MORE_NEAR
        return found

    def to_json(self) -> bytes:
        """Return the text of `SEEN_FILE`."""
        lists = {"now": dict(self.now), "before": None if self.before is None else {**self.before}}
        return (json.dumps(lists, indent=1, sort_keys=True) + "\n").encode()

    @classmethod
    def from_json(cls, text: bytes) -> Self | None:
        """Return what `to_json` wrote; None for a damaged file, which only loses the news."""
        try:
            lists = json.loads(text)
            before = lists["before"]
            return cls(_counts(lists["now"]), None if before is None else _counts(before))
        except (ValueError, TypeError, KeyError, AttributeError):
            return None


def read_seen(private: Path) -> Seen | None:
    """Return what is remembered in a town's private folder, if anything is."""
    path = private / SEEN_FILE
    return Seen.from_json(path.read_bytes()) if path.is_file() else None


def look(applications: pd.DataFrame, hits: pd.DataFrame, *, earlier: Seen | None) -> Seen:
    """Return what is remembered of the applications as they stand now.

    Parameters
    ----------
    applications, hits
        From `merge_applications` and `screen`.
    earlier
        What was remembered when the papers were last made; None at the first time.
    """
    near = hits[(hits["band"] < NEAR_BANDS).to_numpy()].groupby("application")["records"].sum()
    records = near.reindex(applications.index, fill_value=0).to_numpy(dtype="int64")
    now = dict(zip(applications["reference"].astype(str), records.tolist(), strict=True))
    return Seen(now) if earlier is None else earlier.then(now)


def _counts(given: Mapping[str, object]) -> dict[str, int]:
    return {str(reference): int(str(records)) for reference, records in given.items()}
