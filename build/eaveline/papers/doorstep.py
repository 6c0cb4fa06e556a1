"""The doorstep papers: which doors to knock on, in order and why, and the watch rota."""

from __future__ import annotations

import csv
import io
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from jinja2 import Environment, PackageLoader, StrictUndefined

from eaveline.config import Config
from eaveline.papers.car_map import car_map
from eaveline.private.offers.activity import BOX, CONFIRMED, LOST, PARTY, PROBABLE, WALL
from eaveline.private.offers.candidates import LEAST_EAVES_M
from eaveline.private.offers.proposal import Proposal
from eaveline.private.offers.watch_first import Line, clock
from eaveline.public.law import nation_law
from eaveline.public.wording import amount, date

_HERE_M = 12.0
_SIGNS = {
    CONFIRMED: "swifts have nested",
    PROBABLE: "swifts have very likely nested",
    WALL: "swifts have visited a wall",
    PARTY: "swifts have screamed low over the roofs",
    BOX: "swifts have used a box",
    LOST: "a nest site has been lost",
}
CAUTIONS = (
    (
        "Never put a ladder up on a visit. Fixing is for somebody competent at heights, with"
        " the right equipment (Work at Height Regulations 2005)."
    ),
    (
        "Asbestos: soffits, boards and cement sheets from before 2000 are not to be drilled,"
        " cut or broken; have them checked."
    ),
    (
        "Electricity: note cables on the wall and overhead lines; keep well away, and ask the"
        " network operator. Gas and water pipes may run behind."
    ),
    "Listed building, conservation area, flats or a landlord: ask for consent first.",
    (
        "Bats: if you see one, droppings or stained gaps, stop. Bats and their roosts are"
        " protected all year."
    ),
    "A nest in use near by: fix nothing until the birds have left.",
    "Go in twos, show who you are, and leave at once if asked.",
)
"""Printed on the sheet; common practice."""
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
    page = (
        _environment()
        .get_template("doorstep-list.html")
        .render(
            proposal=proposal,
            town=config.town,
            doors=doors,
            spare=spare,
            cautions=(*CAUTIONS, *nation_law(config.town.nation).consents),
            map=car_map(streets, _stops(proposal.doors)),
            offers=config.offers,
            evenings=[(date(evening.date), evening) for evening in proposal.rota],
            clock=clock,
            amount=amount,
        )
    )
    return {
        "doorstep-list.csv": _list(doors, spare),
        "doorstep-list.html": page.encode(),
        "watch-first.csv": _watch_first(proposal),
        "watch-rota.csv": _rota(proposal),
    }


def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("eaveline.papers"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _doors(table: pd.DataFrame, *, prefix: str) -> Iterable[Door]:
    for number, row in enumerate(table.to_dict("records"), start=1):
        yield Door(
            order=f"{prefix}{number}",
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


def why(row: Mapping[Hashable, Any]) -> str:
    """Return in one sentence why this door.

    Parameters
    ----------
    row
        A row of `Proposal.doors`.
    """
    parts = []
    if row["promised"]:
        parts.append("the boxes are promised")
    elif row["asked"]:
        parts.append("the owner asked")
    if isinstance(row["sign"], str):
        away = float(str(row["sign_away_m"]))
        seen = int(float(str(row["sign_season"])))
        where = "at this house" if away <= _HERE_M else f"about {_round_m(away)} m away"
        parts.append(f"{_SIGNS[row['sign']]} {where} ({seen})")
    if row["lost_near"] and row["sign"] != LOST:
        parts.append("a nest site close by has been lost, so birds may be looking")
    if int(str(row["boxes"])):
        parts.append("boxes here are in use, and swifts like company")
    if row["new_area"]:
        parts.append("no box hangs near yet")
    if not parts:
        parts.append("nothing is known near by; the limits leave no better door")
    sentence = "; ".join(parts)
    return f"{sentence[0].upper()}{sentence[1:]}."


def _round_m(metres: float) -> int:
    return max(10, int(np.round(metres / 10) * 10))


def say(row: Mapping[Hashable, Any]) -> str:
    """Return what to say at the door: nothing in it gives a neighbour's nest away."""
    lot = int(str(row["lot"]))
    boxes = amount(lot, "free swift box", "free swift boxes")
    opening = "You asked us about boxes." if row["asked"] else "Swifts have been seen near here."
    return (
        f"{opening} We have {boxes} for a wall like yours, put up by people who know how."
        " They may stay empty for some years, and some always do."
    )


def check(row: Mapping[Hashable, Any]) -> str:
    """Return what to look at on the wall, with what is known already."""
    height = float(str(row["eaves_height_m"]))
    eaves = (
        f"eaves 5 m up or more ({LEAST_EAVES_M} m at the least)"
        if np.isnan(height)
        else f"eaves noted as {height:.1f} m"
    )
    facing = f"noted as facing {row['facing']}" if isinstance(row["facing"], str) else ""
    sun = f"north to east, or shade under the eaves{f' ({facing})' if facing else ''}"
    return (
        f"{eaves}; clear drop of 5 m, nothing in front; {sun}; no wires, trees or climbers;"
        " not above a door, window or path."
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
    cautions = " ".join(CAUTIONS)
    return _csv(
        HEADINGS,
        [
            [
                door.order,
                door.street,
                door.house,
                door.boxes,
                "yes" if door.promised else "",
                "yes" if door.asked else "",
                door.why,
                door.say,
                door.check,
                cautions,
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
                "dark",
                "; ".join(evening.streets),
                evening.turn,
            ]
            for evening in proposal.rota
        ],
    )
