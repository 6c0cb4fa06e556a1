"""All that one release leaves for the next, in the files of private/remembered/.

Without it two maps may show at which house a nest was: one that is pulled down, one that comes new
into a list, one whose box was checked between them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import pandas as pd

from eaveline.errors import Problem
from eaveline.protect.counts.box_lots import LOT_COLUMNS
from eaveline.protect.remembered.joined_places import load_joined, save_joined
from eaveline.protect.remembered.recorded import load_recorded, save_recorded
from eaveline.protect.remembered.tables import read_rows, rehomed, write_rows

FOLDER = "private/remembered"
RECORDED_FILE = f"{FOLDER}/recorded-buildings.csv"
JOINED_FILE = f"{FOLDER}/joined-places.csv"
LOTS_FILE = f"{FOLDER}/counted-buildings.csv"
PUBLISHED_MARK = f"{FOLDER}/map-published"
"""Left when a map has been published, so that a lost regions.csv is never made anew."""


@dataclass(frozen=True, repr=False)
class Memories:
    """What the last release left.

    Attributes
    ----------
    recorded
        The buildings that records are about; see `recorded_buildings`.
    joined
        Places with the buildings they were joined to; see `joined_now`.
    lots
        The buildings with boxes that count together; see `box_lots`.
    """

    recorded: pd.DataFrame
    joined: pd.DataFrame
    lots: pd.DataFrame

    def __repr__(self) -> str:
        """Show counts only."""
        return f"<Memories of {len(self.recorded)} addresses, {len(self.joined)} places>"

    def rehomed(self, homes: pd.DataFrame) -> Memories:
        """Return these with the points that buildings have today; see `tables.rehomed`."""
        return replace(
            self,
            joined=rehomed(self.joined, homes, ("building_easting", "building_northing")),
            lots=rehomed(self.lots, homes, ("easting", "northing")),
        )


def load_memories(folder: Path) -> Memories:
    """Return what is left in a town's folder; a file that is gone or damaged holds nothing."""
    return Memories(
        load_recorded(folder / RECORDED_FILE),
        load_joined(folder / JOINED_FILE),
        read_rows(folder / LOTS_FILE, LOT_COLUMNS),
    )


def save_memories(folder: Path, memories: Memories) -> None:
    """Leave for the next build what a published map must not contradict."""
    save_recorded(folder / RECORDED_FILE, memories.recorded)
    save_joined(folder / JOINED_FILE, memories.joined)
    write_rows(folder / LOTS_FILE, memories.lots)
    (folder / PUBLISHED_MARK).touch()


def lost_memories(folder: Path, memories: Memories) -> tuple[Problem, ...]:
    """Say which files that an earlier build left are gone, or hold nothing whole.

    Parameters
    ----------
    folder
        A town's folder, whose map was published before.
    memories
        What was read there.
    """
    tables = {
        RECORDED_FILE: memories.recorded,
        JOINED_FILE: memories.joined,
        LOTS_FILE: memories.lots,
    }
    lost = [name for name, rows in tables.items() if rows.empty and not _is_empty(folder / name)]
    if not lost:
        return ()
    return (
        Problem(
            "memory-lost",
            f"A map was published before, but {', '.join(lost)} cannot be read any more."
            " They keep records with their building when it is pulled down, or when a new house"
            " comes into a list: without them two maps may show at which house a nest was.",
            "If there is a backup, put them back and build again before you publish. If not, keep"
            " the new ones from now on, and publish once you know that no house has left the"
            " lists, come into them or moved since the last map.",
            file="private/",
        ),
    )


def _is_empty(path: Path) -> bool:
    """Tell whether a file of such a kind is whole and has nothing but its headings."""
    try:
        return len(path.read_text(encoding="utf-8").splitlines()) == 1
    except (OSError, ValueError):
        return False
