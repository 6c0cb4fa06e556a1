"""Towns of a few cells, for property tests of the division into regions."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd
from hypothesis import strategies as st

from eaveline.protect.division.partition import cell_table
from eaveline.protect.division.regions import MapRule

Counts = dict[tuple[int, int], int]
"""Premises by cell; cells with none lie inside the boundary all the same."""

RULE = MapRule(minimum_premises=10, cell_size_m=100, crs="EPSG:27700")


def premises_table(counts: Counts) -> pd.DataFrame:
    """Return premises counts as `count_premises` does."""
    lived_in = sorted((cell, count) for cell, count in counts.items() if count)
    cells = np.array([cell for cell, _ in lived_in], dtype=np.int64).reshape(-1, 2)
    return cell_table(cells, np.array([count for _, count in lived_in], dtype=np.int64))


def cell_array(counts: Counts) -> npt.NDArray[np.int64]:
    """Return the town's cells, shape (n, 2)."""
    return np.array(sorted(counts), dtype=np.int64).reshape(-1, 2)


def towns_of_cells(*, largest: int = 30, most_cells: int = 40) -> st.SearchStrategy[Counts]:
    """Return towns within 12 by 12 cells, many of them empty or nearly."""
    cell = st.tuples(st.integers(6500, 6511), st.integers(3300, 3311))
    count = st.one_of(st.just(0), st.integers(0, 4), st.integers(0, largest))
    return st.dictionaries(cell, count, min_size=1, max_size=most_cells)
