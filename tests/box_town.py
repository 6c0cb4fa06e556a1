"""The little town with many boxes, calls and watches, so that every estimate has something to say.

The numbers are laid out by hand, so that tests can work out what must be published.
"""

from __future__ import annotations

from small_town import NEST_SITES, houses, ordinary_records

BOXES = "box,street,house,fixed_on,calls_from,cost\n"
CHECKS = "box,date,seen,fledged\n"
WATCHES = "date,start,end,grid_ref,weather,most_birds,calls_playing\n"
PARTIES = "date,time,grid_ref,species,behaviour,birds,seen_by\n"

OLD, YOUNG = 28, 14
"""Boxes of 2022 along Mill Lane, and of 2025 along Albert Road; one for each house."""
WITH_CALLS = 14
"""The first so many along Mill Lane have calls from the start."""
USED = {1: 2022, 2: 2023, 3: 2024, 15: 2024, 16: 2025, 17: 2026}
"""House along Mill Lane, and the season swifts were first found in its box."""
SPOTS = ("TG 5005 4010", "TG 5015 4010", "TG 5025 4010", "TG 5005 4030", "TG 5015 4030")
FIRST_COUNTS = (2, 4, 6, 8, 10)
"""Birds at each spot in 2022; half as many again each year, rounded."""


def box_records() -> dict[str, str]:
    """Return the records."""
    boxes = "".join(
        f"O{n},Mill Lane,{n},1/3/2022,{'10/5/2022' if n <= WITH_CALLS else ''},40\n"
        for n in range(1, OLD + 1)
    ) + "".join(f"Y{n},Albert Road,{n},1/3/2025,,\n" for n in range(1, YOUNG + 1))
    checks = "".join(
        f"O{n},1/7/{year},{'swift' if year >= USED.get(n, 9999) else 'empty'},\n"
        for n in range(1, OLD + 1)
        for year in range(2022, 2027)
    ) + "".join(f"Y{n},1/7/2025,empty,\n" for n in range(1, YOUNG + 1))
    watches = "".join(
        f"20/6/{year},20:30,22:00,{spot},dry,{round(first * 1.5 ** (year - 2022))},\n"
        for spot, first in zip(SPOTS, FIRST_COUNTS, strict=True)
        for year in range(2022, 2027)
        if (spot, year) != (SPOTS[0], 2024)
    )
    parties = (
        "15/6/2026,21:00,TG 5025 4030,swift,screaming party,9,Ann\n"  # 22 minutes before sunset
        "15/6/2026,20:00,TG 5025 4020,swift,screaming party,5,Ann\n"  # 82
        "16/6/2026,21:50,TG 5025 4030,swift,screaming party,4,Ann\n"  # after it
        "29/6/2026,12:00,TG 5025 4030,swift,screaming party,7,Ann\n"  # half the day before
        "24/5/2022,21:00,TG 5015 4005,swift,screaming party,30,Ann\n"  # where calls were played
    )
    street, house, *_ = houses()[40]
    return {
        "sightings/a.csv": PARTIES + parties,
        "nest_sites/a.csv": NEST_SITES + f"N1,{street},{house},,swift,2022,in use,young,,Ann\n",
        "boxes/a.csv": BOXES + boxes,
        "checks/a.csv": CHECKS + checks,
        "watches/a.csv": WATCHES + watches,
    }


def everything() -> dict[str, str]:
    """Return these records with the ordinary town's nest sites, so that there is much to swap."""
    return box_records() | {"nest_sites/ann.csv": ordinary_records()["nest_sites/ann.csv"]}
