"""The doorstep papers: which doors to knock on, in order and why, and the watch rota."""

from __future__ import annotations

import csv
import io
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from eaveline.config import Config
from eaveline.messages import day, ngettext, number
from eaveline.messages import gettext as _
from eaveline.papers.car_map import car_map
from eaveline.papers.pages import page
from eaveline.private.offers.activity import BOX, CONFIRMED, LOST, PARTY, PROBABLE, WALL
from eaveline.private.offers.candidates import LEAST_EAVES_M
from eaveline.private.offers.proposal import Proposal
from eaveline.private.offers.watch_first import Line, clock
from eaveline.public.words.law import nation_law
from eaveline.terms import term

_HERE_M = 12.0
HEADINGS = (
    "order",
    "street",
    "house",
    "boxes",
    "promised",
    "asked",
    "why",
    "what_to_say",
    "what_to_check",
    "cautions",
    "chance_each_box",
    "expected_used",
    "pounds_without_scaffold",
)


@dataclass(frozen=True)
class Door:
    """One line of the list, in words."""

    order: str
    street: str
    house: str
    boxes: int
    promised: bool
    asked: bool
    why: str
    say: str
    check: str
    chance: float
    expected: float
    pounds: float


def doorstep_papers(
    proposal: Proposal, *, streets: Sequence[Line], config: Config
) -> dict[str, bytes]:
    """Return the papers by their names below the private folder.

    Parameters
    ----------
    proposal
        What the group might do.
    streets
        The town's streets, for the map.
    config
        The town's settings.
    """
    doors = list(_doors(proposal.doors, prefix=""))
    spare = list(_doors(proposal.spare, prefix="S"))
    best = proposal.best
    sheet = page(
        "doorstep-list.html",
        proposal=proposal,
        town=config.town,
        doors=doors,
        spare=spare,
        cautions=cautions(),
        consents=nation_law(config.town.nation).consents,
        map=car_map(streets, _stops(proposal.doors)),
        apart=config.offers,
        plans=[(_capital(term(plan.name)), plan) for plan in (best, *proposal.rivals)],
        evenings=[(day(evening.date), evening) for evening in proposal.rota],
        clock=clock,
    )
    return {
        "doorstep-list.csv": _list(doors, spare),
        "doorstep-list.html": sheet,
        "watch-first.csv": _watch_first(proposal),
        "watch-rota.csv": _rota(proposal),
    }


def cautions() -> tuple[str, ...]:
    """Return what is printed on the sheet about safety; common practice."""
    return (
        _(
            "Never put a ladder up on a visit. Fixing is for somebody competent at heights, with"
            " the right equipment (Work at Height Regulations 2005)."
        ),
        _(
            "Asbestos: soffits, boards and cement sheets from before 2000 are not to be drilled,"
            " cut or broken; have them checked."
        ),
        _(
            "Electricity: note cables on the wall and overhead lines; keep well away, and ask the"
            " network operator. Gas and water pipes may run behind."
        ),
        _(
            "Bats: if you see one, droppings or stained gaps, stop. Bats and their roosts are"
            " protected all year."
        ),
        _("A nest in use near by: fix nothing until the birds have left."),
        _("Go in twos, show who you are, and leave at once if asked."),
    )


def _with_consent() -> str:
    """Return the cautions in one cell; the sheet has the nation's own lines on consent."""
    consent = _("Listed building, conservation area, flats or a landlord: ask for consent first.")
    return " ".join([*cautions(), consent])


def _doors(table: pd.DataFrame, *, prefix: str) -> Iterable[Door]:
    for place, row in enumerate(table.to_dict("records"), start=1):
        yield Door(
            order=f"{prefix}{place}",
            street=_text(row["street"]),
            house=_text(row["house"]),
            boxes=int(row["lot"]),
            promised=bool(row["promised"]),
            asked=bool(row["asked"]),
            why=why(row),
            say=say(row),
            check=check(row),
            chance=float(row["chance"]),
            expected=float(row["value"]),
            pounds=float(row["cost"]),
        )


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""


def _sign(kind: str, *, away_m: float, season: str) -> str:
    """Return what was seen, where and when, as a clause."""
    if away_m <= _HERE_M:
        here = {
            CONFIRMED: _("swifts have nested at this house (%(season)s)", season=season),
            PROBABLE: _("swifts have very likely nested at this house (%(season)s)", season=season),
            WALL: _("swifts have visited a wall at this house (%(season)s)", season=season),
            PARTY: _(
                "swifts have screamed low over the roofs at this house (%(season)s)", season=season
            ),
            BOX: _("swifts have used a box at this house (%(season)s)", season=season),
            LOST: _("a nest site has been lost at this house (%(season)s)", season=season),
        }
        return here[kind]
    metres = number(_round_m(away_m))
    away = {
        CONFIRMED: _(
            "swifts have nested about %(metres)s m away (%(season)s)", metres=metres, season=season
        ),
        PROBABLE: _(
            "swifts have very likely nested about %(metres)s m away (%(season)s)",
            metres=metres,
            season=season,
        ),
        WALL: _(
            "swifts have visited a wall about %(metres)s m away (%(season)s)",
            metres=metres,
            season=season,
        ),
        PARTY: _(
            "swifts have screamed low over the roofs about %(metres)s m away (%(season)s)",
            metres=metres,
            season=season,
        ),
        BOX: _(
            "swifts have used a box about %(metres)s m away (%(season)s)",
            metres=metres,
            season=season,
        ),
        LOST: _(
            "a nest site has been lost about %(metres)s m away (%(season)s)",
            metres=metres,
            season=season,
        ),
    }
    return away[kind]


def why(row: Mapping[Hashable, Any]) -> str:
    """Return in one sentence why this door.

    Parameters
    ----------
    row
        A row of `Proposal.doors`.
    """
    parts = []
    if row["promised"]:
        parts.append(_("the boxes are promised"))
    elif row["asked"]:
        parts.append(_("the owner asked"))
    if isinstance(row["sign"], str):
        parts.append(
            _sign(
                row["sign"],
                away_m=float(str(row["sign_away_m"])),
                season=str(int(float(str(row["sign_season"])))),
            )
        )
    if row["lost_near"] and row["sign"] != LOST:
        parts.append(_("a nest site close by has been lost, so birds may be looking"))
    if int(str(row["boxes"])):
        parts.append(_("boxes here are in use, and swifts like company"))
    if row["new_area"]:
        parts.append(_("no box hangs near yet"))
    if not parts:
        parts.append(_("nothing is known near by; the limits leave no better door"))
    return _("%(reasons)s.", reasons=_capital("; ".join(parts)))


def _capital(text: str) -> str:
    """Return a text with its first letter as a capital."""
    return f"{text[:1].upper()}{text[1:]}"


def _round_m(metres: float) -> int:
    return max(10, int(np.round(metres / 10) * 10))


def say(row: Mapping[Hashable, Any]) -> str:
    """Return what to say at the door: nothing in it gives a neighbour's nest away."""
    if row["promised"]:
        return ngettext(
            "We promised you %(num)s swift box and would like to look at the wall and settle a "
            "day. It may stay empty for some years, and some always do.",
            "We promised you %(num)s swift boxes and would like to look at the wall and settle a "
            "day. They may stay empty for some years, and some always do.",
            int(str(row["lot"])),
        )
    opening = (
        _("You asked us about boxes.") if row["asked"] else _("Swifts have been seen near here.")
    )
    offer = ngettext(
        "We have %(num)s free swift box for a wall like yours, put up by people who know how. It "
        "may stay empty for some years, and some always do.",
        "We have %(num)s free swift boxes for a wall like yours, put up by people who know how. "
        "They may stay empty for some years, and some always do.",
        int(str(row["lot"])),
    )
    return f"{opening} {offer}"


def check(row: Mapping[Hashable, Any]) -> str:
    """Return what to look at on the wall, with what is known already."""
    height_m = float(str(row["eaves_height_m"]))
    eaves = (
        _(
            "eaves 5 m up or more (%(least)s m at the least)",
            least=number(LEAST_EAVES_M, decimals=1),
        )
        if np.isnan(height_m)
        else _("eaves noted as %(metres)s m", metres=number(height_m, decimals=1))
    )
    facing = (
        _(
            "north to east, or shade under the eaves (noted as facing %(facing)s)",
            facing=term(row["facing"]),
        )
        if isinstance(row["facing"], str)
        else _("north to east, or shade under the eaves")
    )
    return _(
        "%(eaves)s; clear drop of 5 m, nothing in front; %(facing)s; no wires, trees or climbers; "
        "not above a door, window or path.",
        eaves=eaves,
        facing=facing,
    )


def _stops(doors: pd.DataFrame) -> list[tuple[str, float, float]]:
    return [
        (str(number), float(row["easting"]), float(row["northing"]))
        for number, row in enumerate(doors.to_dict("records"), start=1)
    ]


def _csv(header: Sequence[str], lines: Iterable[Sequence[object]]) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows(lines)
    return text.getvalue().encode("utf-8-sig")  # the mark lets spreadsheets read names right


def _list(doors: Iterable[Door], spare: Iterable[Door]) -> bytes:
    all_cautions = _with_consent()
    return _csv(
        HEADINGS,
        [
            [
                door.order,
                door.street,
                door.house,
                door.boxes,
                _("yes") if door.promised else "",
                _("yes") if door.asked else "",
                door.why,
                door.say,
                door.check,
                all_cautions,
                f"{door.chance:.2f}",
                f"{door.expected:.1f}",
                f"{door.pounds:.2f}",
            ]
            for door in (*doors, *spare)
        ],
    )


def _watch_first(proposal: Proposal) -> bytes:
    columns = ["street", "minutes", "watches", "premises"]
    header = ["street", "minutes_watched", "watches_needed", "premises_near"]
    return _csv(header, proposal.to_watch[columns].to_numpy(dtype=object).tolist())


def _rota(proposal: Proposal) -> bytes:
    return _csv(
        ["date", "start", "sunset", "until", "streets_in_walking_order", "visit"],
        [
            [
                evening.date.isoformat(),
                clock(evening.start_minute),
                clock(evening.sunset_minute),
                _("dark"),
                "; ".join(evening.streets),
                evening.turn,
            ]
            for evening in proposal.rota
        ],
    )
