"""The members' files as rows of cells: entries written down in each one's habits."""

from __future__ import annotations

import datetime as dt
import random
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from demo_town.entries import Entry, Spot, Value
from demo_town.notation import DATES, PLACE_FIELDS, PLACES, TIMES, Cells
from demo_town.roster import BY_KEY, Member
from demo_town.streams import stream

SHORT_ENDINGS = (
    ("Street", "St"),
    ("Road", "Rd"),
    ("Terrace", "Terr"),
    ("Avenue", "Ave"),
    ("Close", "Cl"),
    ("Drive", "Dr"),
    ("Lane", "Ln"),
)
MISSPELT = {
    "Gladstone Street": "Gladston Street",
    "Chandlers Row": "Chandler's Row",
    "Albert Road": "Alburt Road",
    "St Anne's Terrace": "St Annes Terace",
    "Alma Street": "Allma Street",
    "Maltings Road": "Malting Road",
    "Coronation Road": "Coronaton Road",
    "Larkfield Way": "Larkfeild Way",
}
TIME_COLUMNS = ("time", "start", "end")
EXTRA_COLUMNS = {"?cloud": ("2", "4", "5", "7", "8"), "?device": ("phone",)}


@dataclass(frozen=True)
class Sheet:
    """One file before it is encoded."""

    name: str
    """Below survey_data/."""
    member: Member
    headings: tuple[str, ...]
    columns: tuple[str, ...]
    rows: tuple[tuple[Value, ...], ...]
    """Cells: text, or in a workbook also dates, minutes of a day and numbers."""
    entries: tuple[Entry, ...]
    """The entry each row was written from, in the same order."""


def sheets(entries: Sequence[Entry], *, resent: Iterable[Sequence[Entry]] = ()) -> list[Sheet]:
    """Return every file, in the order of names.

    Parameters
    ----------
    entries
        In any order; each file is sorted by date.
    resent
        Bundles of entries that their writers sent once more, each in a file of its own.
    """
    files: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        files[file_name(entry)].append(entry)
    for number, bundle in enumerate(resent, start=1):
        files[f"{bundle[0].folder}/{bundle[0].writer}-again-{number}.csv"] = list(bundle)
    return [
        _sheet(name, sorted(group, key=lambda e: (e.fault == "line-not-a-record", e.day)))
        for name, group in sorted(files.items())
    ]


def file_name(entry: Entry) -> str:
    """Return the file an entry is written in."""
    member = BY_KEY[entry.writer]
    ending = "xlsx" if member.excel else "csv"
    part = f"-{entry.day.year}" if member.by_season and entry.folder == "sightings" else ""
    return f"{entry.folder}/{member.key}{part}.{ending}"


def _sheet(name: str, group: Sequence[Entry]) -> Sheet:
    member = BY_KEY[group[0].writer]
    headings = member.headings[group[0].folder]
    columns = tuple(headings)
    rows = tuple(_row(entry, member, columns) for entry in group)
    return Sheet(name, member, tuple(headings.values()), columns, rows, tuple(group))


def _row(entry: Entry, member: Member, columns: Sequence[str]) -> tuple[Value, ...]:
    rng = stream(
        "cells", entry.writer, entry.source, entry.day, sorted(entry.values.items(), key=str)
    )
    place = _place_cells(entry, member, columns, rng)
    cells: list[Value] = []
    for column in columns:
        if column in entry.raw:
            cells.append(entry.raw[column])
        elif column in PLACE_FIELDS:
            cells.append(place.get(column, ""))
        elif column in EXTRA_COLUMNS:
            cells.append(rng.choice(EXTRA_COLUMNS[column]))
        else:
            cells.append(_cell(column, entry.values.get(column), member, rng))
    return tuple(cells)


def _place_cells(entry: Entry, member: Member, columns: Sequence[str], rng: random.Random) -> Cells:
    """Write the place in the first of the member's notations the file has columns for."""
    spot = entry.values.get("place")
    if not isinstance(spot, Spot):
        return {}
    wanted = member.nest_place if spot.exact else member.place
    for notation in (wanted, member.nest_place, member.place, "Albert Road | 12"):
        cells = PLACES[notation](spot)
        if set(cells) <= set(columns):
            if "street" in cells and spot.building:
                cells["street"] = _spoken(cells["street"], spot.building.street, member, rng)
            return cells
    msg = f"{member.key} has no column for a place in {entry.folder}"
    raise ValueError(msg)


def _spoken(cell: str, street: str, member: Member, rng: random.Random) -> str:
    """Write a street as the member says it: in full, shortened, or now and then misspelt."""
    if member.streets_as_spoken == "full":
        if member.encoding == "cp1252":
            return cell.replace("'", "\u2019")
        return cell
    if member.streets_as_spoken == "careless" and rng.random() < 0.12 and street in MISSPELT:
        return cell.replace(street, MISSPELT[street])
    if rng.random() < (0.9 if member.streets_as_spoken == "short" else 0.35):
        for full, short in SHORT_ENDINGS:
            if cell.endswith(" " + full):
                cell = cell.removesuffix(full) + short
    return cell.replace("'", "") if member.streets_as_spoken == "careless" else cell


def _cell(column: str, value: Value, member: Member, rng: random.Random) -> Value:
    """Write one cell that is no place."""
    if value is None:
        return ""
    if isinstance(value, str):
        return _words(column, value, member, rng)
    if member.excel:
        return value / 1440 if column in TIME_COLUMNS and isinstance(value, int) else value
    if isinstance(value, dt.date):
        return DATES[member.date](value)
    if column in TIME_COLUMNS and isinstance(value, int):
        return TIMES[member.time](value)
    return _number(column, value, member, rng)


def _words(column: str, text: str, member: Member, rng: random.Random) -> str:
    """Write a word of the trade in the member's spelling; other text stays as it is."""
    if text in member.words and column != "stage":  # its words are those of behaviour too
        return rng.choice(member.words[text])
    if column == "notes" and member.key == "owlerton" and rng.random() < 0.4:
        return f'{text}\n(told me herself, "quite sure")'
    return text


def _number(column: str, value: Value, member: Member, rng: random.Random) -> str:
    """Write a number, with the units and the doubts of some members."""
    if column == "birds" and member.key == "fennimarsh" and rng.random() < 0.15:
        return rng.choice((f"about {value}", f"{value}+"))
    if column == "height_m" and member.key == "lorrimarsh":
        return f"{value}m"
    if column == "cost" and member.key == "tindersole":
        return f"£{value:.2f}"
    if isinstance(value, float) and value == int(value):
        return str(int(value))
    return str(value)
