"""Slips of the pen: what members get wrong, in every kind of record."""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from demo_town.entries import Entry, Spot
from demo_town.geography import town
from demo_town.notation import PLACE_FIELDS
from demo_town.roster import BY_KEY
from demo_town.streams import stream

Test = Callable[[Entry], bool]


def _always(entry: Entry) -> bool:
    del entry
    return True


@dataclass(frozen=True)
class Slip:
    """One kind of slip.

    Parameters
    ----------
    folder, code
        Where it happens, and the name of what is wrong.
    cells
        For each time it happens, the cells as they are then written; ``place`` in `clears`
        empties all other place cells of the row.
    only
        Which entries it can befall.
    """

    folder: str
    code: str
    cells: tuple[dict[str, str], ...]
    clears: tuple[str, ...] = ()
    only: Test = _always


def _slashes(entry: Entry) -> bool:
    return BY_KEY[entry.writer].date in ("3/6/26", "03/06/2026") and not BY_KEY[entry.writer].excel


def _no_place_of_its_own(entry: Entry) -> bool:
    """Rows that give the place of a site are needed by other rows."""
    return not ("site" in entry.values and "place" in entry.values)


def _placed(entry: Entry) -> bool:
    return "place" in entry.values and "site" not in entry.values


def _unchecked(entry: Entry) -> bool:
    fixed = entry.values["fixed_on"]
    return isinstance(fixed, dt.date) and fixed >= dt.date(2026, 8, 1)


def _dated(entry: Entry) -> bool:
    return isinstance(entry.values.get("date"), dt.date)


def _merely_asked(entry: Entry) -> bool:
    """Nothing was offered or promised yet."""
    return not {"offered_on", "promised"} & set(entry.values)


def _in_old_town(entry: Entry) -> bool:
    """Far from the estate, so that an address there disagrees."""
    spot = entry.values.get("place")
    return isinstance(spot, Spot) and spot.y > town().river.centroid.y


PLACE = ("place",)

SLIPS: tuple[Slip, ...] = (
    Slip(
        "sightings",
        "date-impossible",
        (
            {"date": "31/6/25"},
            {"date": "31 June 2024"},
            {"date": "2023-06-31"},
            {"date": "30/2/26"},
        ),
    ),
    Slip(
        "sightings",
        "date-in-future",
        ({"date": "12/06/2062"}, {"date": "3 July 2027"}, {"date": "2206-06-14"}),
    ),
    Slip(
        "sightings",
        "date-month-first",
        ({"date": "6/25/25"}, {"date": "07/14/2024"}, {"date": "6/30/26"}),
        only=_slashes,
    ),
    Slip(
        "sightings",
        "cell-missing",
        (
            {"date": ""},
            {"date": ""},
            {"date": ""},
            {"behaviour": ""},
            {"behaviour": ""},
            {"species": ""},
        ),
    ),
    Slip(
        "sightings",
        "date-unreadable",
        ({"date": "some time in summer"}, {"date": '"'}, {"date": "last Tuesday"}),
    ),
    Slip("sightings", "date-without-year", ({"date": "12/6"}, {"date": "3 July"})),
    Slip("sightings", "date-out-of-season", ({"date": "25/12/2025"}, {"date": "8/1/2024"})),
    Slip("sightings", "date-too-old", ({"date": "3/6/1926"},)),
    Slip(
        "sightings",
        "count-unreadable",
        (
            {"birds": "lots"},
            {"birds": "loads"},
            {"birds": "several"},
            {"birds": "more than I could count"},
        ),
    ),
    Slip("sightings", "number-negative", ({"birds": "-4"}, {"birds": "-12"})),
    Slip("sightings", "number-too-high", ({"birds": "12000"},)),
    Slip("sightings", "birds-zero", ({"birds": "0"}, {"birds": "none"})),
    Slip("sightings", "time-impossible", ({"time": "25:10"}, {"time": "21:75"})),
    Slip("sightings", "time-unreadable", ({"time": "dusk"}, {"time": "after tea"})),
    Slip(
        "sightings",
        "species-unknown",
        (
            {"species": "sparrow hawk"},
            {"species": "sand martin"},
            {"species": "swallow"},
            {"species": "pied wagtail"},
        ),
    ),
    Slip(
        "sightings",
        "behaviour-unknown",
        ({"behaviour": "dancing"}, {"behaviour": "asleep"}, {"behaviour": "see photo"}),
    ),
    Slip("sightings", "place-missing", ({}, {}, {}), clears=PLACE),
    Slip(
        "sightings",
        "outside-town",
        (
            {"grid_ref": "TG 601 412"},
            {"latitude": "53.80957", "longitude": "1.70807"},
            {"latitude": "152.80957", "longitude": "1.70807"},
            {"easting": "560112", "northing": "329870"},
        ),
        clears=PLACE,
    ),
    Slip(
        "sightings",
        "grid-ref-letters-elsewhere",
        ({"grid_ref": "TM 501 299"}, {"grid_ref": "TF 501 299"}),
        clears=PLACE,
    ),
    Slip(
        "sightings",
        "grid-ref-odd-figures",
        ({"grid_ref": "TG 5012 299"}, {"grid_ref": "TG501"}),
        clears=PLACE,
    ),
    Slip("sightings", "grid-ref-letters-unknown", ({"grid_ref": "TI 501 299"},), clears=PLACE),
    Slip("sightings", "grid-ref-letters-missing", ({"grid_ref": "501 299"},), clears=PLACE),
    Slip("sightings", "grid-ref-unreadable", ({"grid_ref": "above the pond"},), clears=PLACE),
    Slip(
        "sightings",
        "angle-unreadable",
        ({"latitude": "52.8O957", "longitude": "1.70807"},),
        clears=PLACE,
    ),
    Slip(
        "sightings",
        "metres-unreadable",
        ({"easting": "65O123", "northing": "329870"},),
        clears=PLACE,
    ),
    Slip(
        "sightings",
        "coordinate-half-missing",
        ({"easting": "650123", "northing": ""},),
        clears=PLACE,
    ),
    Slip("sightings", "street-kind-missing", ({"street": "Mill", "house": "12"},), clears=PLACE),
    Slip(
        "sightings",
        "place-is-relative",
        ({"street": "behind the shop", "house": ""},),
        clears=PLACE,
    ),
    Slip(
        "sightings",
        "place-is-opposite",
        ({"street": "opp 12 Albert Road", "house": ""},),
        clears=PLACE,
    ),
    Slip(
        "sightings",
        "place-is-corner",
        ({"street": "corner of Mill Road and Alma Street", "house": ""},),
        clears=PLACE,
    ),
    Slip(
        "sightings",
        "places-disagree",
        (
            {"street": "Lapwing Drive", "house": "20", "grid_ref": "TG 501 303"},
            {"street": "Avocet Close", "house": "5", "grid_ref": "TG 503 304"},
            {"street": "Curlew Close", "house": "3", "grid_ref": "TG 498 304"},
        ),
        only=_in_old_town,
    ),
    Slip(
        "sightings",
        "street-unknown",
        (
            {"street": "Railroad Avenue", "house": "12"},
            {"street": "Quarry Bank", "house": "3"},
            {"street": "the usual place", "house": ""},
        ),
        clears=PLACE,
    ),
    Slip(
        "sightings",
        "house-not-listed",
        ({"street": "Albert Road", "house": "999"}, {"street": "Cross Street", "house": "144"}),
        clears=PLACE,
    ),
    Slip(
        "nest_sites",
        "status-unknown",
        ({"status": "dunno"}, {"status": "ask the owner"}),
        only=_no_place_of_its_own,
    ),
    Slip("nest_sites", "season-unreadable", ({"season": "2O23"},), only=_no_place_of_its_own),
    Slip("nest_sites", "date-in-future", ({"season": "2031"},), only=_no_place_of_its_own),
    Slip(
        "nest_sites",
        "season-date-disagree",
        ({"season": "2018"},),
        only=lambda e: _placed(e) and _dated(e),
    ),
    Slip("nest_sites", "one-of-missing", ({"date": ""},), only=lambda e: _placed(e) and _dated(e)),
    Slip("nest_sites", "place-missing", ({},), clears=PLACE, only=_placed),
    Slip(
        "nest_sites",
        "species-unknown",
        ({"species": "bats"}, {"species": "swift or martin"}),
        only=_no_place_of_its_own,
    ),
    Slip("nest_sites", "number-negative", ({"nests": "-1"},), only=_no_place_of_its_own),
    Slip(
        "nest_sites",
        "house-not-listed",
        ({"street": "Larkfield Way", "house": "1000"},),
        clears=PLACE,
        only=_placed,
    ),
    Slip("boxes", "cell-missing", ({"box": ""},), only=_unchecked),
    Slip("boxes", "removed-before-fixed", ({"removed_on": "1/10/2018"},)),
    Slip("boxes", "number-too-high", ({"height_m": "450"},)),
    Slip("boxes", "facing-unknown", ({"facing": "towards the pub"},)),
    Slip("boxes", "calls-turned-round", ({"calls_from": "28/7/2025", "calls_to": "6/5/2025"},)),
    Slip("boxes", "date-impossible", ({"fixed_on": "30/2/2024"},)),
    Slip("boxes", "number-unreadable", ({"height_m": "very high"},)),
    Slip(
        "checks", "box-unknown", ({"box": "B999"}, {"box": "B14O"}, {"box": "the one by the porch"})
    ),
    Slip("checks", "check-before-box", ({"date": "3/7/2015"}, {"date": "12/6/2017"})),
    Slip("checks", "number-negative", ({"eggs": "-2"},)),
    Slip("checks", "number-too-high", ({"young": "30"},)),
    Slip("checks", "seen-unknown", ({"seen": "parrot"}, {"seen": "feathers"})),
    Slip("checks", "cell-missing", ({"date": ""}, {"box": ""})),
    Slip("checks", "stage-unknown", ({"stage": "doing well"},)),
    Slip(
        "watches",
        "end-before-start",
        (
            {"start": "21:30", "end": "20:00"},
            {"start": "8:30 pm", "end": "9:40 am"},
            {"start": "21:00", "end": "21:00"},
        ),
    ),
    Slip("watches", "watch-too-long", ({"start": "08:00", "end": "21:45"},)),
    Slip(
        "watches",
        "street-unknown",
        ({"streets": "Railroad Avenue"}, {"streets": "all round town"}),
        clears=PLACE,
        only=lambda e: bool(e.values.get("streets")),
    ),
    Slip("watches", "number-too-high", ({"wind_bft": "15"},)),
    Slip("watches", "cell-missing", ({"date": ""}, {"end": ""})),
    Slip("watches", "count-unreadable", ({"most_birds": "masses"},)),
    Slip("watches", "place-missing", ({"streets": ""},), clears=PLACE),
    Slip("watches", "number-unreadable", ({"temp_c": "chilly"},)),
    Slip(
        "requests",
        "house-not-listed",
        ({"street": "Chapel Street", "house": "777"},),
        clears=PLACE,
        only=_merely_asked,
    ),
    Slip("requests", "date-impossible", ({"asked_on": "31.9.2025"},), only=_merely_asked),
    Slip("requests", "one-of-missing", ({"asked_on": ""},), only=_merely_asked),
    Slip("requests", "number-unreadable", ({"eaves_height_m": "quite low"},), only=_merely_asked),
    Slip("requests", "yes-no-unclear", ({"accepted": "thinking it over"},)),
)

TOTALS = (
    ("sightings", "pennyquick", {"date": "Total", "birds": "613"}),
    ("sightings", "tindersole", {"date": "Total", "birds": "402"}),
    ("checks", "owlerton", {"box": "Totals", "fledged": "57"}),
)
"""Rows of totals below a list: file, writer, cells."""


def spoiled(entries: Sequence[Entry]) -> list[Entry]:
    """Return the entries with slips made in some, and with rows of totals added."""
    made = list(entries)
    for slip in SLIPS:
        rng = stream("slip", slip.folder, slip.code)
        for cells in slip.cells:
            index = _victim(made, slip, cells, rng)
            made[index] = _slipped(made[index], slip, cells)
    for folder, writer, cells in TOTALS:
        last = max(e.day for e in made if e.folder == folder and e.writer == writer)
        blank = dict.fromkeys(BY_KEY[writer].headings[folder], "")
        made.append(
            Entry(
                folder,
                writer,
                "totals",
                {"date": last},
                raw=blank | cells,
                fault="line-not-a-record",
            )
        )
    return _with_box_listed_twice(made)


def _victim(made: Sequence[Entry], slip: Slip, cells: dict[str, str], rng: random.Random) -> int:
    able = [
        index
        for index, entry in enumerate(made)
        if entry.folder == slip.folder
        and entry.fault is None
        and set(cells) <= set(BY_KEY[entry.writer].headings[slip.folder])
        and slip.only(entry)
    ]
    return rng.choice(able)


def _slipped(entry: Entry, slip: Slip, cells: dict[str, str]) -> Entry:
    columns = BY_KEY[entry.writer].headings[entry.folder]
    raw = dict(cells)
    if slip.clears:
        raw = {column: "" for column in columns if column in PLACE_FIELDS} | raw
    return replace(entry, raw=raw, fault=slip.code)


def _with_box_listed_twice(made: Sequence[Entry]) -> list[Entry]:
    """Give a box's number to another box as well, at the other end of town; neither can stay."""
    code = "box-in-two-places"
    rng = stream("box twice")
    able = [
        index
        for index, entry in enumerate(made)
        if entry.folder == "boxes" and entry.fault is None and entry.writer == "tindersole"
    ]
    index = rng.choice(able)
    first = made[index]
    here = first.values["place"]
    if not isinstance(here, Spot):
        msg = "a box has a place"
        raise TypeError(msg)
    far = max(town().buildings, key=lambda b: abs(b.easting - here.x) + abs(b.northing - here.y))
    values = {**first.values, "place": Spot(*far.xy, far, exact=True)}
    second = replace(first, values=values, source="box listed twice", fault=code)
    return [*made[:index], replace(first, fault=code), *made[index + 1 :], second]
