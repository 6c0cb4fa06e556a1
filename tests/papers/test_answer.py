"""The answer to a question about one place."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from click.testing import CliRunner

from eaveline import cli, pipeline
from eaveline.errors import InputError
from eaveline.papers.officer.answer import season_advice, to_text
from small_town import write_town


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_town(tmp_path_factory.mktemp("asked"))


def ask(folder: Path, place: str, *, today: dt.date = dt.date(2026, 11, 25)) -> str:
    return to_text(pipeline.ask_town(folder, place, today=today))


def lines_of(text: str, start: str) -> list[str]:
    return [line for line in text.splitlines() if line.startswith(start)]


@pytest.mark.parametrize("place", ["21 Albert Road", "Albert Rd 21", "650041 340100"])
def test_a_nest_is_found_by_any_name_of_its_place(folder: Path, place: str) -> None:
    text = ask(folder, place)
    here = lines_of(text, "here")
    assert len(here) == 2
    assert "A21" in here[0]
    assert "confirmed" in here[0]
    assert "4 June 2026, under 12 months" in here[0]


def test_neighbours_come_with_their_distance(folder: Path) -> None:
    # C1 stands at 650020 340041: 21 m west and 59 m south of number 21, 62.6 m away.
    (line,) = lines_of(ask(folder, "21 Albert Road"), "63 m")
    assert "C1" in line


def test_a_street_is_the_whole_street(folder: Path) -> None:
    here = lines_of(ask(folder, "Mill Lane"), "here")
    # Twelve boxes and the lost nest with its two seasons.
    assert len(here) == 14


def test_a_grid_reference_says_how_vague_it_is(folder: Path) -> None:
    # Half the diagonal of a 100 m square.
    assert "only to within 71 m" in ask(folder, "TG 501 401")


def test_silence_is_no_absence(folder: Path) -> None:
    text = ask(folder, "100 Albert Road")
    assert "No records are held within 100 m. No inference of absence can be drawn." in text


def test_an_unknown_place_is_refused(folder: Path) -> None:
    with pytest.raises(InputError) as caught:
        ask(folder, "4 Nowhere Street")
    assert caught.value.problems[0].code == "place-not-found"


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (dt.date(2026, 4, 14), "right time for works"),
        (dt.date(2026, 4, 15), "may be in use"),
        (dt.date(2026, 10, 15), "may be in use"),
        (dt.date(2026, 10, 16), "right time for works"),
    ],
)
def test_what_works_mean_depends_on_the_season(day: dt.date, words: str) -> None:
    assert words in " ".join(season_advice(day))


def test_nothing_is_written(folder: Path) -> None:
    before = sorted(path.name for path in folder.rglob("*"))
    ask(folder, "21 Albert Road")
    assert sorted(path.name for path in folder.rglob("*")) == before


def test_the_verb(folder: Path) -> None:
    done = CliRunner().invoke(cli.command, ["ask", "21 Albert Road", str(folder)])
    assert done.exit_code == 0
    assert "Wildlife and Countryside Act 1981" in done.output
    assert "birds@little-ottersley.example" in done.output
