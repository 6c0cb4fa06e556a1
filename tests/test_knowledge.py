"""What the audit is told to look for, and of the group's own pages."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from eaveline import pipeline
from eaveline.audit.addresses import address_hits
from eaveline.audit.houses import addresses_of
from eaveline.config import load_config
from eaveline.knowledge import audit_knowledge, content_sources
from small_town import NEST_SITES, write_town

BUILT = {
    "index.html": "pages/home.md",
    "about-us/index.html": "pages/About us.md",
    "uber-mauersegler/index.html": "pages/more/Über Mauersegler.md",
    "joining/index.html": "pages/0.md",
    "news/2026-05-09-they-re-back/index.html": "news/2026-05-09 They're back.md",
    "images/up.jpg": "images/up.jpg",
    # Made from figures, whatever they are called.
    "streets/about-us/index.html": None,
    "news/index.html": None,
    "map/index.html": None,
    "images/map.png": None,
}


@pytest.mark.parametrize(
    "cells", ["Mill Lane,188,", "188 Mill Lane,,", '"Flat 2, 188 Mill Lane",,', ",188 Mill Lane,"]
)
def test_an_address_is_looked_for_however_its_row_writes_it(tmp_path: Path, cells: str) -> None:
    # Number 188 is in no list of the town, so the row alone tells of it.
    write_town(tmp_path, {"nest_sites/a.csv": f"{NEST_SITES}S1,{cells}swift,2026,in use,,,\n"})
    intake, town = pipeline.check_town(tmp_path, today=dt.date(2026, 11, 25))
    secrets = audit_knowledge(intake, town, load_config(tmp_path)).secrets
    looked_for = addresses_of(secrets)
    assert address_hits("The nest at 188 Mill Lane is in use.", looked_for)
    assert not address_hits("The nest at 198 Mill Lane is in use.", looked_for)


def test_each_page_of_the_groups_own_is_known_by_its_file(tmp_path: Path) -> None:
    site, content = tmp_path / "site", tmp_path / "content"
    for name, source in BUILT.items():
        for path in [site / name] + ([content / source] if source else []):
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text("Slug: joining\n" if path.name == "0.md" else "Title: x\n")
    sources = {name: source.name for name, source in content_sources(site, content).items()}
    assert sources == {name: f"content/{source}" for name, source in BUILT.items() if source}
