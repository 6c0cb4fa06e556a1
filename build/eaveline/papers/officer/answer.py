"""Answers a question about one place, for the telephone call that comes in May.

Most works on a roof never reach a planning list. The answer holds exact places; it is for
the member who asks, and goes nowhere else.
"""

from __future__ import annotations

import datetime as dt
import textwrap

import numpy as np
import pandas as pd
from shapely.geometry.base import BaseGeometry

from eaveline.messages import day, ngettext, number
from eaveline.messages import gettext as _
from eaveline.papers.officer.annex import kind_words
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
    ON_SITE,
    Known,
    age_class,
    bands_of,
    distances_m,
    on_site_reach_m,
)
from eaveline.public.town import PublicTown
from eaveline.public.words.law import nation_law
from eaveline.terms import term

NEAR_M = 100.0
"""How far about a place the answer reaches (common practice, no source)."""
_MOST_LINES = 40
_LINE = 88
"""Letters on a line of a terminal."""
_HERE, _PERHAPS, _NEARBY = range(3)
_FIRST_BACK, _LAST_AWAY = (4, 15), (10, 15)
"""Mid-April, when neither bird is back, and mid-October, when late house martins are gone."""


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
        paragraph(
            _("For the member who asked: it holds exact places. Do not pass it on in writing.")
        ),
        *_vague(uncertainty_m),
        heading(_("What is known there and nearby")),
        *_records(shape, known, uncertainty_m=uncertainty_m, today=today),
        heading(_("How much was watched")),
        bullets(effort.words()),
        heading(_("What works would mean now")),
        bullets(season_advice(today)),
        heading(_("The law in %(nation)s", nation=term(town.nation.value))),
        bullets(
            [
                _("%(line)s (%(source)s)", line=line.text, source=line.source)
                for line in law.nest_law
            ]
        ),
        heading(_("Permissions the work may need")),
        bullets(law.consents),
        heading(_("Whom to ask")),
        facts([(_("Group"), town.group), (_("E-mail"), town.email)]),
        paragraph(
            _(
                "If there may be bats, stop, and ask the statutory nature conservation body or a "
                "licensed ecologist: roosts are protected all year, empty or not. This is a "
                "summary by volunteers, not legal advice."
            )
        ),
    ]
    return Document(
        title=_("What we know of %(place)s", place=place),
        made_on=today.isoformat(),
        marking=_("PRIVATE: for the group only."),
        blocks=tuple(blocks),
    )


def season_advice(today: dt.date) -> tuple[str, ...]:
    """Return what works at roof edges, gables and eaves mean at this time of the year."""
    if _FIRST_BACK <= (today.month, today.day) <= _LAST_AWAY:
        return (
            _(
                "On %(date)s nests may be in use. Swifts nest from May into September, house "
                "martins into early October.",
                date=day(today),
            ),
            _(
                "Before works start at a roof edge, gable or eave, have it watched on a dry, calm "
                "evening in the last hour and a half before dark. An evening without a bird "
                "proves little."
            ),
            _(
                "Where works have started: leave the way in open, stop at that spot, take "
                "scaffold netting off it, and ask us before going on."
            ),
            _("Works elsewhere on the building can often go on."),
        )
    return (
        _(
            "On %(date)s neither bird is here. This is the right time for works.",
            date=day(today),
        ),
        _(
            "Keep every way in that is known, at the same place and of the same size. Photograph "
            "it before and after."
        ),
        _("Be done, with scaffold and netting down, before the end of April."),
        _("It is the time to build in nest boxes: two or more, high under the eaves."),
    )


def to_text(document: Document) -> str:
    """Return a paper as plain lines for a terminal."""
    lines = [document.title, "=" * len(document.title), document.marking]
    for block in document.blocks:
        match block.kind:
            case "heading":
                lines += ["", block.text, "-" * len(block.text)]
            case "list":
                lines += [
                    textwrap.fill(f"* {item}", _LINE, subsequent_indent="  ")
                    for item in block.items
                ]
            case "facts":
                lines += [f"{name}: {value}" for name, value in block.rows]
            case "table":
                lines += ["  ".join(row).rstrip() for row in _columns([block.header, *block.rows])]
            case _:
                # Apart from a table before it, else it reads as one more row.
                lines += [*([""] if lines[-1] else []), textwrap.fill(block.text, _LINE)]
    return "\n".join(lines) + "\n"


def _columns(rows: list[tuple[str, ...]]) -> list[list[str]]:
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return [[cell.ljust(width) for cell, width in zip(row, widths, strict=True)] for row in rows]


def _vague(uncertainty_m: float) -> list[Block]:
    if uncertainty_m <= NEAR_M / 4:
        return []
    return [
        paragraph(
            _(
                "The place is known only to within %(metres)s m, so distances are rough. Ask for "
                "the house's number.",
                metres=number(uncertainty_m, decimals=0),
            )
        )
    ]


def _records(
    shape: BaseGeometry, known: Known, *, uncertainty_m: float, today: dt.date
) -> list[Block]:
    metres = distances_m(shape, known.table[["easting", "northing"]].to_numpy())
    near = known.table[metres <= NEAR_M].assign(distance_m=metres[metres <= NEAR_M])
    if near.empty:
        return [
            paragraph(
                _(
                    "No records are held within %(metres)s m. No inference of absence can be "
                    "drawn.",
                    metres=number(NEAR_M, decimals=0),
                )
            )
        ]
    is_party = (near["kind"] == "screaming party").to_numpy()
    return [
        *_places(near[~is_party], shape, uncertainty_m=uncertainty_m, today=today),
        *_parties(near[is_party]),
    ]


def _places(
    near: pd.DataFrame, shape: BaseGeometry, *, uncertainty_m: float, today: dt.date
) -> list[Block]:
    """Return nest sites and boxes, what is or may be here first."""
    if near.empty:
        return []
    reach_m = on_site_reach_m(shape)
    band = bands_of(near["distance_m"].to_numpy(), on_site_m=reach_m)
    # Both places may be off: what they can make up for could be this very building.
    could_be_m = near["uncertainty_m"].fillna(0.0).to_numpy() + uncertainty_m + reach_m
    perhaps = near["distance_m"].to_numpy() <= could_be_m
    rank = np.where(band == ON_SITE, _HERE, np.where(perhaps, _PERHAPS, _NEARBY))
    ordered = near.assign(rank=rank).sort_values(
        ["rank", "distance_m", "kind", "name", "season"],
        ascending=[True, True, True, True, False],
        kind="stable",
    )
    rows = [
        (
            _where(row["rank"], row["distance_m"]),
            kind_words(row),
            str(row["name"]) if isinstance(row["name"], str) else "",
            str(row["season"] or ""),
            term(str(row["evidence"])),
            _when(row["last"], today=today),
        )
        for row in ordered.head(_MOST_LINES).to_dict("records")
    ]
    header = (
        _("Where"),
        _("What"),
        _("Name"),
        _("Season"),
        _("Evidence"),
        _("Last record, age today"),
    )
    found: list[Block] = [table(_("Here means on the site"), header, rows)]
    if (rank == _PERHAPS).any():
        found.append(
            paragraph(
                _(
                    "Perhaps here: the record or the place asked about is known only roughly, so "
                    "it may be this building. Treat it as if it were."
                )
            )
        )
    more = len(ordered) - len(rows)
    if more:
        found.append(
            paragraph(
                ngettext(
                    "%(num)s more line, farther away, is left out.",
                    "%(num)s more lines, farther away, are left out.",
                    more,
                )
            )
        )
    return found


def _where(rank: int, distance_m: float) -> str:
    metres = number(distance_m, decimals=0)
    if rank == _HERE:
        return _("here")
    if rank == _PERHAPS:
        return _("perhaps here, %(metres)s m", metres=metres)
    return _("%(metres)s m", metres=metres)


def _parties(near: pd.DataFrame) -> list[Block]:
    """Return screaming parties in one line: they tell of a street, not of a building."""
    if near.empty:
        return []
    seasons = sorted({int(season) for season in near["season"]})
    return [
        paragraph(
            ngettext(
                "Within %(metres)s m %(num)s screaming party was seen, in %(seasons)s; the last on "
                "%(date)s. A party tells that birds breed near by, not in which building.",
                "Within %(metres)s m %(num)s screaming parties were seen, in %(seasons)s; the last "
                "on %(date)s. Parties tell that birds breed near by, not in which building.",
                len(near),
                metres=number(NEAR_M, decimals=0),
                seasons=str(seasons[0])
                if len(seasons) == 1
                else _("%(first)s to %(last)s", first=seasons[0], last=seasons[-1]),
                date=day(near["last"].max().date()),
            )
        )
    ]


def _when(last: pd.Timestamp, *, today: dt.date) -> str:
    if pd.isna(last):
        return _("not known")
    return _(
        "%(date)s, %(age)s",
        date=day(last.date()),
        age=term(age_class(last.date(), at=today).value),
    )
