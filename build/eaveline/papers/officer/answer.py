"""Answers a question about one place, for the telephone call that comes in May.

Most works on a roof never reach a planning list. The answer holds exact places; it is for
the member who asks, and goes nowhere else.
"""

from __future__ import annotations

import datetime as dt

import pandas as pd
from shapely.geometry.base import BaseGeometry

from eaveline.papers.officer.document import (
    Block,
    Document,
    bullets,
    facts,
    heading,
    paragraph,
    table,
)
from eaveline.papers.officer.effort import Effort
from eaveline.private.planning.screen import (
    BAND_WORDS,
    Known,
    age_class,
    bands_of,
    distances_m,
    on_site_reach_m,
)
from eaveline.public.law import nation_law
from eaveline.public.town import PublicTown
from eaveline.public.wording import date

NEAR_M = 100.0
"""How far about a place the answer reaches (common practice, no source)."""
_MOST_LINES = 40
_FIRST_BACK, _LAST_AWAY = (4, 15), (10, 15)
"""Mid-April, when neither bird is back, and mid-October, when late house martins are gone."""

_SEASON = "Swifts nest from May into September, house martins into early October."
_WATCH_FIRST = (
    "Before works start at a roof edge, gable or eave, have it watched on a dry, calm evening in "
    "the last hour and a half before dark. An evening without a bird proves little."
)
_STOP_THERE = (
    "Where works have started: leave the way in open, stop at that spot, take scaffold netting off "
    "it, and ask us before going on."
)
_KEEP_THE_WAY_IN = (
    "Keep every way in that is known, at the same place and of the same size. Photograph it before "
    "and after."
)


def answer(
    shape: BaseGeometry,
    known: Known,
    effort: Effort,
    *,
    place: str,
    uncertainty_m: float,
    town: PublicTown,
    today: dt.date,
) -> Document:
    """Return what is known of a place and about it, and what works would mean today.

    Parameters
    ----------
    shape
        The place, in metres.
    known
        Everything with a place.
    effort
        Watches near it.
    place
        The question in the caller's words.
    uncertainty_m
        How well the place itself is known.
    town
        Names the group, and the nation whose law applies.
    today
        Ages and the season are counted from it.
    """
    law = nation_law(town.nation)
    blocks: list[Block] = [
        paragraph("For the member who asked: it holds exact places. Do not pass it on in writing."),
        *_vague(uncertainty_m),
        heading("What is known there and nearby"),
        *_records(shape, known, today=today),
        heading("How much was watched"),
        bullets(effort.words()),
        heading("What works would mean now"),
        bullets(season_advice(today)),
        heading(f"The law in {town.nation.value}"),
        bullets([f"{line.text} ({line.source})" for line in law.nest_law]),
        heading("Permissions the work may need"),
        bullets(law.consents),
        heading("Whom to ask"),
        facts([("Group", town.group), ("E-mail", town.email)]),
        paragraph(
            "If there may be bats, stop, and ask the statutory nature conservation body or a "
            "licensed ecologist: roosts are protected all year, empty or not. This is a summary by "
            "volunteers, not legal advice."
        ),
    ]
    return Document(
        title=f"What we know of {place}",
        made_on=today.isoformat(),
        marking="PRIVATE: for the group only.",
        blocks=tuple(blocks),
    )


def season_advice(today: dt.date) -> tuple[str, ...]:
    """Return what works at roof edges, gables and eaves mean at this time of the year."""
    if _FIRST_BACK <= (today.month, today.day) <= _LAST_AWAY:
        return (
            f"On {date(today)} nests may be in use. {_SEASON}",
            _WATCH_FIRST,
            _STOP_THERE,
            "Works elsewhere on the building can often go on.",
        )
    return (
        f"On {date(today)} neither bird is here. This is the right time for works.",
        _KEEP_THE_WAY_IN,
        "Be done, with scaffold and netting down, before the end of April.",
        "It is the time to build in nest boxes: two or more, high under the eaves.",
    )


def to_text(document: Document) -> str:
    """Return a paper as plain lines for a terminal."""
    lines = [document.title, "=" * len(document.title), document.marking, ""]
    for block in document.blocks:
        match block.kind:
            case "heading":
                lines += ["", block.text, "-" * len(block.text)]
            case "list":
                lines += [f"* {item}" for item in block.items]
            case "facts":
                lines += [f"{name}: {value}" for name, value in block.rows]
            case "table":
                lines += ["  ".join(row) for row in _columns([block.header, *block.rows])]
            case _:
                lines.append(block.text)
    return "\n".join(lines) + "\n"


def _columns(rows: list[tuple[str, ...]]) -> list[list[str]]:
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return [[cell.ljust(width) for cell, width in zip(row, widths, strict=True)] for row in rows]


def _vague(uncertainty_m: float) -> list[Block]:
    if uncertainty_m <= NEAR_M / 4:
        return []
    return [
        paragraph(
            f"The place is known only to within {uncertainty_m:.0f} m, so distances are rough. Ask "
            "for the house's number."
        )
    ]


def _records(shape: BaseGeometry, known: Known, *, today: dt.date) -> list[Block]:
    metres = distances_m(shape, known.table[["easting", "northing"]].to_numpy())
    near = known.table[metres <= NEAR_M].assign(distance_m=metres[metres <= NEAR_M])
    if near.empty:
        return [
            paragraph(
                f"No records are held within {NEAR_M:.0f} m. No inference of absence can be drawn."
            )
        ]
    band = bands_of(near["distance_m"].to_numpy(), on_site_m=on_site_reach_m(shape))
    ordered = near.assign(band=band).sort_values(
        ["band", "distance_m", "kind", "season"], ascending=[True, True, True, False]
    )
    rows = [
        (
            "here" if row["band"] == 0 else f"{row['distance_m']:.0f} m",
            f"{row['species']}, {row['kind']}",
            str(row["name"]) if isinstance(row["name"], str) else "",
            str(row["season"] or ""),
            str(row["evidence"]),
            _when(row["last"], today=today),
        )
        for row in ordered.head(_MOST_LINES).to_dict("records")
    ]
    header = ("Where", "What", "Name", "Season", "Evidence", "Last record, age today")
    caption = f"Here means {BAND_WORDS[0]}"
    return [table(caption, header, rows)]


def _when(last: pd.Timestamp, *, today: dt.date) -> str:
    if pd.isna(last):
        return "not known"
    return f"{date(last.date())}, {age_class(last.date(), at=today)}"
