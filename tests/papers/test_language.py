"""The papers speak the town's language: nothing of ours is left in English."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Iterable, Mapping
from pathlib import Path

import pytest
from babel.dates import get_month_names
from pypdf import PdfReader

import box_town
from eaveline import between_builds, pipeline
from eaveline.config import load_config
from eaveline.gazetteer import load_gazetteer
from eaveline.group_papers import group_papers, propose_offers
from eaveline.messages import speaking
from eaveline.papers.officer.answer import to_text
from eaveline.papers.printed import PrintedBefore
from eaveline.papers.report import summarise
from eaveline.public.words.law import nation_law, standards
from planned_town import HEADER, ROWS
from pseudo_language import TAG, Shown, untranslated, write_catalogue
from small_town import STREETS, TOWN_TOML, ordinary_records, write_town

TODAY = dt.date(2026, 11, 25)
REQUESTS = (
    "asked_on,street,house,eaves_height_m,facing,boxes,promised,contact\n"
    "1/9/2026,Albert Road,40,6.5,N,,,Mrs Quill\n"
    "3/9/2026,St Anne's Terrace,30,,,4,yes,Mrs Vow\n"
)
HELD = (
    "sightings/held.csv",
    (
        "date,time,grid_ref,species,behaviour,birds,seen_by\n"
        "31/2/2026,21:00,TG 5025 4030,swift,screaming party,9,Ann\n"
    ),
)
OFFERS = "\n[offers]\nboxes = 24\nbudget_pounds = 900\n"
_VOCABULARY = frozenset(
    {"swift", "house martin", "in use", "lost", "empty", "screaming party", "young", "dry", "rain"}
    | {"entering or leaving a nest", "visiting wall or eaves"}
)
"""Words of ours wherever they stand, even though people write them as well."""
_CODE = re.compile(
    r"survey_data/[a-z]*/?|[\w/-]+\.(csv|pdf|html|toml|gpkg)|figures/|EPSG:\d+|\bS\d\b|\bund\b"
)
"""Names of files and folders, signs of spare doors, and the word between the last two of a list."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    ordinary = ordinary_records()
    records = box_town.everything() | {
        "sightings/ann.csv": ordinary["sightings/ann.csv"],
        "watches/bob.csv": ordinary["watches/bob.csv"],
        "planning/list.csv": HEADER + ROWS,
        "requests/all.csv": REQUESTS,
        HELD[0]: HELD[1],
    }
    folder = write_town(tmp_path_factory.mktemp("language"), records)
    toml = TOWN_TOML.replace("invented = true", f'invented = true\nlanguage = "{TAG}"')
    (folder / "survey_data" / "town.toml").write_text(toml + OFFERS, encoding="utf-8")
    write_catalogue(folder / "theme" / "messages")
    return folder


@pytest.fixture(scope="module")
def papers(folder: Path) -> Mapping[str, bytes]:
    """Write every paper of the town."""
    config = load_config(folder)
    with speaking(pipeline.town_language(folder, config)):
        town = load_gazetteer(folder, config)
        intake = pipeline.take_in_town(folder, town, today=TODAY)
        register, merges = pipeline.merge_town(intake, town, config)
        applications, register = pipeline.merge_planning(intake, register, config)
        release, _ = pipeline.protect_town(register, town, config)
        summary = summarise(
            intake,
            register.ledger,
            release,
            nest_sites=len(register.sites),
            boxes=len(register.boxes),
            streets=len(town.basemap.streets),
            waiting=1,
        )
        return group_papers(
            intake=intake,
            register=register,
            merges=merges,
            applications=applications,
            proposal=propose_offers(intake, register, town, config, today=TODAY),
            summary=summary,
            release=release,
            town=town,
            config=config,
            today=TODAY,
            printed=PrintedBefore(folder / "private"),
        )


@pytest.fixture(scope="module")
def data(folder: Path) -> set[str]:
    """Return what stays as somebody has written it."""
    config = load_config(folder)
    words = {
        *STREETS,
        config.town.name,
        config.town.group,
        config.town.email,
        config.town.licence,
    }
    law, common = nation_law(config.town.nation), standards()
    words |= set(law.consents)
    for line in (*law.nest_law, *law.policy, *(each for _, each in common)):
        words |= {line.text, line.source}
    for path in (folder / "survey_data").rglob("*.csv"):
        words.add(path.relative_to(folder / "survey_data").as_posix())
        with path.open(encoding="utf-8", newline="") as file:
            words |= {" ".join(cell.split()) for row in [*csv.reader(file)][1:] for cell in row}
    # Words of a vocabulary are ours wherever they stand, even though people write them too.
    words = {word for word in words - _VOCABULARY if len(word) > len("yes") or word[-1:].isdigit()}
    return words | set(get_month_names("wide", locale=TAG).values())


def unsaid(texts: Iterable[tuple[str, str]], data: Iterable[str]) -> list[str]:
    """Return the texts with words that no translator can reach."""
    plain = [(where, _CODE.sub(" ", " ".join(text.split()))) for where, text in texts]
    return list(untranslated(plain, data=data))


def test_pages_say_nothing_but_messages(papers: Mapping[str, bytes], data: set[str]) -> None:
    pages = {name: page.decode() for name, page in papers.items() if name.endswith(".html")}
    assert {"annual-report.html", "doorstep-list.html", "private-figures.html"} < set(pages)
    for name, page in pages.items():
        shown = Shown(page).found
        assert len(shown) > 20, name
        assert f'<html lang="{TAG}">' in page, name
    found = {name: unsaid(Shown(page).found, data) for name, page in pages.items()}
    assert {name: texts for name, texts in found.items() if texts} == {}


@pytest.mark.parametrize(
    "name",
    [
        "annual-report.pdf",
        "officer/26-00101-FUL/publishable.pdf",
        "officer/26-00101-FUL/confidential-annex.pdf",
    ],
)
def test_printed_papers_say_nothing_but_messages(
    name: str, papers: Mapping[str, bytes], data: set[str]
) -> None:
    reader = PdfReader(io.BytesIO(papers[name]))
    text = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    assert text.count("⟦") > 20
    assert not unsaid([(name, text)], data)
    assert str(reader.root_object["/Lang"]) == TAG


def test_the_answer_says_nothing_but_messages(folder: Path, data: set[str]) -> None:
    told = to_text(between_builds.ask_town(folder, "21 Albert Road", today=TODAY))
    assert told.count("⟦") > 20
    assert not unsaid([("", told)], data)


def test_files_for_spreadsheets_keep_their_columns_and_say_the_rest(
    papers: Mapping[str, bytes],
) -> None:
    doors = list(csv.DictReader(io.StringIO(papers["doorstep-list.csv"].decode("utf-8-sig"))))
    assert doors[0]["why"].startswith("⟦")
    assert doors[0]["cautions"].startswith("⟦")
    assert not unsaid([("", doors[0]["what_to_say"])], [])
    held = list(csv.DictReader(io.StringIO(papers["review/rows-to-fix.csv"].decode("utf-8-sig"))))
    assert [row["what_to_do"][:1] for row in held] == ["⟦"]
    merged = list(csv.DictReader(io.StringIO(papers["review/merged.csv"].decode("utf-8-sig"))))
    assert all(row["why"].startswith("⟦") for row in merged)
    seen = list(csv.DictReader(io.StringIO(papers["figures/evidence.csv"].decode("utf-8-sig"))))
    assert seen[0]["species"] == "swift", "a value that programs rely on"
