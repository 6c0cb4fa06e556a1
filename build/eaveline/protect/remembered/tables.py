"""Reads and writes the small private tables that one build leaves for the next."""

from __future__ import annotations

import csv
import math
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pandas as pd

from eaveline.protect.division.kept_tables import save_table


def read_rows(path: Path, columns: Mapping[str, type]) -> pd.DataFrame:
    """Return the columns of a file; no rows if there is no such file or it is damaged.

    Parameters
    ----------
    path
        A CSV file as `write_rows` writes it.
    columns
        Each column's name and type: str, int or float (metres; NaN where the cell is empty).
    """
    try:
        with path.open(encoding="utf-8", newline="") as file:
            rows = [
                [
                    math.nan if kind is float and not row[name] else kind(row[name])
                    for name, kind in columns.items()
                ]
                for row in csv.DictReader(file)
            ]
    except (OSError, ValueError, KeyError, TypeError, csv.Error):
        rows = []
    return pd.DataFrame(rows, columns=list(columns)).astype(dict(columns))


def write_rows(path: Path, table: pd.DataFrame) -> None:
    """Write a table in its own order, metres to the centimetre and NaN as nothing, whole or not."""
    save_table(
        path,
        [str(column) for column in table.columns],
        (
            [_metres(value) if isinstance(value, float) else value for value in row]
            for row in table.itertuples(index=False)
        ),
    )


def rehomed(table: pd.DataFrame, homes: pd.DataFrame, columns: tuple[str, str]) -> pd.DataFrame:
    """Return remembered rows at the points that their buildings have today.

    Parameters
    ----------
    table
        Rows with the point of a building.
    homes
        building_easting, building_northing (where buildings were), easting, northing (today).
    columns
        The names of the point's easting and northing in `table`.
    """
    was = table[list(columns)].set_axis(["building_easting", "building_northing"], axis=1)
    now = was.merge(homes, on=list(was.columns), how="left")[["easting", "northing"]]
    moved = now.notna().all(axis=1).to_numpy()
    return table.assign(
        **{
            column: np.where(moved, now[name], table[column])
            for column, name in zip(columns, now.columns, strict=True)
        }
    )


def _metres(value: float) -> str:
    return "" if math.isnan(value) else f"{value:.2f}"
