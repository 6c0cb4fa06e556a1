"""Whatever a file is like: no crash, every row accounted for, no silent repair."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Iterator
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from eaveline.config import load_config
from eaveline.errors import Problem
from eaveline.gazetteer import Gazetteer, load_gazetteer
from eaveline.papers.review import PROBLEM_TEXTS, REPAIR_TEXTS
from eaveline.private.intake.ledger import RowState
from eaveline.private.intake.take_in import Intake, take_in
from small_town import write_map
from taking import TODAY

from .ugly_files import GOOD, HEADINGS, OTHER, SIGHTING, UGLY_FILES, Ugly

LETTERS = {
    RowState.USED: "u",
    RowState.MERGED: "m",
    RowState.REPLACED: "r",
    RowState.FORGOTTEN: "f",
    RowState.HELD: "h",
}


@pytest.fixture(scope="module")
def town(tmp_path_factory: pytest.TempPathFactory) -> Gazetteer:
    folder = tmp_path_factory.mktemp("town")
    write_map(folder)
    return load_gazetteer(folder, load_config(folder))


def taken(folder: Path, town: Gazetteer, path: str, data: bytes) -> Intake:
    """Take in one file alone."""
    file = folder / path
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(data)
    return take_in(folder, locator=town.locate, today=TODAY, find_street=town.find_street)


def states(intake: Intake) -> str:
    return "".join(LETTERS[RowState(state)] for state in intake.ledger.rows["state"])


def first_values(intake: Intake, folder: str, names: Iterator[str]) -> dict[str, object]:
    row = intake.tables[folder].loc[0]
    values = {}
    for name in names:
        value = row[name]
        values[name] = value.date() if isinstance(value, pd.Timestamp) else value
    return values


@pytest.mark.parametrize("file", UGLY_FILES, ids=lambda file: file.title)
def test_each_file_ends_as_it_must(tmp_path: Path, town: Gazetteer, file: Ugly) -> None:
    intake = taken(tmp_path, town, file.path, file.data)
    assert states(intake) == file.states
    assert set(intake.faults["code"]) == file.codes
    assert set(intake.repairs["code"]) == file.repairs
    assert {notice.code for notice in intake.notices} == file.notices
    if file.values:  # noqa: PD011 - no table
        folder = file.path.partition("/")[0]
        assert first_values(intake, folder, iter(file.values)) == pytest.approx(dict(file.values))


def test_there_are_enough_files_and_kinds_of_fault() -> None:
    assert len({file.title for file in UGLY_FILES}) == len(UGLY_FILES) >= 150
    codes = {code for file in UGLY_FILES for code in file.codes | file.notices}
    assert len(codes) >= 40
    texts = {code: PROBLEM_TEXTS[code] for code in codes if code in PROBLEM_TEXTS}
    assert len({what for what, _ in texts.values()}) >= len(texts) - 1  # two say "No place"
    assert all(what.endswith(".") and step.endswith(".") for what, step in texts.values())


def test_every_code_that_can_arise_has_its_words() -> None:
    for file in UGLY_FILES:
        assert file.repairs <= set(REPAIR_TEXTS)
        assert file.codes <= set(PROBLEM_TEXTS)


def shown(problem: Problem) -> str:
    return f"{problem.what} {problem.next_step} {problem.column}"


def test_all_files_together_stop_no_build_and_messages_hold_no_cell(
    tmp_path: Path, town: Gazetteer
) -> None:
    for number, file in enumerate(UGLY_FILES):
        folder, _, stem = file.path.rpartition("/")
        path = tmp_path / folder / (f"{number}-{stem}" if folder else stem)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(file.data)
    intake = take_in(tmp_path, locator=town.locate, today=TODAY, find_street=town.find_street)
    rows = sum(len(file.states) for file in UGLY_FILES)
    assert sum(intake.ledger.counts().values()) == len(intake.ledger.rows) == rows
    texts = [shown(notice) for notice in intake.notices]
    texts += [" ".join(PROBLEM_TEXTS[code]) for code in set(intake.faults["code"])]
    private = ("Ann Poole", "Bob Tarn", "5005", "4020", "650055", "Nowhere Street", "21 Albert")
    assert not [text for text in texts for word in private if word in text]


CELLS = st.one_of(
    st.sampled_from([*SIGHTING.values(), "", "?", "Total", "6-8", "31/6/26", "21 Albert Rd", '"']),
    st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=12),
)


@given(
    grid=st.lists(st.lists(CELLS, min_size=5, max_size=9), max_size=6),
    above=st.lists(st.lists(CELLS, max_size=3), max_size=2),
    separator=st.sampled_from([",", ";", "\t", "|"]),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le"]),
    line_end=st.sampled_from(["\n", "\r\n", "\r"]),
)
@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_made_up_files_upset_nothing_and_lose_nothing(
    tmp_path_factory: pytest.TempPathFactory,
    town: Gazetteer,
    *,
    grid: list[list[str]],
    above: list[list[str]],
    separator: str,
    encoding: str,
    line_end: str,
) -> None:
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=separator, lineterminator=line_end)
    writer.writerows([*above, HEADINGS.split(","), *grid])
    intake = taken(
        tmp_path_factory.mktemp("files"),
        town,
        "sightings/a.csv",
        out.getvalue().encode(encoding, errors="ignore"),
    )
    rows = intake.ledger.rows
    assert sum(intake.ledger.counts().values()) == len(rows)
    held = set(rows.index[rows["state"] == RowState.HELD.value])
    assert held <= set(intake.faults["row_id"])
    # A row in use says what its cells say: no value stands where a fault was found.
    assert not held & set(intake.tables["sightings"].index)


@given(
    count=st.integers(1, 40),
    form=st.sampled_from(
        ["{n}", "about {n}", "{n}+", "{n}-{m}", "{n} birds", "{n}ish", "c. {n}", "{n} or {m}"]
    ),
)
@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_an_inexact_count_is_never_taken_in_silence(
    tmp_path_factory: pytest.TempPathFactory, town: Gazetteer, *, count: int, form: str
) -> None:
    written = form.format(n=count, m=count + 3)
    row = GOOD.replace(",6,", f",{written},")
    folder = tmp_path_factory.mktemp("files")
    intake = taken(folder, town, "sightings/a.csv", f"{HEADINGS}\n{row}\n{OTHER}\n".encode())
    assert intake.tables["sightings"].loc[0, "birds"] == count
    exact = form in {"{n}", "{n} birds"}
    assert (len(intake.repairs) == 0) == exact


@given(day=st.dates(dt.date(2020, 5, 1), dt.date(2025, 8, 31)), form=st.integers(0, 4))
@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_a_date_day_first_is_read_or_held_never_turned(
    tmp_path_factory: pytest.TempPathFactory, town: Gazetteer, *, day: dt.date, form: int
) -> None:
    written = (
        f"{day:%d/%m/%Y}",
        f"{day.day}.{day.month}.{day:%y}",
        f"{day:%d %B %Y}",
        day.isoformat(),
        f"{day:%a %d %b %y}",
    )[form]
    row = GOOD.replace(SIGHTING["date"], written)
    folder = tmp_path_factory.mktemp("files")
    intake = taken(folder, town, "sightings/a.csv", f"{HEADINGS}\n{row}\n".encode())
    used = intake.tables["sightings"]
    season = day.month in range(3, 11)
    assert [value.date() for value in used["date"]] == ([day] if season else [])
