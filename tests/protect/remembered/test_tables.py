"""What one build leaves for the next is read as it was written, or not at all."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from eaveline.protect.remembered.tables import read_rows, rehomed, write_rows

COLUMNS = {"street": str, "lot": int, "easting": float}


def test_rows_come_back(tmp_path: Path) -> None:
    table = pd.DataFrame(
        {"street": ["Mill Lane", "St Anne's, East"], "lot": [0, 12], "easting": [650_000.5, np.nan]}
    )
    path = tmp_path / "private" / "memory.csv"
    write_rows(path, table)
    assert path.read_text("utf-8") == (
        'street,lot,easting\nMill Lane,0,650000.50\n"St Anne\'s, East",12,\n'
    )
    pd.testing.assert_frame_equal(read_rows(path, COLUMNS), table)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "street,lot\nMill Lane,1\n",
        "street,lot,easting\nMill Lane,one,2\n",
        "street,lot,easting\nx\n",
    ],
)
def test_a_damaged_file_counts_as_none(tmp_path: Path, text: str) -> None:
    path = tmp_path / "memory.csv"
    path.write_text(text, encoding="utf-8")
    assert len(read_rows(path, COLUMNS)) == 0
    assert dict(read_rows(path, COLUMNS).dtypes.astype(str))["easting"] == "float64"
    assert len(read_rows(tmp_path / "none.csv", COLUMNS)) == 0


def test_a_building_that_is_not_known_to_have_moved_stays() -> None:
    table = pd.DataFrame({"e": [1.0, 2.0, np.nan], "n": [5.0, 6.0, np.nan]})
    homes = pd.DataFrame(
        {
            "building_easting": [2.0],
            "building_northing": [6.0],
            "easting": [20.0],
            "northing": [60.0],
        }
    )
    moved = rehomed(table, homes, ("e", "n"))
    expected = pd.DataFrame({"e": [1.0, 20.0, np.nan], "n": [5.0, 60.0, np.nan]})
    pd.testing.assert_frame_equal(moved, expected)
