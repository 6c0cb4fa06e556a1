"""What the group gets back to mend, and what becomes of it when it is sent again."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from eaveline.config import load_config
from eaveline.gazetteer import load_gazetteer
from eaveline.papers.review import review_papers
from eaveline.private.intake.ledger import RowState
from eaveline.private.intake.take_in import Intake, take_in
from eaveline.private.register import Register, build_register
from small_town import write_map
from taking import TODAY

HEAD = "Date,Time,Grid Ref,Bird,What doing,No. seen,Who,Moon\n"
GOOD = "3/6/2026,21:40,TG 5005 4020,swift,screaming party,6,Ann Poole,new\n"
BAD = "31/6/2026,21:40,TG 5005 4020,swift,screaming party,lots,Ann Poole,full\n"
NESTS = "site,street,house,grid_ref,species,season,status,behaviour\n"


class Group:
    """A group that sends files, builds, and reads its review papers."""

    def __init__(self, folder: Path) -> None:
        write_map(folder)
        self.records = folder / "survey_data"
        self.town = load_gazetteer(folder, load_config(folder))
        self.intake: Intake
        self.register: Register

    def send(self, name: str, text: str) -> None:
        path = self.records / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="")

    def papers(self) -> Mapping[str, bytes]:
        self.intake = take_in(
            self.records,
            locator=self.town.locate,
            today=TODAY,
            find_street=self.town.find_street,
        )
        self.register, merges = build_register(
            self.intake,
            premises=self.town.buildings,
            assign_building=self.town.assign_building,
            sun_times=self.town.sun_times,
            distance_m=150,
            minutes=5,
        )
        return review_papers(self.intake, self.register.ledger, merges)

    def paper(self, name: str) -> list[dict[str, str]]:
        text = self.papers()[f"review/{name}"].decode("utf-8-sig")
        return list(csv.DictReader(io.StringIO(text)))

    @property
    def states(self) -> dict[RowState, int]:
        return {state: n for state, n in self.register.ledger.counts().items() if n}


@pytest.fixture
def group(tmp_path: Path) -> Group:
    return Group(tmp_path)


def as_csv(rows: list[dict[str, str]]) -> str:
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def test_a_row_goes_round_until_it_is_right(group: Group) -> None:
    group.send("sightings/ann.csv", HEAD + GOOD + BAD)
    before = (group.records / "sightings" / "ann.csv").read_bytes()
    (row,) = group.paper("rows-to-fix.csv")
    assert (row["from_file"], row["from_row"]) == ("sightings/ann.csv", "3")
    assert row["wrong_column"] == "date; birds"
    assert (row["date"], row["birds"], row["other_cells"]) == ("31/6/2026", "lots", "Moon: full")

    # One fault is mended; the other comes back with its own reason, under the same key.
    group.send("corrections/one.csv", as_csv([row | {"date": "30/6/2026"}]))
    (again,) = group.paper("rows-to-fix.csv")
    assert again["key"] == row["key"]
    assert again["from_file"] == "corrections/one.csv"
    assert again["wrong_column"] == "birds"
    assert group.states == {RowState.USED: 1, RowState.REPLACED: 1, RowState.HELD: 1}

    group.send("corrections/two.csv", as_csv([again | {"birds": "9"}]))
    assert group.paper("rows-to-fix.csv") == []
    assert group.states == {RowState.USED: 2, RowState.REPLACED: 2}
    assert sorted(group.register.sightings["birds"]) == [6, 9]
    assert (group.records / "sightings" / "ann.csv").read_bytes() == before


def test_next_months_longer_copy_brings_only_what_is_new(group: Group) -> None:
    other = GOOD.replace("3/6", "4/6")
    group.send("sightings/2026-06.csv", HEAD + GOOD + other)
    third = GOOD.replace("3/6", "5/7")
    group.send("sightings/2026-07.csv", HEAD + GOOD + other.replace(",6,", ",16,") + third)
    (pair,) = group.paper("changed-rows.csv")
    assert (pair["column"], pair["first_cell"], pair["second_cell"]) == ("birds", "6", "16")
    assert (pair["first_file"], pair["first_row"]) == ("sightings/2026-06.csv", "3")
    assert (pair["second_file"], pair["second_row"]) == ("sightings/2026-07.csv", "3")
    assert group.states == {RowState.USED: 4, RowState.MERGED: 1}

    # The line is ready for decisions/.
    group.send("decisions/ann.csv", as_csv([pair | {"decision": "same"}]))
    group.papers()
    assert group.states == {RowState.USED: 4, RowState.MERGED: 2}  # the decision is used too
    assert sorted(group.register.sightings["birds"]) == [6, 6, 16]


def test_two_people_at_one_minute_are_no_changed_row(group: Group) -> None:
    group.send("sightings/ann.csv", HEAD + GOOD)
    group.send("sightings/bob.csv", HEAD + GOOD.replace("Ann Poole", "Bob Tarn"))
    assert group.paper("changed-rows.csv") == []


def test_an_address_a_square_and_the_third_house_along_are_one_site(group: Group) -> None:
    # House 21 of Albert Road stands at 650041, 340100: in the 1 m square TG 50041 40100.
    group.send(
        "nest_sites/a.csv",
        NESTS
        + "A21,Albert Road,21,,swift,2024,in use,\n"
        + ",,,TG 50041 40100,swift,2025,in use,young\n"
        + "A21,third house along Albert Road,,,swift,2026,in use,\n"
        + "A23,Albert Road,23,,swift,2026,in use,\n",
    )
    assert group.paper("rows-to-fix.csv") == []
    (made,) = group.paper("repairs.csv")
    assert "another row of the same name" in made["repair"]
    sites = group.register.sites
    assert len(sites) == 2
    seasons = group.register.evidence.groupby("site")["season"].apply(list)
    assert sorted(seasons) == [[2024, 2025, 2026], [2026]]


def test_a_place_only_told_is_held_where_no_name_gives_it(group: Group) -> None:
    group.send("nest_sites/a.csv", NESTS + ',"3rd house along, Mill Lane",,,swift,2026,in use,\n')
    (row,) = group.paper("rows-to-fix.csv")
    assert row["wrong_column"] == "street"
    assert row["perhaps"] == "Mill Lane"


def test_what_was_merged_says_how_far_apart_and_against_which_limits(group: Group) -> None:
    group.send("sightings/ann.csv", HEAD + GOOD)
    bob = GOOD.replace("Ann Poole", "Bob Tarn").replace("21:40", "21:43")
    group.send("sightings/bob.csv", HEAD + bob.replace("5005 4020", "5008 4024"))
    (line,) = group.paper("merged.csv")
    assert {line["file"], line["into_file"]} == {"sightings/ann.csv", "sightings/bob.csv"}
    assert float(line["metres_apart"]) == 50.0  # 30 m east, 40 m north
    assert float(line["limit_m"]) == pytest.approx(150 + 2 * 7.1, abs=0.1)
    assert (line["minutes_apart"], line["limit_minutes"]) == ("3.0", "5.0")
    # By hand: the root of the sum of squares of 50/164.1 and 3/5.
    assert float(line["part_of_limits"]) == pytest.approx(0.673, abs=0.001)


def test_doubtful_pairs_come_with_a_line_for_decisions_that_outlives_new_files(
    group: Group,
) -> None:
    group.send("sightings/ann.csv", HEAD + GOOD)
    bob = GOOD.replace("Ann Poole", "Bob Tarn").replace("21:40", "21:46")
    group.send("sightings/bob.csv", HEAD + bob)
    (pair,) = group.paper("worth-a-look.csv")
    group.send("decisions/ann.csv", as_csv([pair | {"decision": "same"}]))
    group.papers()
    assert len(group.register.sightings) == 1
    # Other names, other order, more rows: the keys come from what the rows say.
    (group.records / "sightings" / "bob.csv").unlink()
    group.send("sightings/aaa.csv", HEAD + GOOD.replace("3/6", "9/6") + bob)
    group.papers()
    assert len(group.register.sightings) == 2


def test_many_rows_make_papers_in_order(group: Group) -> None:
    rows = [BAD.replace("Ann", f"Ann{number}") for number in range(300)]
    group.send("sightings/ann.csv", HEAD + "".join(rows))
    lines = group.paper("rows-to-fix.csv")
    assert [int(line["from_row"]) for line in lines] == list(range(2, 302))
    keys = pd.Series([line["key"] for line in lines])
    assert keys.is_unique
    assert np.unique(keys.str.len()).tolist() == [14]
