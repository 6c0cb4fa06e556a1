"""The flow from files to release stays within its limits at a million rows.

The limits hold on two cores; `flow_table` prints what DEVELOPERS.md shows.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from benchmarks.flow_table import (
    PHASES,
    ROOT,
    Measured,
    growth_exponent,
    markdown,
    measure,
)
from benchmarks.many_sightings import write_sightings

ADDRESSES = ROOT / "survey_data" / "map" / "addresses.csv"


def test_the_same_seed_draws_the_same_sightings(tmp_path: Path) -> None:
    def digest(folder: Path, seed: int) -> str:
        write_sightings(folder, rows=1_000, addresses=ADDRESSES, seed=seed)
        files = sorted((folder / "sightings").glob("*.csv"))
        assert len(files) == 10
        return hashlib.sha256(b"".join(path.read_bytes() for path in files)).hexdigest()

    assert digest(tmp_path / "one", 1) == digest(tmp_path / "two", 1)
    assert digest(tmp_path / "one", 1) != digest(tmp_path / "three", 2)


def test_the_table_shows_ratios_and_growth() -> None:
    small = Measured(10, dict.fromkeys(PHASES, 1.0), 100.0, 0.5, 4.0)
    large = Measured(1_000, dict.fromkeys(PHASES, 10.0), 200.0, 5.0, 20.0)
    assert growth_exponent(small, large) == pytest.approx(0.5)  # a hundredfold in ten times
    last = markdown([small, large]).splitlines()[-1]
    assert last.startswith("| 1,000 | 10.00 |")
    assert last.endswith("| 50.00 | 200 | 4.0 | 0.50 | 0.50 |")


@pytest.mark.slow
def test_a_million_sightings(benchmark: BenchmarkFixture) -> None:
    if not benchmark.enabled:
        pytest.skip("measures only with --benchmark-enable")
    small = measure(100_000)
    large = benchmark.pedantic(lambda: measure(1_000_000), rounds=1)  # type: ignore[no-untyped-call]  # has no types
    benchmark.extra_info["table"] = markdown([small, large])
    assert large.reading_ratio < 8
    assert large.merging_ratio < 1
    assert large.total_s < 12
    assert not large.peak_mib > 1024  # NaN where the system doesn't say
    assert growth_exponent(small, large) <= 1.1
