"""What the register keeper decided about pairs of rows, by the keys people copy."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from typing import TYPE_CHECKING

from demo_town.entries import Entry
from demo_town.roster import BY_KEY
from eaveline.private.intake.cells import content_keys, key_text, text_column_of

if TYPE_CHECKING:
    from demo_town.sheets import Sheet

KEEPER = "wexcombe"
UNKNOWN_KEY = "raaaaaaaaaaaaa"
Keyed = tuple[Entry, str]


def row_keys(sheet: Sheet) -> list[str]:
    """Return the key of each row of a text file, as the review papers show it."""
    cells = {
        column: text_column_of(str(row[index]) for row in sheet.rows)
        for index, column in enumerate(sheet.columns)
        if not column.startswith("?")
    }
    return [key_text(int(key)) for key in content_keys(cells, kind=sheet.entries[0].folder)]


def decision_entries(files: Sequence[Sheet]) -> list[Entry]:
    """Return a few decisions: two pairs the same, two different, and one that names no row."""
    keyed: list[Keyed] = [
        pair
        for sheet in files
        if not sheet.member.excel
        for pair in zip(sheet.entries, row_keys(sheet), strict=True)
    ]
    good = [
        (e, k) for e, k in keyed if e.folder == "sightings" and not e.fault and e.copy_of is None
    ]
    together = _pairs_of_one_party(good)
    evening = _two_parties_of_one_evening(good)
    return [
        _decision(0, together[0], "same", "we stood at the same gate"),
        _decision(1, together[-1], "same", "same party, I asked both"),
        _decision(2, evening[0], "different", "both were in the air at once"),
        _decision(3, evening[-1], "different", "an hour between them"),
        _decision(
            4, (together[0][0], UNKNOWN_KEY), "same", "copied by hand", fault="decision-row-unknown"
        ),
    ]


def _pairs_of_one_party(good: Sequence[Keyed]) -> list[tuple[str, str]]:
    groups: dict[str, list[str]] = defaultdict(list)
    for entry, key in good:
        if entry.source.startswith("party-"):
            groups[entry.source].append(key)
    return [(keys[0], keys[1]) for _, keys in sorted(groups.items()) if len(keys) == 2]


def _two_parties_of_one_evening(good: Sequence[Keyed]) -> list[tuple[str, str]]:
    days: dict[dt.date, list[Keyed]] = defaultdict(list)
    for entry, key in good:
        if entry.source.startswith("party-"):
            days[entry.day].append((entry, key))
    pairs = []
    for _, group in sorted(days.items()):
        first, first_key = group[0]
        others = [k for e, k in group if e.source != first.source and e.writer != first.writer]
        if others:
            pairs.append((first_key, others[0]))
    return pairs


def _decision(
    number: int, pair: tuple[str, str], verdict: str, why: str, *, fault: str | None = None
) -> Entry:
    return Entry(
        folder="decisions",
        writer=KEEPER,
        source=f"decision-{number}",
        values={
            "first": pair[0],
            "second": pair[1],
            "decision": verdict,
            "decided_by": BY_KEY[KEEPER].name,
            "why": why,
        },
        fault=fault,
    )
