"""Fifty ordinary pages must pass: an audit that cries wolf is switched off."""

from __future__ import annotations

import random
from pathlib import Path
from types import SimpleNamespace

import pytest

from eaveline.audit.site import audit_site
from leaks import town_secrets

PAGES = 50
STREETS = ("Albert Road", "St Mary's Lane", "Mill Lane", "Market Place")
PUBLIC_PLACES = ("TG 5121 3165", "TG 5099 3071", "TG 5187 3012")
"""Car parks and the like, at least 100 m from every exact point of the town's register."""

SENTENCES = (
    "On {day} June {year} we met in {street} and saw {count} swifts.",
    "On June {day}, {street} was quiet.",
    "{day}/06/{year} {street}: rain, nobody went.",
    "{year}-06-{day:02d}, {street}: a party of {count} at 21.{minute:02d}.",
    "From 9.{minute:02d}pm until 22:{minute:02d} in {street} nothing flew.",
    "{street} {year}: a good season.",
    "{street}, {count} premises; Mill Lane, {more} premises.",
    "The squares that {street} runs through hold {count} to {more} premises.",
    "In {street} {count} swifts screamed past; {more} more came later.",
    "We saw {count} in {street} and {more} over the church.",
    "{street} ({count}) and St Mary's Lane ({more}) were watched most.",
    "{street}: {count}; {more} in all.",
    "Boxes cost £{more}.50, or £{count} {street} residents' price.",
    "Order number 0{day:02d}34-{count}-{more}, account 5{more}1234567890.",
    "ISBN 978-0-306-40615-7 and 0-306-40615-2 are both at the library.",
    "Call-out code 0123-{more}, extension {count}.",
    "A mill stood at the end of {street}; the miller kept martins.",
    "Marguerite daisies and larks; the name Threlkeld is a village too.",
    "Our square is TG 50 30; the wider one is TG5030, seen {day} times.",
    "The church stands in TG 501 302, says the guide of {year}.",
    "A Mill Lane resident wrote to us; A Lark sang.",
    "Entrances 65 mm by 28 mm, {count}.{minute} m above the road.",
    "Wilson interval 0.{more} to 0.4{day}, n = 1,7{minute:02d}.",
    "Version 52.{minute}.1 of the plan; {more} % of {count} boxes.",
    "Work at Height Regulations 2005, BS 42021:2022, section B1 1st part, plan M3 2nd sheet.",
    "Size A4 or A3, h1 2em, 16px/1.5; 12pt.",
    "Write to birds@ottersley.example, the group's address.",
    "Swifts don't mill about; they're in Mill Lane by {day} May.",
    "Meet at 1 Market Place, the library, on {day} July.",
    "Over {count} years £650.{more} came in and £330.{day:02d} went out.",
    "Subresource sha384-oqVuAfXRKap7fdgcCY5uykM6+R9GqQ8KuxyAbCdEfGhI{more}_~iFps|U?`@.",
    "Two {street} residents wrote; at seven, {street} was quiet, said number {count}.",
    "At number {more} on the list stands a bench; {street} has none.",
    "In {street} no two evenings are alike, and one hundred swifts came.",
    "The table lists {street} 3rd and St Mary's Lane 8th.",
)

TABLE = (
    "<table><tr><th>Street</th><th>Premises</th><th>Swifts</th></tr>"
    "<tr><td>Albert Road</td><td>17</td><td>8</td></tr>"
    "<tr><td>St Mary's Lane</td><td>3</td><td>24</td></tr></table>"
)


def _page(number: int) -> str:
    chance = random.Random(number)
    lines = []
    for sentence in chance.sample(SENTENCES, 12):
        values = {
            "day": chance.choice((3, 8, 12, 17, 24)),
            "year": chance.randint(2019, 2026),
            "street": chance.choice(STREETS),
            "count": chance.choice((1, 3, 8, 17, 24)),
            "more": chance.randint(30, 99),
            "minute": chance.choice((0, 3, 8, 17, 24, 45)),
        }
        lines.append(f"<p>{sentence.format(**values)}</p>")
    body = "\n".join(lines)
    return (
        f'<!doctype html><html lang="en"><head><title>Notes {number}</title>'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        "<style>body { margin: 0 1.713rem; line-height: 1.52 } .a { width: 52.81% }</style>"
        f'</head><body><a href="/streets/albert-road/">Albert Road</a>{body}{TABLE}'
        '<svg viewBox="0 0 900 400"><path d="M52.8 1.7L17.3 24.1 8 3l5.12 1.71"/>'
        '<path d="M650.337,330.861l1.5,2"/></svg>'
        f"<p>Parking: {PUBLIC_PLACES[number % len(PUBLIC_PLACES)]}.</p></body></html>"
    )


@pytest.fixture
def ordinary_site(tmp_path: Path) -> Path:
    for number in range(PAGES):
        folder = tmp_path / "news" / f"2026-06-{number % 30 + 1:02d}-albert-road-watch-{number}"
        folder.mkdir(parents=True)
        (folder / "index.html").write_text(_page(number), encoding="utf-8")
    (tmp_path / "streets.csv").write_text(
        "slug,name,premises,squares\nalbert-road,Albert Road,17,8\nmill-lane,Mill Lane,24,3\n",
        encoding="utf-8",
    )
    (tmp_path / "release.json").write_text(
        '{"regions": [{"id": "R017", "cells": [[6501, 3302], [6502, 3302]], "premises": 17,'
        ' "streets": ["albert-road", "mill-lane"]}], "made_on": "2026-08-17"}',
        encoding="utf-8",
    )
    return tmp_path


def test_only_the_public_places_are_shown_for_approval(ordinary_site: Path) -> None:
    result = audit_site(ordinary_site, town_secrets())
    assert {finding.rule for finding in result.findings} == {"grid-reference"}
    assert len({finding.digest for finding in result.findings}) == len(PUBLIC_PLACES)
    assert None not in {finding.digest for finding in result.findings}
    assert len(result.findings) == PAGES
    assert result.files_read == PAGES + 2


def test_with_a_reason_for_each_public_place_the_pages_pass(ordinary_site: Path) -> None:
    first = audit_site(ordinary_site, town_secrets())
    allow = [
        SimpleNamespace(sha256=digest, reason="a public car park")
        for digest in sorted({str(finding.digest) for finding in first.findings})
    ]
    result = audit_site(ordinary_site, town_secrets(), allow=allow)
    assert result.passed
    assert len(result.allowed) == PAGES
    assert {allowed.reason for allowed in result.allowed} == {"a public car park"}
    assert result.unused_allowances == ()


def test_all_fifty_pages_differ() -> None:
    assert len({_page(number) for number in range(PAGES)}) == PAGES
