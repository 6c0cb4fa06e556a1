"""Small towns drawn by chance with a known truth, as the tables a register holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from eaveline.private.derive.box_seasons import BoxHistory, box_history


@dataclass(frozen=True)
class Drawn:
    """Boxes of one town, and how far each is from the nearest nest."""

    history: BoxHistory
    distance_m: np.ndarray


def drawn_boxes(
    seed: int, *, ratio: float, buildings: int = 80, seasons: int = 6, mood: float = 0.4
) -> Drawn:
    """Draw a town's boxes and checks.

    Buildings near nests have calls more often and are found sooner anyway, so that a plain
    comparison would mislead. A building's boxes share its luck.

    Parameters
    ----------
    ratio
        How many times as likely a box with calls is first used in a season.
    mood
        Spread of the buildings' own luck (of the logarithm).
    """
    rng = np.random.default_rng(seed)
    near = rng.random(buildings) < 0.5
    calls = rng.random(buildings) < np.where(near, 0.6, 0.25)
    luck = np.exp(rng.normal(-mood * mood / 2, mood, buildings))
    hazard = np.where(near, 0.16, 0.06) * luck * np.where(calls, ratio, 1.0)
    first = rng.integers(2019, 2019 + seasons - 1, buildings)
    boxes: list[tuple[str, int, int, pd.Timestamp, object]] = []
    checks = []
    for building in range(buildings):
        for number in range(int(rng.integers(1, 4))):
            title = f"b{building}-{number}"
            fitted = pd.Timestamp(int(first[building]), 3, 1)
            start = pd.Timestamp(int(first[building]), 5, 1) if calls[building] else pd.NaT
            boxes.append((title, 0, building, fitted, start))
            used = False
            for season in range(int(first[building]), 2019 + seasons):
                used = used or rng.random() < min(hazard[building], 0.9)
                checks.append((title, season, "swift" if used else "empty"))
    return Drawn(
        box_history(box_table(boxes), check_table(checks), NO_VISITS, newest=2019 + seasons - 1),
        np.where(near, 50.0, 300.0)[[building for _, _, building, *_ in sorted(boxes)]],
    )


def drawn_history(building: np.ndarray, used: np.ndarray) -> BoxHistory:
    """Return the history of boxes that were all checked in their one season."""
    fitted = pd.Timestamp(2026, 3, 1)
    titles = [f"b{number:04d}" for number in range(len(building))]
    rows = [
        (title, 0, int(home), fitted, pd.NaT) for title, home in zip(titles, building, strict=True)
    ]
    seen = [
        (title, 2026, "swift" if each else "empty")
        for title, each in zip(titles, used, strict=True)
    ]
    return box_history(box_table(rows), check_table(seen), NO_VISITS, newest=2026)


NO_VISITS = pd.DataFrame({"title": np.empty(0, dtype=object), "season": np.empty(0, dtype=int)})


def box_table(rows: Sequence[tuple[object, ...]]) -> pd.DataFrame:
    """Return merged boxes from title, standing, building, fixed_on, calls_from."""
    table = pd.DataFrame(rows, columns=["title", "standing", "building", "fixed_on", "calls_from"])
    return table.assign(
        box=table["title"],
        easting=650_000.0,
        northing=330_000.0,
        uncertainty_m=10.0,
        fixed_on=pd.to_datetime(table["fixed_on"]),
        removed_on=pd.Series(pd.NaT, index=table.index, dtype="datetime64[s]"),
        calls_from=pd.to_datetime(table["calls_from"]),
        calls_to=pd.Series(pd.NaT, index=table.index, dtype="datetime64[s]"),
        kind="box",
        height_m=6.0,
        facing="N",
        clear_drop_m=6.0,
        entrance_mm=28.0,
        cost=np.nan,
    )


def check_table(rows: Sequence[tuple[object, ...]]) -> pd.DataFrame:
    """Return merged checks from title, season, seen."""
    table = pd.DataFrame(rows, columns=["title", "season", "seen"])
    return table.assign(
        cavity="",
        date=pd.to_datetime([f"{season}-07-01" for season in table["season"]]),
        fledged=np.nan,
    )
