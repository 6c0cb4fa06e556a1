"""The answer to a question about one place."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from click.testing import CliRunner

from eaveline import between_builds, cli
from eaveline.errors import InputError
from eaveline.papers.officer.answer import season_advice, to_text
from small_town import write_town


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_town(tmp_path_factory.mktemp("asked"))


def ask(folder: Path, place: str, *, today: dt.date = dt.date(2026, 11, 25)) -> str:
    return to_text(between_builds.ask_town(folder, place, today=today))


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


def test_a_corrected_spelling_is_told(folder: Path) -> None:
    assert "21 Albrt Road (read as 21 Albert Road)" in ask(folder, "21 Albrt Road")
    assert "read as" not in ask(folder, "21 Albert Road")


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


def test_what_may_be_off_may_be_here(tmp_path: Path) -> None:
    records = {
        "nest_sites/ann.csv": "site,grid_ref,species,season,status,behaviour,seen_by\n"
        # A reference of 100 m: its middle is 650650 340450, known to half the diagonal, 71 m.
        "V1,TG 506 404,swift,2026,in use,young,Ann Poole\n",
    }
    folder = write_town(tmp_path, records)
    # 40 m east of the middle, farther from it than a site reaches.
    text = ask(folder, "650690 340450")
    (line,) = lines_of(text, "perhaps here, 40 m")
    assert "V1" in line
    assert "Treat it as if it were." in text
    # 60 m from number 21 is a box with an address: both are known well, so it is not here.
    assert not lines_of(ask(write_town(tmp_path / "known"), "21 Albert Road"), "perhaps")


def test_parties_are_told_in_one_sentence(folder: Path) -> None:
    # The one party of 3 June 2026, seen by two people at 650055 340205; it is no place of a nest.
    text = " ".join(ask(folder, "650055 340205").split())
    assert "Within 100 m 1 screaming party was seen, in 2026; the last on 3 June 2026." in text


def test_lines_fit_a_terminal(folder: Path) -> None:
    lines = ask(folder, "Mill Lane").splitlines()
    longest = max((line for line in lines if not line.startswith("here")), key=len)
    assert 60 < len(longest) <= 100  # a row of the table next door; sentences are folded at 88
    assert max(len(line) for line in lines if line.startswith(("*", "  "))) <= 88
    assert not [line for line in lines if line != line.rstrip()]


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
