"""What placing a million records costs, beside the plain tools on the same machine.

Ratios within one run are what counts; see DEVELOPERS.md for how to read them.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from typing import TypeVar

import numpy as np
import pandas as pd
import pytest
from convertbng.cutil import convert_bng
from pytest_benchmark.fixture import BenchmarkFixture
from rapidfuzz.distance import OSA
from rapidfuzz.process import cdist

from eaveline.private.places.frame import TownFrame
from eaveline.private.places.locate import locate
from eaveline.private.places.street_names import street_key, street_words
from eaveline.private.places.streets import StreetMatcher

T = TypeVar("T")

ROWS = 1_000_000
TOWN = TownFrame("EPSG:27700", (648_000, 328_000, 652_000, 332_000))


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _once(benchmark: BenchmarkFixture, work: Callable[[], T]) -> T:
    found: T = benchmark.pedantic(work, rounds=1)  # type: ignore[no-untyped-call]  # has no types
    return found


def _median_s(benchmark: BenchmarkFixture) -> float:
    assert benchmark.stats is not None
    return float(benchmark.stats.stats.median)


@pytest.fixture(scope="module")
def five_thousand_names() -> list[str]:
    """Invented names of the length and likeness of real ones."""
    draw = random.Random(1)
    syllables = [
        "an",
        "el",
        "or",
        "win",
        "ber",
        "ton",
        "ham",
        "ley",
        "wick",
        "ford",
        "den",
        "mar",
        "hol",
        "ash",
        "bur",
        "sto",
        "wes",
        "nor",
        "kin",
    ]
    stems: set[str] = set()
    while len(stems) < 5_000:
        stems.add("".join(draw.choices(syllables, k=draw.randint(2, 4))).title())
    kinds = ["Road", "Street", "Avenue", "Close", "Lane", "Drive", "Crescent"]
    return [f"{stem} {draw.choice(kinds)}" for stem in sorted(stems)]


@pytest.fixture(scope="module")
def million_texts(five_thousand_names: list[str]) -> pd.Series[str]:
    """Seven in ten written rightly, a third of all with a house number."""
    draw = random.Random(2)
    distinct = []
    for _ in range(40_000):
        text = draw.choice(five_thousand_names)
        if draw.random() < 0.3:
            at = draw.randrange(len(text))
            text = text[:at] + draw.choice("abcdefghij") + text[at + draw.randint(0, 1) :]
        distinct.append(f"{draw.randint(1, 200)} {text}" if draw.random() < 0.3 else text)
    rows = np.random.default_rng(3).integers(0, len(distinct), ROWS)
    return pd.Series(np.array(distinct, dtype=object)[rows])


@pytest.mark.slow
def test_a_million_street_texts(
    benchmark: BenchmarkFixture, five_thousand_names: list[str], million_texts: pd.Series[str]
) -> None:
    matcher = StreetMatcher(five_thousand_names)

    def plain_tool() -> None:
        distinct = [text.casefold() for text in million_texts.unique()]
        names = [name.casefold() for name in five_thousand_names]
        for start in range(0, len(distinct), 4_000):
            some = distinct[start : start + 4_000]
            cdist(some, names, scorer=OSA.distance, dtype=np.uint8, workers=-1).argmin(axis=1)

    street_words.cache_clear()
    street_key.cache_clear()
    bare = _seconds(plain_tool)
    readings = _once(benchmark, lambda: matcher.read(list(million_texts.unique())))
    assert sum(reading.street is not None for reading in readings) > 0.97 * len(readings)
    if benchmark.enabled:
        ratio = _median_s(benchmark) / bare
        benchmark.extra_info["ratio to rapidfuzz on distinct texts"] = ratio
        assert ratio < 1.5


@pytest.mark.slow
def test_a_million_places(benchmark: BenchmarkFixture) -> None:
    draw = np.random.default_rng(4)
    east, north = draw.uniform(648_000, 652_000, ROWS), draw.uniform(328_000, 332_000, ROWS)
    kind = draw.integers(0, 3, ROWS)
    grid = np.full(ROWS, None, dtype=object)
    easting, northing = grid.copy(), grid.copy()
    for at in np.flatnonzero(kind < 2):
        unit, width = (100, 3) if kind[at] else (10, 4)
        e, n = int(east[at] - 600_000) // unit, int(north[at] - 300_000) // unit
        grid[at] = f"TG {e:0{width}d} {n:0{width}d}"
    for at in np.flatnonzero(kind == 2):
        easting[at], northing[at] = str(int(east[at])), str(int(north[at]))
    places = pd.DataFrame(
        {name: pd.Categorical(cells) for name, cells in
         (("grid_ref", grid), ("easting", easting), ("northing", northing))}
    )  # fmt: skip

    def run() -> pd.DataFrame:
        return locate(
            places, town=TOWN, streets=StreetMatcher([]), addresses=None, lines=None, slugs={}
        )

    table = _once(benchmark, run)
    assert table["problem"].isna().all()
    assert np.hypot(table["easting"] - east, table["northing"] - north).max() < 71.5
    if benchmark.enabled:
        bare = _seconds(
            lambda: [pd.to_numeric(pd.Series(easting)), convert_bng(east / 4e5, north / 7e3)]
        )
        benchmark.extra_info["ratio to bare number reading"] = _median_s(benchmark) / bare
