"""Where a site may be handed over to."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from eaveline.errors import InputError
from eaveline.group.targets import publish_to_zip

DAY = dt.date(2026, 11, 25)


@pytest.fixture
def town(tmp_path: Path) -> Path:
    for name in ("site/index.html", "survey_data/town.toml"):
        path = tmp_path / "town" / name
        path.parent.mkdir(parents=True)
        path.write_text("x")
    return tmp_path / "town"


@pytest.mark.parametrize("place", ["site/site.zip", "site/data/x.zip", "survey_data/site.zip"])
def test_an_archive_is_not_put_among_the_site_or_the_records(town: Path, place: str) -> None:
    # In site/ it would be a file that the audit has not read, in survey_data/ a record.
    before = sorted(town.rglob("*"))
    with pytest.raises(InputError, match=r"\[publish-into-the-town\]"):
        publish_to_zip(town / "site", town / place, made_on=DAY)
    assert sorted(town.rglob("*")) == before


@pytest.mark.parametrize("place", ["site.zip", "to upload/site.zip"])
def test_an_archive_beside_the_site_is_well_placed(town: Path, place: str) -> None:
    assert publish_to_zip(town / "site", town / place, made_on=DAY) == 1
