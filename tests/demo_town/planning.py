"""The council's weekly list of planning applications, as it comes out of the council's system.

Nobody in the group writes it, so it stands beside the members' files. An application comes
again when it is decided, and some addresses take several lines.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Iterator

from demo_town.geography import Building, town
from demo_town.streams import stream

NAME = "planning/council-list-2026.csv"
HEADINGS = (
    *("Application Number", "Date Valid", "Consultation Expiry Date", "Site Address", "Easting"),
    *("Northing", "Site Boundary", "Proposed Development", "Application Type"),
    *("No. of Dwellings", "Determination", "Decision Date", "Boxes Asked", "Boxes Granted"),
    *("Boxes Drawn", "Boxes Fitted", "Photos"),
)
WORKS = (
    ("Re-roofing and new gutters", "roof", None),
    ("Loft conversion with two dormers", "roof", None),
    ("Demolition of outbuilding and rear extension", "demolition", 0),
    ("Repointing of gable wall and new soffits", "walls", None),
    ("Conversion of warehouse to flats", "conversion", 8),
    ("Two semi-detached houses", "new dwellings", 2),
)
FIRST_DAY, WEEKS = dt.date(2026, 1, 12), 43
"""The first list, and how many weeks the lists go on."""
OPEN_LATE = (4, 5, 6)
OPEN_AFTER = dt.date(2026, 9, 20)
"""Applications received later are not decided yet."""


def planning_file() -> bytes:
    """Return the list."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(HEADINGS)
    writer.writerows(_rows())
    return text.getvalue().encode("utf-8-sig")


def _rows() -> Iterator[list[object]]:
    rng = stream("planning")
    buildings = [building for building in town().buildings if building.kind != "lane"]
    chosen = rng.sample(buildings, 24)
    for number, building in enumerate(chosen):
        day = FIRST_DAY + dt.timedelta(days=rng.randrange(7 * WEEKS))
        if number in OPEN_LATE:  # a few are open for comment when the demo town is built
            day = dt.date(2026, 11, 4 + number)
        proposal, work, dwellings = WORKS[number % len(WORKS)]
        row = _row(f"2026/{100 + 7 * number:04d}/F", day, building, proposal, work, dwellings)
        if number % 4 == 1:
            row[3], row[6] = "", _outline(building)
        elif number % 4 == 2:
            row[3] = f"{building.house} {building.street}\nOttersley"
        elif number % 4 == 3:
            row[3:6] = ["", building.easting, building.northing]
        yield row
        if day < OPEN_AFTER:
            asked = 2 * (dwellings or 1)
            yield [*row[:10], "Granted", _date(day + dt.timedelta(days=50)), asked, asked // 2,
                   asked // 2 if number % 3 else "", 1 if number % 3 == 1 else "", ""]  # fmt: skip


def _row(
    reference: str,
    day: dt.date,
    building: Building,
    proposal: str,
    work: str,
    dwellings: int | None,
) -> list[object]:
    return [
        reference,
        _date(day),
        _date(day + dt.timedelta(days=24)),
        f"{building.house} {building.street}",
        "",
        "",
        "",
        proposal,
        work,
        "" if dwellings is None else dwellings,
        *[""] * 7,
    ]


def _outline(building: Building) -> str:
    """Return a plot of 12 by 20 metres about a building."""
    x, y = building.easting, building.northing
    ring = ((-6, -10), (6, -10), (6, 10), (-6, 10), (-6, -10))
    return f"POLYGON (({', '.join(f'{x + dx} {y + dy}' for dx, dy in ring)}))"


def _date(day: dt.date) -> str:
    return f"{day.day:02d}/{day.month:02d}/{day.year}"
