"""Papers for planning officers."""

from __future__ import annotations

import ast
import datetime as dt
import io
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
import shapely
from pypdf import PdfReader
from shapely.geometry.base import BaseGeometry

from eaveline import pipeline
from eaveline.audit.secrets import Secrets
from eaveline.audit.site import audit_site
from eaveline.config import Config, load_config
from eaveline.gazetteer import Gazetteer, load_gazetteer
from eaveline.knowledge import audit_knowledge
from eaveline.papers.officer import sheet as sheet_module
from eaveline.papers.officer.annex import marking
from eaveline.papers.officer.asks import asks
from eaveline.papers.officer.papers import folder_names, officer_papers
from eaveline.papers.officer.sheet import Application, publishable_sheet, touched_regions
from eaveline.papers.officer.site_map import map_scale, site_map
from eaveline.private.intake.take_in import Intake
from eaveline.private.register import Register
from eaveline.public.records import Nation, PublicRelease
from small_town import ordinary_records, write_town

TODAY = dt.date(2026, 11, 25)
ROWS = (
    "reference,received,comments_due,easting,northing,site_wkt,proposal,dwellings,outcome\n"
    "26/1,01/09/2026,15/12/2026,650150,340044,,Re-roofing of a terrace,,\n"
    '26/2,02/09/2026,,,,"POLYGON ((650130 340010, 650170 340010, 650170 340090, 650130 340090, '
    '650130 340010))",Twelve dwellings,12,\n'
    "26/3,02/09/2026,,650150,340044,,Decided already,2,Refused\n"
)


@dataclass(frozen=True)
class Town:
    """A town whose papers are written."""

    folder: Path
    config: Config
    town: Gazetteer
    intake: Intake
    register: Register
    release: PublicRelease
    applications: pd.DataFrame

    def papers(self, *, today: dt.date = TODAY) -> Mapping[str, bytes]:
        """Write every paper."""
        return officer_papers(
            self.applications,
            self.register,
            self.release,
            basemap=self.town.basemap,
            town=self.config.town,
            find_street=self.town.find_street,
            today=today,
        )


@pytest.fixture(scope="module")
def town(tmp_path_factory: pytest.TempPathFactory) -> Town:
    folder = write_town(
        tmp_path_factory.mktemp("officer"),
        {**ordinary_records(), "planning/list.csv": ROWS},
    )
    config = load_config(folder)
    gazetteer = load_gazetteer(folder, config)
    intake = pipeline.take_in_town(folder, gazetteer, today=TODAY)
    register, _ = pipeline.merge_town(intake, gazetteer, config)
    applications, register = pipeline.merge_planning(intake, register, config)
    release, _ = pipeline.protect_town(register, gazetteer, config)
    return Town(folder, config, gazetteer, intake, register, release, applications)


@pytest.fixture(scope="module")
def papers(town: Town) -> Mapping[str, bytes]:
    return town.papers()


def pages(data: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]


def one_line(text: str) -> str:
    return " ".join(text.split())


def test_which_papers_there_are(papers: Mapping[str, bytes]) -> None:
    four = ("publishable.pdf", "publishable.html", "confidential-annex.pdf")
    wanted = {
        f"officer/{folder}/{name}"
        for folder in ("26-1", "26-2")
        for name in (*four, "confidential-annex.html")
    }
    names = (".seen.json", "applications.csv", "applications.html", "reminders.csv", "tally.csv")
    assert set(papers) == wanted | {f"officer/{name}" for name in names}


def test_every_page_of_the_annex_is_marked(papers: Mapping[str, bytes]) -> None:
    found = pages(papers["officer/26-1/confidential-annex.pdf"])
    assert len(found) > 1
    assert all(marking() in one_line(page) for page in found)
    assert marking() in papers["officer/26-1/confidential-annex.html"].decode()
    assert not [page for page in pages(papers["officer/26-1/publishable.pdf"]) if marking() in page]


@pytest.mark.parametrize("name", ["publishable", "confidential-annex"])
def test_pdfs_are_tagged_titled_and_name_nobody(papers: Mapping[str, bytes], name: str) -> None:
    reader = PdfReader(io.BytesIO(papers[f"officer/26-1/{name}.pdf"]))
    root: Any = reader.root_object
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en-GB"
    assert "/StructTreeRoot" in root
    metadata = reader.metadata
    assert metadata is not None
    assert metadata.author is None
    assert metadata.title is not None
    assert metadata.title.endswith("application 26/1")
    xmp = root["/Metadata"].get_object().get_data().decode()
    # ISO 14289-1 asks for its own mark in the metadata.
    assert re.search(r"pdfuaid:part[^>]*>\s*1|pdfuaid:part=\"1\"", xmp)
    resources: list[Any] = [page["/Resources"] for page in reader.pages]
    fonts = [font.get_object() for each in resources for font in each["/Font"].values()]
    assert fonts
    for font in fonts:
        inner = font["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
        assert any(key.startswith("/FontFile") for key in inner)
    for page in reader.pages:
        assert [round(float(side)) for side in page.mediabox[2:]] == [595, 842]  # A4


def test_the_sheet_reads_in_order(papers: Mapping[str, bytes]) -> None:
    text = one_line(" ".join(pages(papers["officer/26-1/publishable.pdf"])))
    order = [
        "The application",
        "What is on record for these squares",
        "How it was found, and its limits",
        "Law and policy",
        "What we ask for",
        "Whom to ask",
    ]
    places = [text.index(words) for words in order]
    assert places == sorted(places)
    assert "Re-roofing of a terrace" in text
    assert "No inference of absence can be drawn" in text
    assert "Wildlife and Countryside Act 1981" in text


def test_the_page_says_what_the_pdf_says(papers: Mapping[str, bytes]) -> None:
    page = re.sub(r"<style>.*?</style>|<svg.*?</svg>|<[^>]+>", " ",
                  papers["officer/26-1/publishable.html"].decode(), flags=re.DOTALL)  # fmt: skip
    pdf = one_line(" ".join(pages(papers["officer/26-1/publishable.pdf"])))
    for sentence in ("and may go on the public file.", "Nobody outside the group has verified"):
        assert sentence in one_line(page)
        assert sentence in pdf


def test_the_annex_has_the_exact_place_and_its_distance(papers: Mapping[str, bytes]) -> None:
    text = one_line(" ".join(pages(papers["officer/26-1/confidential-annex.pdf"])))
    # M7 stands at 650141 340044, nine metres from the application's point: on the site.
    assert "650141 340044" in text
    # The box B6 is at 650159 340036: the hypotenuse of 9 and 8 is 12.04 m.
    assert "12 m" in text
    assert "may be unable to rely on what an applicant cannot see" in text


def test_a_publishable_sheet_passes_the_audit_and_an_annex_does_not(
    town: Town, papers: Mapping[str, bytes], tmp_path: Path
) -> None:
    knowledge = audit_knowledge(town.intake, town.town, town.config)
    # The council publishes the sites of applications; the audit looks for everything else.
    sites = shapely.get_coordinates(
        [shape for shape in town.applications["shape"] if shape.geom_type == "Point"]
    )
    nests = town.register.sites[["easting", "northing"]].to_numpy()
    secret = knowledge.secrets
    own = np.column_stack([secret.easting_m, secret.northing_m])
    kept = np.array([(place != sites).any(axis=1).all() for place in own])
    assert len(nests)
    planted = replace(secret, easting_m=own[kept, 0], northing_m=own[kept, 1])
    assert isinstance(planted, Secrets)

    def passed(kind: str) -> bool:
        folder = tmp_path / kind
        folder.mkdir()
        for number in (1, 2):
            for ending in ("pdf", "html"):
                name = f"{number}-{kind}.{ending}"
                (folder / name).write_bytes(papers[f"officer/26-{number}/{kind}.{ending}"])
        result = audit_site(
            folder,
            planted,
            allow=(),
            public_vertices=knowledge.public_vertices,
            trusted=frozenset(),
            content_pages=frozenset(),
        )
        rules = {finding.rule for finding in result.findings}
        # PDF/UA needs a metadata stream, which the site's own rule forbids; it names nobody.
        return not rules - {"pdf-metadata", "frame-missing"}

    assert passed("publishable")
    assert not passed("confidential-annex")


def test_nothing_exact_moves_the_sheet(town: Town) -> None:
    """The sheet is a function of the release: move every nest and it stays the same."""
    sites = town.register.sites
    moved = replace(town.register, sites=sites.assign(easting=sites["easting"] + 3.0))
    before, after = town.papers(), replace(town, register=moved).papers()
    for name in before:
        if "publishable" in name:
            assert before[name] == after[name]
    assert (
        before["officer/26-1/confidential-annex.pdf"]
        != after["officer/26-1/confidential-annex.pdf"]
    )


def test_the_sheet_s_module_imports_nothing_private() -> None:
    for name in ("sheet", "asks", "document", "site_map"):
        path = Path(sheet_module.__file__).with_name(f"{name}.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module:
                assert not node.module.startswith(("eaveline.private", "eaveline.protect"))


def test_the_same_papers_on_another_day(town: Town, papers: Mapping[str, bytes]) -> None:
    later = town.papers(today=dt.date(2026, 12, 24))
    for name, data in papers.items():
        if not name.endswith((".csv", "applications.html")):  # both lists count the days left
            assert later[name] == data, name


def test_asks_follow_the_proposal_alone() -> None:
    twelve, none, unknown = asks(dwellings=12), asks(dwellings=0), asks(dwellings=None)
    assert "12 integral nest boxes" in twelve[3]
    assert "BS 42021:2022" in twelve[3]
    assert "At least 2 integral nest boxes" in none[3]
    assert "average of one integral box for each dwelling" in unknown[3]
    assert twelve[:3] == none[:3] == unknown[:3]


def test_no_paper_ever_says_there_are_no_birds(papers: Mapping[str, bytes]) -> None:
    for name, data in papers.items():
        if name.endswith(".html"):
            text = data.decode().casefold()
            assert "no birds" not in text
            assert "illegal to disturb" not in text


@pytest.mark.parametrize(
    ("nation", "words"),
    [
        (Nation.SCOTLAND, "as it applies in Scotland"),
        (Nation.WALES, "Planning Policy Wales"),
        (Nation.NORTHERN_IRELAND, "Wildlife (Northern Ireland) Order 1985"),
        (Nation.ENGLAND, "National Planning Policy Framework"),
    ],
)
def test_each_nation_s_sheet_has_its_own_law(town: Town, nation: Nation, words: str) -> None:
    made = publishable_sheet(
        application(shapely.Point(650150, 340044)),
        town.release,
        town.town.basemap,
        town.config.town.model_copy(update={"nation": nation}),
    )
    said = [item for block in made.blocks for item in block.items]
    assert [item for item in said if words in item]


def application(shape: BaseGeometry) -> Application:
    return Application("X/1", None, None, None, None, None, None, shape)


def test_squares_a_site_touches(town: Town) -> None:
    def ids(shape: BaseGeometry) -> list[str]:
        return [region.id for region in touched_regions(shape, town.release)]

    corner = town.release.regions[0].cells[0]
    east, north = corner.i * 100 + 100, corner.j * 100 + 100
    inside = shapely.Point(east - 50, north - 50)
    assert ids(inside) == [town.release.regions[0].id]
    # On the edge between two squares it touches both.
    assert len(ids(shapely.Point(east, north - 50))) == 2
    assert ids(shapely.Point(650_000 + 5_000, 340_000)) == []


def test_folders_are_safe_and_distinct() -> None:
    names = folder_names(pd.Series(["26/1", "26.1", "../..", "26/1"]))
    assert names == {"26/1": "26-1-2", "26.1": "26-1", "../..": "application"}


def test_the_map_is_to_scale() -> None:
    # 160 mm of paper at 1:2,500 are 400 m; at 1:1,250 200 m.
    assert map_scale(shapely.box(0, 0, 30, 30)) == 2_500
    assert map_scale(shapely.box(0, 0, 80, 20), around_m=20) == 1_250


def test_the_map_shows_no_mark_beyond_its_edge(town: Town) -> None:
    svg, scale = site_map(shapely.Point(650150, 340044), basemap=town.town.basemap)
    assert scale == 2_500
    assert 'viewBox="0 0 400.0' in svg
    assert ">100 m<" in svg
    assert ">N<" in svg


def test_the_list_says_what_comes_first(papers: Mapping[str, bytes]) -> None:
    lines = papers["officer/applications.csv"].decode("utf-8-sig").splitlines()
    assert lines[1].startswith("26/1,")
    assert ",20,on the site,papers written: check, sign, send" in lines[1].replace('"', "")
    assert lines[3].endswith("decided")


def test_without_applications_nothing_is_written(town: Town) -> None:
    assert replace(town, applications=town.applications.head(0)).papers() == {}


def test_northern_ireland_works_in_the_irish_grid(tmp_path: Path) -> None:
    """The small town lies at the same numbers of the Irish Grid, in its own letter square."""
    folder = write_town(
        tmp_path,
        {
            "nest_sites/ann.csv": "site,street,house,species,date,status,behaviour\n"
            "A21,Albert Road,21,swift,4/6/2026,in use,young\n",
            "planning/list.csv": "reference,received,easting,northing,site_wkt\n"
            "N/1,01/09/2026,,,SRID=29903;POINT (150041 340100)\n",
        },
    )
    for path in (folder / "survey_data").rglob("*"):
        if path.suffix in (".toml", ".geojson", ".csv"):
            text = path.read_text(encoding="utf-8")
            text = re.sub(r"\b650(\d{3})\b", r"150\1", text).replace("EPSG::27700", "EPSG::29903")
            text = text.replace('nation = "England"', 'nation = "Northern Ireland"')
            # Square G of the Irish Grid begins at easting 100000, northing 300000.
            path.write_text(text.replace("TG 502 402", "G 502 402"), encoding="utf-8")
    config = load_config(folder)
    gazetteer = load_gazetteer(folder, config)
    intake = pipeline.take_in_town(folder, gazetteer, today=TODAY)
    register, _ = pipeline.merge_town(intake, gazetteer, config)
    applications, register = pipeline.merge_planning(intake, register, config)
    release, _ = pipeline.protect_town(register, gazetteer, config)
    made = Town(folder, config, gazetteer, intake, register, release, applications).papers()
    annex = one_line(" ".join(pages(made["officer/N-1/confidential-annex.pdf"])))
    assert "150041 340100" in annex
    assert "EPSG:29903" in annex
    assert "Wildlife (Northern Ireland) Order 1985" in annex
