"""Compares joining rules on invented towns; run it to print the table for DEVELOPERS.md.

PYTHONPATH=build:tests python3 -m benchmarks.partition_table
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

import towns
from benchmarks import joining_rules
from eaveline.protect.division.joining import joined
from eaveline.protect.division.partition import Extent, count_premises, extent, numbered

Integers = npt.NDArray[np.int64]
JoiningRule = Callable[..., Integers]


def greedy(cells: Integers, premises: Integers, *, minimum_premises: int) -> Integers:
    """Join by least cost, without the improvement that follows it."""
    alone = np.arange(len(cells), dtype=np.int64)
    return numbered(joined(cells, premises, alone, minimum_premises=minimum_premises))


def chosen(cells: Integers, premises: Integers, *, minimum_premises: int) -> Integers:
    """Join by least cost and improve: what `eaveline.protect.division.partition` does."""
    alone = np.arange(len(cells), dtype=np.int64)
    return numbered(
        joined(cells, premises, alone, minimum_premises=minimum_premises, may_split=True)
    )


RULES: Final[dict[str, JoiningRule]] = {
    "nearest neighbour": joining_rules.nearest_neighbour,
    "space-filling curve": joining_rules.space_filling_curve,
    "least cost, greedy": greedy,
    "least cost, improved (chosen)": chosen,
}
MINIMA: Final = (5, 10, 20)


class Measured(NamedTuple):
    """One rule on one town."""

    form: str
    minimum: int
    rule: str
    extent: Extent
    blur: int
    """Premises times the cells their region's box is wider than one."""


def measured(points: towns.Points, *, form: str, minimum: int) -> Iterator[Measured]:
    """Yield what each rule makes of a town."""
    table = count_premises(pd.DataFrame(points, columns=["easting", "northing"]), cell_size_m=100)
    cells, premises = table[["cell_i", "cell_j"]].to_numpy(), table["premises"].to_numpy()
    for name, rule in RULES.items():
        division = table.assign(region=rule(cells, premises, minimum_premises=minimum))
        yield Measured(form, minimum, name, extent(division), _blur(division))


def _blur(table: pd.DataFrame) -> int:
    regions = table.groupby("region")
    wider = np.maximum(
        regions["cell_i"].max() - regions["cell_i"].min(),
        regions["cell_j"].max() - regions["cell_j"].min(),
    )
    return int((regions["premises"].sum() * wider).sum())


def every_town() -> Iterator[Measured]:
    """Yield each rule on each form of town and minimum count."""
    for form, draw in towns.FORMS.items():
        points = draw(1)
        for minimum in MINIMA:
            yield from measured(points, form=form, minimum=minimum)


def markdown(rows: Iterator[Measured]) -> str:
    """Return the comparison as a Markdown table; shares are of premises."""
    lines = [
        "| town (premises) | k | rule | single square | within 200 m | within 600 m | widest |",
        "|---|--:|---|--:|--:|--:|--:|",
    ]
    for row in rows:
        found = row.extent
        shares = (found.in_single_cells, found.within_2_cells, found.within_6_cells)
        lines.append(
            f"| {row.form} ({found.premises:,}) | {row.minimum} | {row.rule} | "
            + " | ".join(f"{share:.1%}" for share in shares)
            + f" | {found.widest_cells * 100:,} m |"
        )
    return "\n".join(lines)


if __name__ == "__main__":
    print(markdown(every_town()))  # noqa: T201 - a command that reports to the terminal
