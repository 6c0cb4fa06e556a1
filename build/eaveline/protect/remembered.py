"""Reads and writes the small private tables that one build leaves for the next."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from pathlib import Path

import pandas as pd

from eaveline.protect.frozen import write_whole


def read_rows(path: Path, columns: Mapping[str, type]) -> pd.DataFrame:
    """Return the columns of a file; no rows if there is no such file or it is damaged.

    Parameters
    ----------
    path
        A CSV file as `write_rows` writes it.
    columns
        Each column's name and type: str, int or float (metres).
    """
    try:
        with path.open(encoding="utf-8", newline="") as file:
            rows = [
                [kind(row[name]) for name, kind in columns.items()] for row in csv.DictReader(file)
            ]
    except (OSError, ValueError, KeyError, TypeError):
        rows = []
    return pd.DataFrame(rows, columns=list(columns)).astype(dict(columns))


def write_rows(path: Path, table: pd.DataFrame) -> None:
    """Write a table in its own order, metres to the centimetre, all or nothing."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(table.columns)
    writer.writerows(
        [f"{value:.2f}" if isinstance(value, float) else value for value in row]
        for row in table.itertuples(index=False)
    )
    write_whole(path, out.getvalue())
