"""The group's own figures: right words, and no crash, however little there is."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from pathlib import Path

import pandas as pd
import pytest

import box_town
from eaveline import group_papers, pipeline
from eaveline.config import load_config
from eaveline.gazetteer import load_gazetteer
from eaveline.papers.figures import figure_papers
from eaveline.papers.tables import to_csv
from small_town import BOXES, CHECKS, NEST_SITES, SIGHTINGS, WATCHES, ordinary_records, write_town

TODAY = dt.date(2026, 11, 25)


def papers(folder: Path, files: dict[str, str] | None = None) -> dict[str, bytes]:
    write_town(folder, files)
    config = load_config(folder)
    town = load_gazetteer(folder, config)
    intake = pipeline.take_in_town(folder, town, today=TODAY)
    register, merges = pipeline.merge_town(intake, town, config)
    return figure_papers(
        register,
        merges,
        intake,
        streets=group_papers.town_streets(town),
        town="Little Ottersley",
        group="The group",
        today=TODAY,
        addresses=None if town.addresses is None else town.addresses.buildings,
    )


def words(made: dict[str, bytes]) -> str:
    """Return the page's text in one line."""
    page = made["private-figures.html"].decode()
    page = re.sub(r"<style>.*?</style>", " ", page, flags=re.DOTALL)
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


def rows(made: dict[str, bytes], name: str) -> list[dict[str, str]]:
    text = made[f"figures/{name}"].decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text)))


ONE_BOX = BOXES + "B1,Mill Lane,3,1/3/2024,,\n"
SPARROWS = "".join(
    f"B{number},1/7/{year},house sparrow,Ann\n" for number in range(1, 13) for year in (2024, 2025)
)
BARE = {"sightings/a.csv": SIGHTINGS + "29/2/2024,21:00,TG 5005 4020,,,swift,high overhead,2,A,\n"}
EDGES = {
    "no record at all": {},
    "one sighting": {
        "sightings/a.csv": SIGHTINGS + "3/6/2025,21:40,TG 5005 4020,,,swift,screaming party,6,A,\n"
    },
    "a leap day": BARE,
    "one box, never checked": {"boxes/a.csv": ONE_BOX},
    "one box, not checked": {
        "boxes/a.csv": ONE_BOX,
        "checks/a.csv": CHECKS + "B1,1/7/2025,not checked,Ann\n",
    },
    "a box fitted after June": {
        "boxes/a.csv": BOXES + "B1,Mill Lane,3,20/7/2025,,\n",
        "checks/a.csv": CHECKS + "B1,1/8/2025,empty,Ann\n",
    },
    "a box fitted on a leap day": {
        "boxes/a.csv": BOXES + "B1,Mill Lane,3,29/2/2024,,\n",
        "checks/a.csv": CHECKS + "B1,1/7/2024,swift,Ann\n",
    },
    "all boxes taken by sparrows": {
        "boxes/a.csv": ordinary_records()["boxes/list.csv"],
        "checks/a.csv": CHECKS + SPARROWS,
    },
    "watches and nothing else": {
        "watches/a.csv": WATCHES + "20/6/2025,20:30,22:00,Albert Road,dry,Bob,0\n"
    },
    "no watches": {
        "nest_sites/a.csv": NEST_SITES + "N1,Mill Lane,7,,swift,2025,in use,young,,Bob\n",
        "boxes/a.csv": ONE_BOX,
    },
    "a season with no checks": {
        "boxes/a.csv": ONE_BOX,
        "checks/a.csv": CHECKS + "B1,1/7/2024,empty,Ann\nB1,1/7/2026,empty,Ann\n",
    },
    "a lost site": {"nest_sites/a.csv": NEST_SITES + "N1,Mill Lane,7,,swift,2025,lost,,,Bob\n"},
}


@pytest.mark.parametrize("edge", list(EDGES))
def test_however_little_there_is(edge: str, tmp_path: Path) -> None:
    made = papers(tmp_path, EDGES[edge])
    text = words(made)
    assert text.startswith(" Private figures: Little Ottersley Private: for The group only")
    assert not re.search(r"\bnan\b|\bNone\b|\binf\b|NaT", text)
    assert "Too few places have been watched in several seasons to say." in text
    assert "Too few buildings have boxes with calls, or without, to say" in text
    if edge != "all boxes taken by sparrows":
        assert "Too few boxes have been checked to say how many are used." in text


def test_all_boxes_taken_by_sparrows(tmp_path: Path) -> None:
    made = papers(tmp_path, EDGES["all boxes taken by sparrows"])
    # Twelve buildings of a box each: Wilson's interval for none of 12 ends at 24.2%.
    assert (
        "In 2025 swifts used 0 of 12 boxes checked: 0% (95% interval 0% to 24%). "
        "0 standing boxes were not checked."
    ) in words(made)
    assert "Fewer than half of the boxes are used so far: 0% by season 2." in words(made)
    swifts_first = [row["swifts_first"] for row in rows(made, "seasons-until-first-use.csv")]
    assert swifts_first == ["0", "0"]


def test_a_box_fitted_after_june_has_no_first_season(tmp_path: Path) -> None:
    made = papers(tmp_path, EDGES["a box fitted after June"])
    assert rows(made, "box-histories.csv")[0]["box"] == "B1"
    assert rows(made, "boxes-by-season.csv") == []


def test_a_season_with_no_checks_is_a_season_not_looked(tmp_path: Path) -> None:
    made = papers(tmp_path, EDGES["a season with no checks"])
    table = {row["season"]: row for row in rows(made, "boxes-by-season.csv")}
    assert [(table[year]["standing"], table[year]["checked"]) for year in table] == [
        ("1", "1"),
        ("1", "0"),
        ("1", "1"),
    ]
    assert table["2025"]["share"] == ""
    (history,) = rows(made, "box-histories.csv")
    assert (history["2024"], history["2025"], history["2026"]) == ("empty", "not checked", "empty")


def test_a_lost_site_without_a_cause(tmp_path: Path) -> None:
    (row,) = rows(papers(tmp_path, EDGES["a lost site"]), "sites-lost.csv")
    assert (row["name"], row["lost_in"], row["cause"]) == ("N1", "2025", "no cause noted")


def test_a_lost_site_with_its_cause_and_its_address(tmp_path: Path) -> None:
    """Two rows tell of one loss; the house is known, so its address stands beside its place."""
    head = "site,street,house,species,season,behaviour,status,why lost,notes\n"
    files = {
        "nest_sites/a.csv": head
        + "N1,Mill Lane,3,swift,2024,young,in use,,\n"
        + "N1,Mill Lane,3,swift,2025,,lost,new soffits,white plastic\n"
        + "N1,Mill Lane,3,swift,2025,,lost,eaves closed,\n"
    }
    (row,) = rows(papers(tmp_path, files), "sites-lost.csv")
    assert (row["cause"], row["notes"], row["lost_in"]) == ("eaves closed", "white plastic", "2025")
    assert row["address"] == "3 Mill Lane"


def test_the_ordinary_town(tmp_path: Path) -> None:
    """Boxes 4, 8 and 12 of twelve held swifts in both years; each house has one."""
    made = papers(tmp_path)
    table = {row["season"]: row for row in rows(made, "boxes-by-season.csv")}
    assert [(row["standing"], row["checked"], row["used"]) for row in table.values()] == [
        ("12", "0", "0"),
        ("12", "12", "3"),
        ("12", "12", "3"),
    ]
    assert "In 2026 swifts used 3 of 12 boxes checked: 25%" in words(made)
    evidence = {row["name"]: row for row in rows(made, "evidence.csv")}
    assert (evidence["A21"]["last_confirmed"], evidence["A21"]["weight"]) == ("2026", "1")
    assert (evidence["C1"]["last_confirmed"], evidence["C1"]["weight"]) == ("2025", "0.87")
    assert (evidence["M7"]["lost_in"], evidence["M7"]["weight"]) == ("2026", "0")
    assert rows(made, "costs.csv")[0] == {"what": "box", "number": "0", "pounds_each": ""}
    void = rows(made, "watches-void.csv")
    assert [row["why_not"] for row in void] == ["bad weather and no bird seen"]
    effort = {row["street"]: row for row in rows(made, "effort-by-street.csv")}
    assert set(effort) == {"Albert Road", "Church Street", "Mill Lane"}
    # Two watches of Albert Road, 460 m long, of one elevation not named: 60 of 920 m.
    assert (effort["Albert Road"]["watches"], effort["Albert Road"]["share"]) == ("2", "0.07")


def test_a_town_with_much_to_say(tmp_path: Path) -> None:
    made = papers(tmp_path, box_town.everything())
    text = words(made)
    assert "About +50% a year" in text
    assert "From the 28 boxes whose cost is known." in text
    costs = {row["what"]: row["pounds_each"] for row in rows(made, "costs.csv")}
    # 28 boxes at 40 pounds, of which 6 are used by 2026
    assert (costs["box"], costs["box used by swifts"]) == ("40", "186.67")
    calls = rows(made, "calls.csv")
    assert sum(int(row["boxes"]) for row in calls if row["with_calls"] == "yes") == 14
    assert made == papers(tmp_path / "again", box_town.everything())


def test_cells() -> None:

    table = pd.DataFrame(
        {"a": [1.0, None], "b": [pd.Timestamp("2024-02-29"), pd.NaT], "c": ["x,y", None]}
    )
    assert to_csv(table).decode("utf-8-sig") == 'a,b,c\r\n1,2024-02-29,"x,y"\r\n,,\r\n'
