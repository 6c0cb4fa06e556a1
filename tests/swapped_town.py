"""A town with every kind of record at one house, to be swapped with a neighbour's.

The two houses stand near each other in Albert Road, in one square. Neither bears a box.
"""

from __future__ import annotations

from pathlib import Path

import box_town
from small_town import NEST_SITES, SIGHTINGS, write_town
from swapping import Address

KNOWN: Address = ("Albert Road", "41")
NEIGHBOUR: Address = ("Albert Road", "35")
REQUESTS = "asked_on,street,house,eaves_height_m,facing,contact,offered_on,accepted,boxes,notes\n"
PLANNING = "reference,received,comments_due,street,house,address,proposal,work,dwellings,outcome\n"


def records() -> dict[str, str]:
    """Return boxes, checks, watches and parties, with nests, requests and planning of two houses.

    The known house has nests over three seasons, one of them lost, visits to its wall, an owner
    who asked for boxes, and a planning application; the neighbour has an old nest and a request
    that was turned down.
    """
    street, house = KNOWN
    _, beside = NEIGHBOUR
    files = box_town.everything()
    return files | {
        "nest_sites/known.csv": NEST_SITES
        + f"K1,{street},{house},,swift,2024,in use,young,,Ann Poole\n"
        + f"K1,{street},{house},,swift,2025,in use,entering or leaving a nest,,Ann Poole\n"
        + f"K1,{street},{house},,swift,2026,lost,,,Ann Poole\n"
        + f"K2,{street},{house},,house martin,2026,in use,young,no,Bob Tarn\n"
        + f"K3,{street},{beside},,swift,2022,in use,eggs,,Bob Tarn\n",
        "sightings/known.csv": SIGHTINGS
        + f"4/6/2026,21:10,,{street},{house},swift,visiting wall or eaves,1,Ann Poole,\n"
        + f"9/6/2026,21:20,,{street},{house},swift,entering or leaving a nest,2,Ann Poole,\n"
        + f"11/6/2025,20:20,,{street},{beside},swift,screaming party,5,Ann Poole,\n",
        "requests/known.csv": REQUESTS
        + f"1/2/2026,{street},{house},6,N,,3/2/2026,yes,3,\n"
        + f"2/2/2026,{street},{beside},7,E,,3/2/2026,no,,\n",
        "planning/known.csv": PLANNING
        + f"26/00201/FUL,1/9/2026,15/12/2026,{street},{house},,Re-roofing,roof,,\n",
    }


def write_known_town(folder: Path) -> Path:
    """Write the town, with a page and a piece of news of its group."""
    folder.mkdir(parents=True)
    write_town(folder, records())
    news = folder / "content" / "news"
    news.mkdir(parents=True, exist_ok=True)
    (news / "walk.md").write_text(
        "Title: An evening walk\nDate: 2026-05-02\nSlug: walk\nSummary: Come along.\n\n"
        "We meet at the green at eight.\n",
        encoding="utf-8",
    )
    return folder
