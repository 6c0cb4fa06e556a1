"""The public page of offers depends on published figures alone."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from eaveline import pipeline
from eaveline.config import load_config
from eaveline.gazetteer import load_gazetteer
from eaveline.public.records import release_to_json
from small_town import NEST_SITES, ordinary_records, write_town

TODAY = dt.date(2026, 11, 25)
PAGE = "site/offers/index.html"


def page_of(folder: Path, house: int) -> tuple[str, bytes]:
    """Return the release and the page of a town whose one more nest is at a house."""
    nest = f"Z1,Mill Lane,{house},,swift,2026,in use,young,,Ann Poole\n"
    write_town(folder, ordinary_records() | {"nest_sites/more.csv": NEST_SITES + nest})
    config = load_config(folder)
    town = load_gazetteer(folder, config)
    intake = pipeline.take_in_town(folder, town, today=TODAY)
    register, _ = pipeline.merge_town(intake, town, config)
    release, _ = pipeline.protect_town(register, town, config)
    pipeline.make_site(folder, release, config, out=folder / "made" / "site")
    return release_to_json(release), (folder / "made" / PAGE).read_bytes()


@pytest.mark.slow
def test_another_house_in_the_square_changes_not_one_byte(tmp_path: Path) -> None:
    first, page = page_of(tmp_path / "first", 31)
    second, same = page_of(tmp_path / "second", 33)
    assert first == second, "both houses are in one square, so the figures are the same"
    assert page == same
    assert b"Streets we would like to hear from" in page
    # A nest in another square does change the figures, so the test above can fail.
    elsewhere, _ = page_of(tmp_path / "third", 99)
    assert elsewhere != first
