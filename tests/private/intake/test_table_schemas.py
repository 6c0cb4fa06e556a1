"""What is published about the tables holds, by the word of an outside checker and of ours."""

from __future__ import annotations

import csv
import io
import json
import shutil
from pathlib import Path

import frictionless
import pytest

from eaveline.config import load_config
from eaveline.gazetteer import load_gazetteer
from eaveline.private.intake.ledger import RowState
from eaveline.private.intake.schema import KINDS
from eaveline.private.intake.table_schemas import schema_files, table_schema, template
from eaveline.private.intake.take_in import take_in
from taking import TODAY

DEMO = Path(__file__).resolve().parents[3] / "survey_data"


@pytest.mark.parametrize("folder", KINDS)
def test_the_schema_is_one_and_its_template_fits(tmp_path: Path, folder: str) -> None:
    files = schema_files()
    (tmp_path / f"{folder}.csv").write_bytes(files[f"{folder}.csv"])
    schema = frictionless.Schema.from_descriptor(json.loads(files[f"{folder}.schema.json"]))
    assert schema.field_names == list(KINDS[folder].names)
    resource = frictionless.Resource(
        path=f"{folder}.csv", basepath=str(tmp_path), schema=schema, encoding="utf-8-sig"
    )
    report = frictionless.validate(resource)
    assert report.valid, report.flatten(["rowNumber", "fieldName", "type"])
    assert report.tasks[0].stats["rows"] == 2


@pytest.mark.parametrize(
    ("folder", "cells", "fault"),
    [
        ("sightings", {"birds": "0"}, "constraint-error"),
        ("sightings", {"species": "kestrel"}, "constraint-error"),
        ("sightings", {"date": ""}, "constraint-error"),
        ("sightings", {"date": "6/25/2026"}, "type-error"),
        ("sightings", {"calls_playing": "perhaps"}, "type-error"),
        ("boxes", {"height_m": "high"}, "type-error"),
    ],
)
def test_the_schema_turns_away_what_the_checker_holds(
    folder: str, cells: dict[str, str], fault: str
) -> None:
    row = next(csv.DictReader(io.StringIO(template(KINDS[folder])))) | cells
    resource = frictionless.Resource(
        data=[list(row), list(row.values())],
        schema=frictionless.Schema.from_descriptor(table_schema(KINDS[folder])),
    )
    report = frictionless.validate(resource)
    found = report.flatten(["fieldName", "type"])
    assert found == [[next(iter(cells)), fault]]


def test_every_template_row_is_used_by_the_demo_town(tmp_path: Path) -> None:
    records = tmp_path / "survey_data"
    shutil.copytree(DEMO / "map", records / "map")
    shutil.copyfile(DEMO / "town.toml", records / "town.toml")
    for folder, kind in KINDS.items():
        (records / folder).mkdir()
        (records / folder / "template.csv").write_text(template(kind), encoding="utf-8")
    town = load_gazetteer(tmp_path, load_config(tmp_path))
    intake = take_in(records, locator=town.locate, today=TODAY, find_street=town.find_street)
    assert intake.notices == ()
    held = intake.ledger.rows[intake.ledger.rows["state"] == RowState.HELD.value]
    # The two decisions name no real rows.
    assert held["folder"].tolist() == ["decisions"] * 2
    assert len(intake.repairs) == 0
