"""The audit knows a card that the release draws from any other picture."""

from __future__ import annotations

import datetime as dt
import io
import shutil
from pathlib import Path

import pytest
from PIL import Image

from eaveline import between_builds, pipeline
from small_town import TOWN_TOML, write_town

TODAY = dt.date(2026, 11, 25)


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a built town whose site has an address, and so has cards."""
    folder = write_town(tmp_path_factory.mktemp("cards"))
    (folder / "survey_data" / "town.toml").write_text(
        TOWN_TOML.replace("invented", 'site_url = "https://birds.example"\ninvented'),
        encoding="utf-8",
    )
    pipeline.build_town(folder, today=TODAY)
    return folder


def rules_after(town: Path, card: bytes) -> set[str]:
    (town / "site" / "cards" / "map.png").write_bytes(card)
    return {finding.rule for finding in between_builds.audit_town(town, today=TODAY).findings}


def test_cards_need_nobodys_look(built: Path) -> None:
    # Building has passed the audit already; this is the verb by itself.
    assert between_builds.audit_town(built, today=TODAY).passed
    assert len(list((built / "site" / "cards").glob("*.png"))) == 7


def test_a_changed_card_is_a_picture_like_any_other(built: Path, tmp_path: Path) -> None:
    town = Path(shutil.copytree(built, tmp_path / "town"))
    card = town / "site" / "cards" / "map.png"
    picture = Image.open(card).convert("RGB")
    picture.putpixel((600, 300), (1, 2, 3))
    out = io.BytesIO()
    picture.save(out, format="PNG")
    assert rules_after(town, out.getvalue()) == {"new-photograph"}


def test_what_is_hidden_in_a_card_is_found(built: Path, tmp_path: Path) -> None:
    town = Path(shutil.copytree(built, tmp_path / "town"))
    card = (town / "site" / "cards" / "map.png").read_bytes()
    assert {"new-photograph", "image-metadata"} <= rules_after(town, card + b"Ann Poole")


def test_cards_with_other_words_are_unknown(built: Path, tmp_path: Path) -> None:
    town = Path(shutil.copytree(built, tmp_path / "town"))
    settings = town / "survey_data" / "town.toml"
    settings.write_text(
        settings.read_text("utf-8").replace("Little Ottersley Swift Group", "Another Group"),
        encoding="utf-8",
    )
    findings = between_builds.audit_town(town, today=TODAY).findings
    # Of the seven, only the home page's names the group.
    assert [(finding.rule, finding.file) for finding in findings] == [
        ("new-photograph", "cards/home.png")
    ]
