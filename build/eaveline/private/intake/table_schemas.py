"""A Frictionless Table Schema for each folder of records, with a template that fits it.

Both are made from the definitions the checker itself uses. The schema describes the tidy
way to write each column; the checker takes many other spellings besides.
(Frictionless Data, Table Schema 1.0, https://specs.frictionlessdata.io/table-schema/)
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from eaveline.private.intake.dates import FIRST_YEAR
from eaveline.private.intake.schema import KINDS, Column, RecordKind, ValueType
from eaveline.private.intake.values import words_for

_TYPES: MappingProxyType[ValueType, Mapping[str, Any]] = MappingProxyType(
    {
        ValueType.DATE: {"type": "date", "format": "%d/%m/%Y"},
        ValueType.TIME: {"type": "time", "format": "%H:%M"},
        ValueType.SEASON: {"type": "year"},
        ValueType.COUNT: {"type": "integer"},
        ValueType.NUMBER: {"type": "number"},
        ValueType.MONEY: {"type": "number"},
        ValueType.YES_NO: {"type": "boolean", "trueValues": ["yes"], "falseValues": ["no"]},
    }
)
"""Every other type is a string."""

_EXAMPLES: MappingProxyType[str, Mapping[str, tuple[str, str]]] = MappingProxyType(
    {
        "sightings": {
            "date": ("03/06/2026", "14/06/2026"),
            "time": ("21:40", "20:55"),
            "grid_ref": ("TG 4994 2998", ""),
            "street": ("", "Market Place"),
            "house": ("", "1"),
            "species": ("swift", "house martin"),
            "behaviour": ("screaming party", "entering or leaving a nest"),
            "birds": ("6", "2"),
            "seen_by": ("A. Example", "B. Example"),
            "calls_playing": ("no", ""),
            "notes": ("", "under the gutter"),
        },
        "nest_sites": {
            "site": ("Market Place 1", "Market Place 2"),
            "street": ("Market Place", "Market Place"),
            "house": ("1", "2"),
            "species": ("swift", "house martin"),
            "position": ("left of the gable window", ""),
            "season": ("2026", ""),
            "date": ("", "14/06/2026"),
            "behaviour": ("young", ""),
            "nests": ("1", "3"),
            "status": ("in use", "quiet this season"),
            "share": ("no", ""),
            "seen_by": ("A. Example", "B. Example"),
        },
        "boxes": {
            "box": ("B1", "B2"),
            "street": ("Market Place", "Market Place"),
            "house": ("1", "3"),
            "fixed_on": ("01/03/2025", "15/04/2025"),
            "kind": ("wooden, outside", "brick, built in"),
            "cavities": ("2", "1"),
            "height_m": ("5.5", "6"),
            "facing": ("N", "NE"),
            "entrance_mm": ("28", "28"),
            "clear_drop_m": ("5", "5.5"),
            "share": ("no", ""),
            "cost": ("25", "31.50"),
        },
        "checks": {
            "box": ("B1", "B2"),
            "cavity": ("left", ""),
            "date": ("05/07/2026", "05/07/2026"),
            "seen": ("swift", "empty"),
            "stage": ("young", ""),
            "young": ("2", ""),
            "checked_by": ("A. Example", "A. Example"),
        },
        "watches": {
            "watch": ("W1", "W2"),
            "date": ("20/06/2026", "27/06/2026"),
            "start": ("20:30", "20:45"),
            "end": ("22:00", "22:15"),
            "watchers": ("A. Example", "B. Example"),
            "streets": ("Market Place; High Street", ""),
            "grid_ref": ("", "TG 4994 2998"),
            "weather": ("dry", "dry"),
            "wind_bft": ("2", "1"),
            "temp_c": ("17", "19.5"),
            "most_birds": ("0", "4"),
            "calls_playing": ("no", "no"),
        },
        "requests": {
            "asked_on": ("02/02/2026", ""),
            "street": ("Market Place", "Market Place"),
            "house": ("2", "3"),
            "eaves_height_m": ("6", "5.5"),
            "facing": ("N", "E"),
            "tenure": ("owner", "housing association"),
            "boxes": ("2", "3"),
            "promised": ("yes", ""),
            "offered_on": ("", "10/03/2026"),
            "accepted": ("", "yes"),
            "contact": ("C. Example", ""),
        },
        "planning": {
            "reference": ("26/00001/FUL", "26/00002/HOU"),
            "received": ("04/05/2026", "11/05/2026"),
            "comments_due": ("01/06/2026", "08/06/2026"),
            "grid_ref": ("TG 4994 2998", ""),
            "street": ("", "Market Place"),
            "house": ("", "3"),
            "proposal": ("Twelve dwellings", "New roof"),
            "work": ("new dwellings", "roof"),
            "dwellings": ("12", ""),
            "boxes_asked": ("12", "2"),
        },
        "decisions": {
            "first": ("rabcabcabcabca", "rabcabcabcabcb"),
            "second": ("rabcabcabcabcd", "rabcabcabcabce"),
            "decision": ("same", "different"),
            "decided_by": ("A. Example", "A. Example"),
            "why": ("one party, two watchers", "seen at once at both ends"),
        },
    }
)
"""Two rows for each folder; columns not named are left empty."""


def table_schema(kind: RecordKind) -> dict[str, Any]:
    """Return the Table Schema of a folder's files as a JSON object."""
    schema: dict[str, Any] = {
        "$schema": "https://specs.frictionlessdata.io/schemas/table-schema.json",
        "title": kind.about,
        "fields": [_field(column) for column in kind.columns],
        "missingValues": [""],
    }
    return schema


def _field(column: Column) -> dict[str, Any]:
    about = column.about.rstrip(".") + "."
    if column.unit:
        about += f" Unit: {column.unit}."
    constraints: dict[str, Any] = {}
    if column.required:
        constraints["required"] = True
    if column.low is not None:
        constraints["minimum"] = _limit(column, column.low)
    if column.high is not None:
        constraints["maximum"] = _limit(column, column.high)
    if column.type is ValueType.SEASON:
        constraints["minimum"] = FIRST_YEAR
    words = words_for(column.type)
    if words and column.type is not ValueType.YES_NO:
        constraints["enum"] = list(words)
    field: dict[str, Any] = {
        "name": column.name,
        **_TYPES.get(column.type, {"type": "string"}),
        "description": about,
    }
    return field | ({"constraints": constraints} if constraints else {})


def _limit(column: Column, limit: float) -> float:
    return int(limit) if column.type is ValueType.COUNT else limit


def template(kind: RecordKind) -> str:
    """Return a CSV of a folder's columns with two example rows."""
    examples = _EXAMPLES[kind.folder]
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(kind.names)
    for row in range(2):
        writer.writerow([examples.get(name, ("", ""))[row] for name in kind.names])
    return text.getvalue()


def schema_files() -> dict[str, bytes]:
    """Return the schema and the template of every folder by file name."""
    files: dict[str, bytes] = {}
    for folder, kind in KINDS.items():
        text = json.dumps(table_schema(kind), indent=2, ensure_ascii=False) + "\n"
        files[f"{folder}.schema.json"] = text.encode()
        files[f"{folder}.csv"] = template(kind).encode("utf-8-sig")
    return files
