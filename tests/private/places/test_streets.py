"""Street names: abbreviations, cells with more in them, and ten thousand misspellings."""

from __future__ import annotations

import json
import random
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from eaveline.private.places.street_names import street_key, street_words
from eaveline.private.places.streets import StreetMatcher, StreetReading

# An invented town of 96 streets, with look-alikes a matcher may trip over.
KINDS = {
    "Road": ("Rd", "Rd.", "rd"),
    "Street": ("St", "St.", "Str"),
    "Avenue": ("Ave", "Av"),
    "Close": ("Cl",),
    "Lane": ("Ln",),
    "Drive": ("Dr",),
    "Crescent": ("Cres",),
    "Terrace": ("Tce", "Terr"),
    "Gardens": ("Gdns",),
    "Way": (),
}
STEMS = [
    "Albert",
    "Alma",
    "Inkerman",
    "Gladstone",
    "Jubilee",
    "Railway",
    "Station",
    "Mill",
    "Church",
    "Chapel",
    "School",
    "Market",
    "Bridge",
    "High",
    "Sheep",
    "Cross",
    "Rectory",
    "Priory",
    "Maltings",
    "Foundry",
    "Festival",
    "Osier",
    "Sedge",
    "Kingcup",
    "Elm",
    "Poplar",
    "Coronation",
    "Beech",
    "Chestnut",
    "Sycamore",
    "Orchard",
    "Ferry",
    "Larkfield",
    "Lapwing",
    "Kestrel",
    "Skylark",
    "Linnet",
    "Plover",
    "Curlew",
    "Dunlin",
    "Avocet",
    "Redshank",
    "Bunting",
    "Wren",
    "Pipit",
    "Fieldfare",
    "Northmoor",
    "Marsh",
    "Victoria",
    "Waterloo",
    "Nelson",
    "Cromwell",
    "Alexandra",
    "Hazel",
    "Willow",
    "Cedar",
    "Oak",
    "Holly",
    "Rowan",
    "Maple",
    "Hawthorn",
    "Bramble",
    "Primrose",
    "Windmill",
    "Quarry",
    "Abbots",
    "Clarence",
    "Belmont",
    "Malvern",
    "Thornfield",
    "Ashdown",
    "Westfield",
    "Eastfield",
    "Hillside",
    "Riverside",
    "Springfield",
    "Harvest",
    "Tannery",
    "Weavers",
    "Coopers",
    "Saddlers",
    "Shepherds",
]
TOWN = sorted(
    {f"{stem} {kind}" for stem, kind in zip(STEMS, list(KINDS) * 9, strict=False)}
    | {"Mill Road", "Mill Lane", "Church Lane", "Church Street", "The Crescent", "North Quay"}
    | {"St Anne's Terrace", "St John's Road", "King's Drive", "Tanner's Row", "Southgate"}
)
MATCHER = StreetMatcher(TOWN)
DEMO_STREETS = Path(__file__).parents[3] / "survey_data" / "map" / "streets.geojson"
DEMO_TOWN = sorted(
    {
        feature["properties"]["name"]
        for feature in json.loads(DEMO_STREETS.read_text(encoding="utf-8"))["features"]
    }
)


def _slip(text: str, draw: random.Random) -> str:
    """Make one typing slip: a letter lost, added, changed, doubled, or two exchanged."""
    at = draw.randrange(len(text))
    kind = draw.randrange(5)
    letter = draw.choice("abcdefghijklmnopqrstuvwxyz")
    if kind == 0:
        return text[:at] + text[at + 1 :]
    if kind == 1:
        return text[:at] + letter + text[at:]
    if kind == 2:
        return text[:at] + letter + text[at + 1 :]
    if kind == 3:
        return text[:at] + text[at] + text[at:]
    return text[:at] + text[at : at + 2][::-1] + text[at + 2 :]


def _misspell(name: str, draw: random.Random) -> str:
    """Abbreviate four names in ten; make one slip, in one name of ten a second; change case."""
    stem, _, kind = name.rpartition(" ")
    if kind in KINDS and KINDS[kind] and draw.random() < 0.4:
        kind = draw.choice(KINDS[kind])
    for _ in range(1 if draw.random() < 0.9 else 2):
        if len(kind) > 4 and draw.random() < 0.35:
            kind = _slip(kind, draw)
        else:
            stem = _slip(stem or kind, draw) if stem else stem
            kind = kind if stem else _slip(kind, draw)
    typed = f"{stem} {kind}".strip()
    return draw.choice([typed, typed.lower(), typed.upper(), typed])


@pytest.mark.parametrize("names", [TOWN, DEMO_TOWN], ids=["invented", "demo"])
def test_of_ten_thousand_misspelt_names_99_in_100_are_right_and_none_in_1000_wrong(
    names: list[str],
) -> None:
    draw = random.Random(2026)
    truth = [draw.choice(names) for _ in range(10_000)]
    typed = [_misspell(name, draw) for name in truth]
    readings = StreetMatcher(names).read(typed)
    outcome = Counter(
        "held" if reading.street is None else reading.street == name
        for reading, name in zip(readings, truth, strict=True)
    )
    assert outcome[True] >= 9_900
    assert outcome[False] < 10
    # Whatever was put right is listed: unlisted readings are the name in another form.
    for text, reading in zip(typed, readings, strict=True):
        if reading.street is not None and reading.repair is None:
            assert street_key(text) == street_key(reading.street)


def test_streets_of_elsewhere_are_not_taken_for_the_towns_own() -> None:
    wrong = asked = 0
    for seed in range(20):
        draw = random.Random(seed)
        own = set(draw.sample(TOWN, len(TOWN) // 2))
        elsewhere = [name for name in TOWN if name not in own]
        asked += len(elsewhere)
        wrong += sum(reading.street is not None for reading in StreetMatcher(own).read(elsewhere))
    assert asked > 900
    assert wrong <= asked * 0.005


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("St. Anne's Tce", ("saint", "annes", "terrace")),
        ("Albert St", ("albert", "street")),
        ("Church St N.", ("church", "street", "north")),
        ("Old St Mary\u2019s Ln", ("old", "saint", "marys", "lane")),
        ("High St. Mews", ("high", "street", "mews")),
        ("St John St", ("saint", "john", "street")),
        ("The Crescent", ("crescent",)),
        ("2nd Ave", ("second", "avenue")),
        ("N. Quay", ("north", "quay")),
        ("Fish & Eel Row", ("fish", "and", "eel", "row")),
        ("Caf\u00e9 Pl", ("cafe", "place")),
    ],
)
def test_abbreviations_are_written_out(text: str, words: tuple[str, ...]) -> None:
    assert street_words(text) == words


@pytest.mark.parametrize(
    ("text", "street", "house"),
    [
        ("Albert Road", "Albert Road", ""),
        ("ALBERT RD.", "Albert Road", ""),
        ("12 Albert Rd", "Albert Road", "12"),
        ("12a albert road", "Albert Road", "12a"),
        ("Albert Road 12", "Albert Road", "12"),
        ("Albert Road, 12", "Albert Road", "12"),
        ("Albert Rd no 12", "Albert Road", "no 12"),
        ("No. 12 Albert Rd", "Albert Road", "No. 12"),
        ("12-14 Albert Road", "Albert Road", "12-14"),
        ("Flat 3, 12 Albert Road", "Albert Road", "Flat 3, 12"),
        ("The Old Forge, Mill Lane", "Mill Lane", "The Old Forge"),
        ("Albert House, Mill Lane", "Mill Lane", "Albert House"),
        ("12, Albert Rd, Ottersley", "Albert Road", "12"),
        ("12 Albert Rd, Ottersley, ZZ99 1AA", "Albert Road", "12"),
        ("Albert Road (north end)", "Albert Road", ""),
        ("in Albert Road", "Albert Road", ""),
        ("1 The Crescent", "The Crescent", "1"),
        ("King's Dr", "King's Drive", ""),
        ("St Annes Terr", "St Anne's Terrace", ""),
    ],
)
def test_street_and_house_are_taken_apart(text: str, street: str, house: str) -> None:
    reading = MATCHER.read([text])[0]
    assert (reading.street, reading.house, reading.problem) == (street, house, None)
    assert reading.repair is None


@pytest.mark.parametrize(
    ("text", "street", "house", "repair"),
    [
        ("12 Albert Road Ottersley", "Albert Road", "12", None),
        ("12 ALBERT RD OTTERSLEY NORFOLK ZZ99 1AA", "Albert Road", "12", None),
        ("Flat 3, 12 Albert Road Ottersley", "Albert Road", "Flat 3, 12", None),
        ("12 Albrt Raod Ottersley", "Albert Road", "12", "street-spelling-corrected"),
        ("Land at Albert Road, Ottersley", "Albert Road", "", None),
        ("Land At Albert Road Ottersley", "Albert Road", "", None),
        ("9 Old Ottersley Road", None, "", None),
        ("Ottersley", None, "", None),
    ],
)
def test_the_towns_name_may_follow_without_a_comma(
    text: str, street: str | None, house: str, repair: str | None
) -> None:
    matcher = StreetMatcher([*TOWN, "Old Quay"], town="Ottersley")
    reading = matcher.read([text])[0]
    assert (reading.street, reading.house, reading.repair) == (street, house, repair)


@pytest.mark.parametrize(
    ("text", "problem", "suggestion"),
    [
        ("corner of Albert Rd and Alma St", "place-is-corner", "Albert Road"),
        ("Albert Rd/Church Ln jct", "place-is-corner", "Albert Road"),
        ("opp 12 Albert Rd", "place-is-opposite", "Albert Road"),
        ("opposite the church", "place-is-opposite", None),
        ("behind the shop", "place-is-relative", None),
        ("near Albert Road", "place-is-relative", "Albert Road"),
        ("top of Albert Rd", "place-is-relative", "Albert Road"),
        ("third house along from the pub", "place-is-relative", None),
        ("Mill Lane and Albert Road", "street-two-named", None),
        ("Mill Lane / Albert Road", "street-two-named", None),
        ("Mill", "street-kind-missing", None),
        ("Hill Lane", "street-unknown", "Mill Lane"),
        ("Albert Close", "street-unknown", "Albert Road"),
        ("the field with the horses", "street-unknown", None),
        ("!", "street-unknown", None),
    ],
)
def test_what_is_not_certain_is_held(text: str, problem: str, suggestion: str | None) -> None:
    reading = MATCHER.read([text])[0]
    assert (reading.street, reading.problem, reading.suggestion) == (None, problem, suggestion)


def test_a_missing_kind_is_added_where_one_street_alone_fits_and_listed() -> None:
    assert MATCHER.read(["gladstone"])[0] == StreetReading(
        f"Gladstone {list(KINDS)[3]}", repair="street-kind-added"
    )


def test_a_town_without_streets_holds_everything() -> None:
    assert StreetMatcher([]).read(["Albert Road"])[0].problem == "street-unknown"


@given(st.lists(st.text(max_size=40), max_size=5))
def test_no_text_makes_it_fall_over(texts: list[str]) -> None:
    for reading in MATCHER.read(texts):
        assert (reading.street is None) == (reading.problem is not None)


FORMS = ["{h} {s}", "{s} {h}", "{s}, {h}", "{h}, {s}"]


@given(st.sampled_from(TOWN), st.integers(1, 400), st.sampled_from(FORMS))
def test_every_street_is_found_with_any_house(street: str, house: int, form: str) -> None:
    reading = MATCHER.read([form.format(s=street, h=house)])[0]
    assert (reading.street, reading.house) == (street, str(house))
