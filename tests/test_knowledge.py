"""What the audit is told to look for."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from eaveline import pipeline
from eaveline.audit.addresses import address_hits, addresses_of
from eaveline.config import load_config
from eaveline.knowledge import audit_knowledge
from small_town import NEST_SITES, write_town


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
