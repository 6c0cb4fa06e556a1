"""The whole invented world, and what is true of every row in the files."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

from demo_town.boxes import Box, boxes
from demo_town.decisions import decision_entries
from demo_town.encounters import encounter_entries
from demo_town.evenings import Party, parties, party_entries
from demo_town.faults import spoiled
from demo_town.letters import request_entries
from demo_town.nests import NestSite, nest_sites
from demo_town.reports import box_entries, check_entries, nest_site_entries
from demo_town.sheets import Sheet, sheets
from demo_town.streams import stream
from demo_town.vigils import Watch, watch_entries, watches

if TYPE_CHECKING:
    from demo_town.entries import Entry

SENT_TWICE = 14
"""Rows pasted twice into the same file."""
RESENT_FILE = ("sightings", "amblecote", 25)
"""A folder, a member, and how many of the member's rows came again in another file."""

Place = tuple[str, int]
"""A file below survey_data/ and a row as a spreadsheet numbers it (headings are row 1)."""


@dataclass(frozen=True)
class RowTruth:
    """What is true of one row."""

    file: str
    row: int
    folder: str
    writer: str
    source: str
    """What it tells of: rows with one source tell of the same thing."""
    fault: str | None
    """Why it can't be used; None for a good row."""
    copy_of: Place | None
    """The row it repeats, cell for cell."""


@dataclass(frozen=True)
class Truth:
    """The world and the rows."""

    rows: tuple[RowTruth, ...]
    parties: Mapping[str, Party]
    nest_sites: tuple[NestSite, ...]
    boxes: tuple[Box, ...]
    watches: tuple[Watch, ...]

    def faulty(self) -> dict[Place, str]:
        """Return every row that can't be used, and why."""
        return {(row.file, row.row): row.fault for row in self.rows if row.fault}

    def waiting(self) -> frozenset[Place]:
        """Return the good checks of boxes none of whose rows can be used."""
        listed = {row.source for row in self.rows if row.folder == "boxes" and not row.fault}
        return frozenset(
            (row.file, row.row)
            for row in self.rows
            if row.folder == "checks" and not row.fault and row.source not in listed
        )

    def copies(self) -> dict[Place, Place]:
        """Return every row sent twice, and the row it repeats."""
        return {(row.file, row.row): row.copy_of for row in self.rows if row.copy_of}

    def same_party(self) -> dict[str, frozenset[Place]]:
        """Return for each screaming party the good rows that tell of it, copies left out."""
        groups: dict[str, set[Place]] = defaultdict(set)
        for row in self.rows:
            if row.source in self.parties and not row.fault and not row.copy_of:
                groups[row.source].add((row.file, row.row))
        return {party: frozenset(places) for party, places in groups.items()}


@cache
def all_sheets() -> tuple[Sheet, ...]:
    """Return every file of records, in the order of names."""
    numbered = [replace(entry, number=n) for n, entry in enumerate(spoiled(_entries()))]
    rng = stream("sent twice")
    good = [e for e in numbered if e.fault is None and e.folder in ("sightings", "checks")]
    doubled = [replace(e, number=-1, copy_of=e.number) for e in rng.sample(good, SENT_TWICE)]
    folder, writer, count = RESENT_FILE
    theirs = [e for e in good if (e.folder, e.writer) == (folder, writer)]
    theirs = sorted(theirs, key=lambda e: e.day)[-count:]
    bundle = [replace(e, number=-1, copy_of=e.number) for e in theirs]
    records = sheets([*numbered, *doubled], resent=[bundle])
    return tuple(sorted([*records, *sheets(decision_entries(records))], key=lambda s: s.name))


def _entries() -> list[Entry]:
    return [
        *party_entries(),
        *encounter_entries(),
        *watch_entries(),
        *nest_site_entries(),
        *box_entries(),
        *check_entries(),
        *request_entries(),
    ]


@cache
def truth() -> Truth:
    """Return the truth of every row, in the order of files and rows."""
    placed = _places(all_sheets())
    rows = []
    for (file, number), entry in placed.items():
        rows.append(
            RowTruth(file, number, entry.folder, entry.writer, entry.source, entry.fault, None)
        )
    where = {entry.number: place for place, entry in placed.items() if entry.number >= 0}
    rows = [
        replace(row, copy_of=where[entry.copy_of]) if entry.copy_of is not None else row
        for row, entry in zip(rows, placed.values(), strict=True)
    ]
    return Truth(
        rows=tuple(rows),
        parties={party.id: party for party in parties()},
        nest_sites=nest_sites(),
        boxes=boxes(),
        watches=watches(),
    )


def _places(files: Sequence[Sheet]) -> dict[Place, Entry]:
    return {
        (sheet.name, number): entry
        for sheet in files
        for number, entry in enumerate(sheet.entries, start=2)
    }
