"""A town in Northern Ireland, end to end in the Irish Grid.

The small town is laid at the same figures of square G, which begins at easting 100000 and
northing 300000 of the Irish Grid (Ordnance Survey of Northern Ireland).
"""

from __future__ import annotations

import csv
import io
import json
import re
import zipfile
from pathlib import Path

import pyogrio
import pytest
from pypdf import PdfReader

from eaveline import between_builds, pipeline
from eaveline.papers.officer.answer import to_text
from eaveline.private.intake.ledger import RowState
from planned_town import HEADER, TODAY
from small_town import ordinary_records, write_town

LAW = "Wildlife (Northern Ireland) Order 1985"
APPLICATIONS = (
    HEADER
    + "N/1,01/09/2026,15/12/2026,,650041,340100,,Re-roofing,roof,,\n"
    + "N/2,02/09/2026,20/12/2026,,,,SRID=29903;POINT (650150 340044),Twelve dwellings,,12,\n"
)


@pytest.fixture(scope="module")
def town(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = write_town(
        tmp_path_factory.mktemp("irish"),
        {**ordinary_records(), "planning/list.csv": APPLICATIONS},
    )
    for path in (folder / "survey_data").rglob("*"):
        if path.suffix in (".toml", ".geojson", ".csv"):
            text = path.read_text(encoding="utf-8")
            text = re.sub(r"\b650(\d{3})\b", r"150\1", text).replace("EPSG::27700", "EPSG::29903")
            text = text.replace('nation = "England"', 'nation = "Northern Ireland"')
            path.write_text(re.sub(r"\bTG (\d+ \d+)", r"G \1", text), encoding="utf-8")
    (folder / "content/pages/law.md").write_text(
        "Title: The law\nSlug: the-law\nSummary: What it says.\nShow: law\n\nOf nests.\n",
        encoding="utf-8",
    )
    outcome = pipeline.build_town(folder, today=TODAY)
    # Irish references, points and outlines are all read.
    assert outcome.summary.states[RowState.HELD] == 0
    return folder


def test_downloads_for_map_programs_are_in_the_irish_grid(town: Path) -> None:
    assert json.loads((town / "site/data/release.json").read_text("utf-8"))["crs"] == "EPSG:29903"
    for file, layer in (
        ("site/data/colony.gpkg", "squares"),
        ("site/data/colony.gpkg", "consult_us"),
        ("private/register.gpkg", "nest_sites"),
    ):
        info = pyogrio.read_info(town / file, layer=layer, force_total_bounds=True)
        assert info["crs"] == "EPSG:29903"
        west, south, east, north = info["total_bounds"]
        assert 150_000 <= west < east <= 150_600
        assert 340_000 <= south < north <= 340_500


def test_the_archive_is_in_degrees(town: Path) -> None:
    with zipfile.ZipFile(town / "site/data/darwin-core.zip") as archive:
        rows = list(csv.DictReader(io.StringIO(archive.read("event.csv").decode())))
    # By hand: the grid's true origin, 53.5 N 8 W, is E 200000 N 250000. The town's middle is
    # 90.25 km north and 49.7 km west of it; a degree is 111.3 km, of longitude here 65.0 km.
    assert rows
    for row in rows:
        assert float(row["decimalLatitude"]) == pytest.approx(54.311, abs=0.01)
        assert float(row["decimalLongitude"]) == pytest.approx(-8.765, abs=0.01)


def test_papers_for_officers(town: Path) -> None:
    def text(name: str) -> str:
        reader = PdfReader(town / "private/officer" / name)
        return " ".join(" ".join(page.extract_text() for page in reader.pages).split())

    for reference in ("N-1", "N-2"):
        for paper in ("publishable", "confidential-annex"):
            said = text(f"{reference}/{paper}.pdf")
            assert LAW in said
            assert "Wildlife and Countryside Act 1981" not in said
            assert "EPSG:29903" in said
    # Number 21 of Albert Road.
    assert "150041 340100" in text("N-1/confidential-annex.pdf")
    listed = (town / "private/officer/applications.csv").read_text(encoding="utf-8-sig")
    assert listed.count("papers written") == 2


@pytest.mark.parametrize("place", ["21 Albert Road", "G 50041 40100", "150041 340100"])
def test_asking(town: Path, place: str) -> None:
    said = to_text(between_builds.ask_town(town, place, today=TODAY))
    assert [line for line in said.splitlines() if line.startswith("here") and "A21" in line]
    assert LAW in " ".join(said.split())


def test_the_site_says_which_grid_and_law(town: Path) -> None:
    pages = [path.read_text(encoding="utf-8") for path in (town / "site").rglob("*.html")]
    assert [text for text in pages if LAW in text]
    assert not [text for text in pages if "Wildlife and Countryside Act" in text]
