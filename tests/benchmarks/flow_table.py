"""Measures the flow from files to release, phase by phase; run it to print the table.

PYTHONPATH=build:tests python3 -m benchmarks.flow_table

Each size runs in a process of its own, so that its peak memory is its own. Beside it run
the plain tools on the same rows: polars reading the same files with no check at all, and
scikit-learn's DBSCAN on the same points. Only ratios within one run are worth quoting.
"""

from __future__ import annotations

import datetime as dt
import json
import math
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Final, NamedTuple, TypeVar

from benchmarks.many_sightings import write_sightings

ROOT: Final = Path(__file__).resolve().parents[2]
SIZES: Final = (10_000, 100_000, 1_000_000)
PHASES: Final = ("read", "check", "locate", "merge", "release")
TODAY: Final = dt.date(2026, 11, 25)
Result = TypeVar("Result")


class Measured(NamedTuple):
    """One size: seconds for each phase, the plain tools' seconds, and memory."""

    rows: int
    seconds: dict[str, float]
    peak_mib: float
    polars_s: float
    dbscan_s: float

    @property
    def total_s(self) -> float:
        """Seconds from the first file to the release."""
        return sum(self.seconds.values())

    @property
    def reading_ratio(self) -> float:
        """Reading and checking against polars' bare read of the same files."""
        return (self.seconds["read"] + self.seconds["check"]) / self.polars_s

    @property
    def merging_ratio(self) -> float:
        """Merging against DBSCAN on the same points."""
        return self.seconds["merge"] / self.dbscan_s


def growth_exponent(small: Measured, large: Measured) -> float:
    """Return p where time grows as rows to the power of p."""
    return math.log(large.total_s / small.total_s) / math.log(large.rows / small.rows)


def write_town(folder: Path, *, rows: int) -> None:
    """Write the demo town's map and settings with `rows` sightings."""
    source, records = ROOT / "survey_data", folder / "survey_data"
    shutil.copytree(source / "map", records / "map", ignore=shutil.ignore_patterns("regions.csv"))
    shutil.copyfile(source / "town.toml", records / "town.toml")
    write_sightings(records, rows=rows, addresses=source / "map" / "addresses.csv")


def measure(rows: int) -> Measured:
    """Write a town, then run our flow on it and the plain tools, a process each."""
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary)
        write_town(folder, rows=rows)
        ours = _in_own_process("flow", folder)
        plain = _in_own_process("plain", folder)
    return Measured(
        rows,
        {phase: ours[phase] for phase in PHASES},
        ours["peak_mib"],
        plain["polars"],
        plain["dbscan"],
    )


def _in_own_process(what: str, folder: Path) -> dict[str, float]:
    paths = os.pathsep.join(str(ROOT / name) for name in ("build", "tests"))
    done = subprocess.run(
        [sys.executable, "-m", "benchmarks.flow_table", what, str(folder)],
        env=os.environ | {"PYTHONPATH": paths},
        check=True,
        capture_output=True,
        text=True,
    )
    found: dict[str, float] = json.loads(done.stdout)
    return found


def _flow(folder: Path) -> dict[str, float]:
    """Run the flow and return the seconds of each phase, with the peak memory."""
    from eaveline import pipeline  # noqa: PLC0415 - each process loads only its own tools
    from eaveline.config import load_config  # noqa: PLC0415
    from eaveline.gazetteer import load_gazetteer  # noqa: PLC0415
    from eaveline.private.intake.files import read_all  # noqa: PLC0415
    from eaveline.private.intake.take_in import settle  # noqa: PLC0415

    config = load_config(folder)
    town = load_gazetteer(folder, config)
    seconds = dict.fromkeys(PHASES, 0.0)
    clock = _Clock(seconds)
    files = clock.time("read", lambda: read_all(folder / "survey_data"))
    intake = clock.time(
        "check",
        lambda: settle(
            files,
            locator=lambda places: clock.time("locate", lambda: town.locate(places)),
            today=TODAY,
            find_street=town.find_street,
        ),
    )
    seconds["check"] -= seconds["locate"]
    register, _ = clock.time("merge", lambda: pipeline.merge_town(intake, town, config))
    clock.time("release", lambda: pipeline.protect_town(register, town, config))
    return {**seconds, "peak_mib": _peak_mib()}


class _Clock:
    """Adds the time that work takes to its phase."""

    def __init__(self, seconds: dict[str, float]) -> None:
        self._seconds = seconds

    def time(self, phase: str, work: Callable[[], Result]) -> Result:
        start = time.perf_counter()
        result = work()
        self._seconds[phase] += time.perf_counter() - start
        return result


def _peak_mib() -> float:
    """Return the most memory the process has held, or NaN where the system doesn't say."""
    try:
        import resource  # noqa: PLC0415 - not on Windows
    except ImportError:
        return math.nan
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / (1024 * 1024 if sys.platform == "darwin" else 1024)


def _plain(folder: Path) -> dict[str, float]:
    """Return the seconds that polars takes to read the files, and DBSCAN to cluster the points."""
    import numpy as np  # noqa: PLC0415
    import polars as pl  # noqa: PLC0415
    from sklearn.cluster import DBSCAN  # noqa: PLC0415

    paths = sorted((folder / "survey_data" / "sightings").glob("*.csv"))
    runs = []
    for _ in range(3):
        start = time.perf_counter()
        table = pl.concat([pl.read_csv(path, infer_schema=False) for path in paths])
        runs.append(time.perf_counter() - start)
    spots = table.filter(pl.col("grid_ref").is_not_null()).select(
        easting=pl.col("grid_ref").str.slice(3, 4).cast(pl.Float64) * 10,
        northing=pl.col("grid_ref").str.slice(8, 4).cast(pl.Float64) * 10,
        minute=(
            (pl.col("date") + " " + pl.col("time"))
            .str.to_datetime("%d/%m/%Y %H:%M")
            .dt.epoch("s")
            .cast(pl.Float64)
            / 60
        ),
    )
    scaled = spots.to_numpy() / np.array([150.0, 150.0, 10.0])
    # As many points as there are rows: those with an address stand where others stand.
    points = np.concatenate([scaled, scaled[: len(table) - len(scaled)]])
    start = time.perf_counter()
    DBSCAN(eps=1.0, min_samples=1).fit(points)
    return {"polars": sorted(runs)[1], "dbscan": time.perf_counter() - start}


def markdown(found: Iterable[Measured]) -> str:
    """Return the measurements as a Markdown table, with the growth from size to size."""
    lines = [
        "| rows | " + " | ".join(f"{phase}, s" for phase in PHASES) + " | all, s | peak, MiB |"
        " read and check / polars' bare read | merge / DBSCAN | growth exponent |",
        "|--:" * (len(PHASES) + 6) + "|",
    ]
    before: Measured | None = None
    for each in found:
        growth = f"{growth_exponent(before, each):.2f}" if before else ""
        lines.append(
            f"| {each.rows:,} | "
            + " | ".join(f"{each.seconds[phase]:.2f}" for phase in PHASES)
            + f" | {each.total_s:.2f} | {each.peak_mib:,.0f} | {each.reading_ratio:.1f}"
            f" | {each.merging_ratio:.2f} | {growth} |"
        )
        before = each
    return "\n".join(lines)


if __name__ == "__main__":
    match sys.argv[1:]:
        case []:
            print(markdown(measure(rows) for rows in SIZES))  # noqa: T201 - a command
        case [what, folder]:
            work = {"flow": _flow, "plain": _plain}[what]
            print(json.dumps(work(Path(folder))))  # noqa: T201 - read by the process above
