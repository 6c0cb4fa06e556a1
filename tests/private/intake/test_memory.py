"""A reading that remembers the last one gives what a fresh reading gives."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from eaveline.private.intake import files
from eaveline.private.intake.memory import Memory
from eaveline.private.intake.read import read_file
from eaveline.private.intake.take_in import Intake, take_in
from taking import TODAY, locate_metres

HEAD = "date,time,easting,northing,species,behaviour,birds,seen_by\n"
ROWS = (
    "3/6/26,21:40,650100,330100,swift,screaming party,6,Ann\n",
    "4/6/26,21:40,650100,330100,swift,screaming party,6,Ann\n",
    "31/6/26,21:40,650100,330100,swift,screaming party,6,Bob\n",
    "5/6/26,21:40,,,swift,screaming party,6,Bob\n",
)


def assert_same(one: Intake, other: Intake) -> None:
    pd.testing.assert_frame_equal(one.ledger.rows, other.ledger.rows)
    pd.testing.assert_frame_equal(one.faults, other.faults)
    pd.testing.assert_frame_equal(one.repairs, other.repairs)
    assert set(one.tables) == set(other.tables)
    for folder, table in one.tables.items():
        pd.testing.assert_frame_equal(table, other.tables[folder])
    assert one.notices == other.notices


States = st.lists(
    st.dictionaries(
        st.sampled_from("abc"), st.lists(st.sampled_from(ROWS), max_size=4), min_size=1
    ),
    min_size=2,
    max_size=4,
)


@settings(max_examples=30, deadline=None)
@given(states=States)
def test_it_gives_what_a_fresh_reading_gives(
    tmp_path_factory: pytest.TempPathFactory, states: list[dict[str, list[str]]]
) -> None:
    folder = tmp_path_factory.mktemp("town")
    sightings = folder / "sightings"
    sightings.mkdir()
    memory = Memory()
    for state in states:
        for old in sightings.iterdir():
            old.unlink()
        for name, rows in state.items():
            (sightings / f"{name}.csv").write_text(HEAD + "".join(rows), encoding="utf-8")
        remembered = take_in(folder, locator=locate_metres, today=TODAY, memory=memory)
        assert_same(remembered, take_in(folder, locator=locate_metres, today=TODAY))


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Return the names of the files that are read from now on."""
    names: list[str] = []

    def noted(path: Path, *, folder: str, name: str, mappings: object) -> object:
        names.append(name)
        return read_file(path, folder=folder, name=name, mappings=mappings)  # type: ignore[arg-type]  # passed through

    monkeypatch.setattr(files, "read_file", noted)
    return names


def test_only_changed_files_are_read(tmp_path: Path, read: list[str]) -> None:
    folder = tmp_path / "sightings"
    folder.mkdir()
    for name in "ab":
        (folder / f"{name}.csv").write_text(HEAD + ROWS[0], encoding="utf-8")
    memory = Memory()
    take_in(tmp_path, locator=locate_metres, today=TODAY, memory=memory)
    assert read == ["sightings/a.csv", "sightings/b.csv"]
    (folder / "b.csv").write_text(HEAD + ROWS[1], encoding="utf-8")
    take_in(tmp_path, locator=locate_metres, today=TODAY, memory=memory)
    assert read[2:] == ["sightings/b.csv"]


def test_another_day_or_mapping_makes_it_read_everything(tmp_path: Path, read: list[str]) -> None:
    folder = tmp_path / "sightings"
    folder.mkdir()
    (folder / "a.csv").write_text(HEAD + ROWS[1], encoding="utf-8")
    memory = Memory()
    early = take_in(tmp_path, locator=locate_metres, today=dt.date(2026, 6, 3), memory=memory)
    assert early.faults["code"].tolist() == ["date-in-future"]
    late = take_in(tmp_path, locator=locate_metres, today=dt.date(2026, 6, 4), memory=memory)
    assert late.faults.empty
    assert len(read) == 2


def test_what_the_last_reading_did_not_need_is_forgotten() -> None:
    memory = Memory()
    made: list[str] = []

    def make() -> str:
        made.append("once")
        return "answer"

    for wanted in (True, True, False, True):
        memory.begin(under=None)
        if wanted:
            assert memory.recall("key", make) == "answer"
    assert len(made) == 2
    assert "answer" not in repr(memory)
