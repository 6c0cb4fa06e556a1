"""Reads applications from a map file: a council's GeoJSON, GeoPackage or shapefile."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import pandas as pd
import pyogrio
from pyogrio.errors import DataSourceError

from eaveline.private.intake.raw import RawFile, unusable
from eaveline.private.intake.read import Mappings, from_grid

_GRIDS: Final = (27700, 29903)


def read_site_file(path: Path, *, name: str, mappings: Mappings = ()) -> list[RawFile]:
    """Return the file's features as rows, their shapes as outlines in ``site_wkt``.

    Parameters
    ----------
    path
        Anything GDAL reads as vectors; its first layer counts.
    name
        The file's name below survey_data/, for messages.
    mappings
        The group's own meanings of headings.
    """
    try:
        table = pyogrio.read_dataframe(path)
    except (DataSourceError, ValueError):
        return [_unreadable(name)]
    headings = [str(column) for column in table.columns if column != "geometry"]
    rows = [
        [_text(cell) for cell in cells]
        for cells in table[headings].itertuples(index=False, name=None)
    ]
    return [
        from_grid(
            [
                [*headings, "site_wkt"],
                *([*row, wkt] for row, wkt in zip(rows, _outlines(table), strict=True)),
            ],
            folder="planning",
            name=name,
            mappings=mappings,
        )
    ]


def _outlines(table: pd.DataFrame) -> list[str]:
    """Return each shape as WKT with its system before it."""
    if "geometry" not in table:
        return [""] * len(table)
    shapes = table.geometry
    code = shapes.crs.to_epsg() if shapes.crs is not None else 4326
    if code not in (*_GRIDS, 4326):
        shapes, code = shapes.to_crs(4326), 4326
    return [
        "" if shape is None or shape.is_empty else f"SRID={code};{shape.wkt}" for shape in shapes
    ]


def _text(cell: object) -> str:
    if cell is None or cell is pd.NaT or (isinstance(cell, float) and cell != cell):  # noqa: PLR0124 - NaN is not itself
        return ""
    if isinstance(cell, pd.Timestamp):
        return cell.date().isoformat()
    return str(int(cell)) if isinstance(cell, float) and cell.is_integer() else str(cell)


def _unreadable(name: str) -> RawFile:
    return unusable(
        "planning",
        name,
        "site-file-unreadable",
        "The map file cannot be read, so its applications are missing.",
        "Export it again as GeoJSON or GeoPackage, or as CSV with a column site_wkt.",
    )
