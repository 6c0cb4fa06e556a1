"""A town with planning applications, taken as far as these."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from eaveline import pipeline
from eaveline.config import Config, load_config
from eaveline.gazetteer import Gazetteer, load_gazetteer
from eaveline.private.intake.take_in import Intake
from eaveline.private.register import Register
from small_town import ordinary_records, write_town

TODAY = dt.date(2026, 11, 25)
OUTLINE = "POLYGON ((650240 340040, 650300 340040, 650300 340100, 650240 340100, 650240 340040))"
HEADER = (
    "Reference,Date received,Consultation expiry,Address,Easting,Northing,wkt,Description,Works,"
    "Dwellings,Decision\n"
)
ROWS = (
    '26/00101/FUL,01/09/2026,15/12/2026,"21 Albert Road\nLittle Ottersley",,,,Re-roofing,roof,,\n'
    "26/00102/FUL,02/09/2026,20/12/2026,,650150,340200,,Twelve dwellings,new dwellings,12,\n"
    f'26/00103/FUL,03/10/2026,,,,,"{OUTLINE}",Demolition,demolition,0,Approved\n'
    f'26/00103/FUL,03/10/2026,,,,,"{OUTLINE}",Demolition,demolition,,\n'
)


@dataclass(frozen=True)
class Planned:
    """A town taken as far as its applications."""

    folder: Path
    config: Config
    town: Gazetteer
    intake: Intake
    register: Register
    applications: pd.DataFrame


def planned(folder: Path, rows: str = ROWS) -> Planned:
    """Write the town and read its applications."""
    write_town(folder, {**ordinary_records(), "planning/list.csv": HEADER + rows})
    config = load_config(folder)
    town = load_gazetteer(folder, config)
    intake = pipeline.take_in_town(folder, town, today=TODAY)
    register, _ = pipeline.merge_town(intake, town, config)
    applications, register = pipeline.merge_planning(intake, register, config)
    return Planned(folder, config, town, intake, register, applications)
