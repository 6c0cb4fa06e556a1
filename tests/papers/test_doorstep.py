"""The doorstep papers of a small town: who is on them, why, and what must not be said."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from dataclasses import replace
from pathlib import Path

import pytest

from eaveline import group_papers, pipeline
from eaveline.config import Config, OfferQuota, Offers, Stock, load_config
from eaveline.gazetteer import Gazetteer, load_gazetteer
from eaveline.papers.doorstep import HEADINGS, cautions, say, why
from eaveline.private.intake.take_in import Intake
from eaveline.private.offers.calibration import Calibration, Slope, YearOfOffers
from eaveline.private.offers.proposal import Proposal
from eaveline.private.register import Register
from small_town import ordinary_records, write_town

TODAY = dt.date(2026, 11, 25)
REQUESTS = (
    "asked_on,street,house,eaves_height_m,facing,tenure,boxes,promised,offered_on,accepted,contact\n"
    "1/9/2026,Albert Road,40,6.5,N,council,,,,,Mrs Quill\n"
    "2/9/2026,Albert Road,60,3,N,,,,,,Mr Low\n"
    "3/9/2026,St Anne's Terrace,30,,,council,4,yes,,,Mrs Vow\n"
    ",Albert Road,22,,,,,,1/10/2026,no,Mr Nay\n"
)


class Town:
    """A town taken as far as its register."""

    def __init__(self, folder: Path) -> None:
        write_town(folder, ordinary_records() | {"requests/all.csv": REQUESTS})
        self.config: Config = load_config(folder)
        self.gazetteer: Gazetteer = load_gazetteer(folder, self.config)
        self.intake: Intake = pipeline.take_in_town(folder, self.gazetteer, today=TODAY)
        self.register: Register = pipeline.merge_town(self.intake, self.gazetteer, self.config)[0]

        self._usual = self._propose(self.config.offers)

    def _propose(self, offers: Offers, *, today: dt.date = TODAY) -> Proposal:
        config = self.config.model_copy(update={"offers": offers})
        found = group_papers.propose_offers(
            self.intake, self.register, self.gazetteer, config, today=today
        )
        assert found is not None
        return found

    def proposal(self, offers: Offers | None = None) -> Proposal:
        """Return the proposal, with other settings if given."""
        return self._usual if offers is None else self._propose(offers)

    def on(self, today: dt.date) -> Proposal:
        """Return what is proposed on another day."""
        return self._propose(self.config.offers, today=today)

    def papers(self, offers: Offers | None = None) -> dict[str, bytes]:
        """Return the papers by name."""
        return group_papers.offer_papers(self.proposal(offers), self.gazetteer, self.config)


@pytest.fixture(scope="module")
def town(tmp_path_factory: pytest.TempPathFactory) -> Town:
    return Town(tmp_path_factory.mktemp("doorstep"))


def lines(paper: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(paper.decode("utf-8-sig"))))


def test_nobody_knocks_where_people_asked_to_be_forgotten(town: Town, tmp_path: Path) -> None:
    first = lines(town.papers()["doorstep-list.csv"])[0]
    address = f"{first['house']} {first['street']}"
    survey_data = tmp_path / "survey_data"
    survey_data.mkdir()
    (survey_data / "forget.csv").write_text(f"forget,which\naddress,{address}\n", "utf-8")
    after = lines(Town(tmp_path).papers()["doorstep-list.csv"])
    assert after
    assert address not in {f"{line['house']} {line['street']}" for line in after}


def test_every_request_is_read(town: Town) -> None:
    assert len(town.intake.tables["requests"]) == 4


def test_promised_boxes_come_first_and_owners_who_cannot_are_left_out(town: Town) -> None:
    listed = lines(town.papers()["doorstep-list.csv"])
    assert tuple(listed[0]) == HEADINGS
    doors = [(line["street"], line["house"]) for line in listed]
    assert doors[0] == ("St Anne's Terrace", "30")
    assert (listed[0]["promised"], listed[0]["boxes"]) == ("yes", "4")
    assert ("Albert Road", "60") not in doors, "eaves of 3 m are too low"
    assert ("Albert Road", "22") not in doors, "the owner said no"
    assert sum(int(line["boxes"]) for line in listed if line["order"].isdigit()) <= 24


def test_each_line_says_why_and_carries_the_cautions(town: Town) -> None:
    for line in lines(town.papers()["doorstep-list.csv"]):
        assert line["why"].endswith(".")
        assert line["why"].count(".") == 1, "one sentence"
        assert "clear drop" in line["what_to_check"]
        assert all(caution in line["cautions"] for caution in cautions())
        words = line["cautions"].casefold()
        risks = ("ladder", "asbestos", "electricity", "listed", "bats")
        assert all(word in words for word in risks)


def test_what_is_said_at_the_door_gives_no_nest_away(town: Town) -> None:
    for row in town.proposal().doors.to_dict("records"):
        told = say(row)
        assert not re.search(r"\d+ m\b|nest|20\d\d", told)
        assert str(row["street"]) not in told
    reasons = [why(row) for row in town.proposal().doors.to_dict("records")]
    assert any("(2026)" in reason for reason in reasons)


def test_the_sheet_prints_and_maps_every_door(town: Town) -> None:
    proposal = town.proposal()
    page = town.papers()["doorstep-list.html"].decode()
    assert page.count("<circle") == len(proposal.doors)
    assert page.count('class="door"') == len(proposal.doors)
    assert "@media print" in page
    assert "Private: for" in page
    assert "<script" not in page
    assert "Mrs Quill" not in page
    for plan in ("The best plan", "Nearest to nests first", "Spread evenly"):
        assert plan in page


def test_the_best_plan_is_no_worse_than_the_others(town: Town) -> None:
    proposal = town.proposal()
    assert proposal.rivals
    assert all(proposal.best.expected >= rival.expected - 0.01 for rival in proposal.rivals)
    expected = [plan.expected for plan in proposal.curve]
    assert expected == sorted(expected)


def test_quotas_and_the_budget_are_kept(town: Town) -> None:
    offers = Offers(
        boxes=20,
        box_pounds=30,
        budget_pounds=420,
        quotas=(OfferQuota(name="council homes", tenure="Council", at_least=6),),
    )
    doors = town.proposal(offers).doors
    assert doors.loc[doors["tenure"] == "council", "lot"].sum() >= 6
    assert doors["lot"].sum() * 30 <= 420


def test_promises_beyond_the_stock_are_kept_and_told(town: Town) -> None:
    proposal = town.proposal(Offers(boxes=2))
    assert proposal.doors["lot"].tolist() == [4]
    assert [notice.code for notice in proposal.notices][:1] == ["offers-promised-too-much"]


def test_what_if_takes_the_place_of_the_stock(town: Town) -> None:
    config = town.config.with_stock(Stock(boxes=8))
    assert (config.offers.boxes, config.offers.budget_pounds) == (8, None)
    assert town.proposal(config.offers).best.boxes <= 8
    assert town.config.offers.boxes == 24


def test_the_order_of_rows_does_not_matter(town: Town) -> None:
    turned = replace(
        town.register,
        sightings=town.register.sightings.iloc[::-1],
        evidence=town.register.evidence.iloc[::-1],
        checks=town.register.checks.iloc[::-1],
        boxes=town.register.boxes.iloc[::-1],
    )
    again = group_papers.propose_offers(
        town.intake, turned, town.gazetteer, town.config, today=TODAY
    )
    assert again is not None
    assert again.doors["building"].tolist() == town.proposal().doors["building"].tolist()


def test_streets_to_watch_come_with_a_rota(town: Town) -> None:
    register = town.register
    unwatched = replace(
        register,
        watches=register.watches.iloc[:0],
        evidence=register.evidence.iloc[:0],
        sightings=register.sightings.iloc[:0],
    )
    proposal = group_papers.propose_offers(
        town.intake, unwatched, town.gazetteer, town.config, today=TODAY
    )
    assert proposal is not None
    papers = group_papers.offer_papers(proposal, town.gazetteer, town.config)
    streets = [line["street"] for line in lines(papers["watch-first.csv"])]
    rota = lines(papers["watch-rota.csv"])
    assert rota
    for line in rota:
        assert line["date"].startswith("2027-")
        assert line["start"] < line["sunset"]
        assert set(line["streets_in_walking_order"].split("; ")) <= set(streets)


def test_consent_is_told_once(town: Town) -> None:
    page = town.papers()["doorstep-list.html"].decode()
    assert page.count("isted building") == 1
    listed = lines(town.papers()["doorstep-list.csv"])
    assert listed[0]["cautions"].count("isted building") == 1


def test_who_was_promised_boxes_is_not_offered_them_again(town: Town) -> None:
    promised = town.proposal().doors.to_dict("records")[0]
    assert say(promised).startswith("We promised you 4 swift boxes and would like to look")


def test_expectations_are_whole_numbers_for_the_eye(town: Town) -> None:
    page = town.papers()["doorstep-list.html"].decode()
    expected = town.proposal().best.expected
    assert f"about {expected:.0f} of them may be in use" in page


def test_says_what_is_proved_only_where_the_search_stopped(town: Town) -> None:
    proposal = town.proposal()
    assert "Proving which plan" not in town.papers()["doorstep-list.html"].decode()
    stopped = replace(
        proposal, best=replace(proposal.best, choice=replace(proposal.best.choice, missing=0.0182))
    )
    page = group_papers.offer_papers(stopped, town.gazetteer, town.config)["doorstep-list.html"]
    assert "at least 98.1 in 100 parts of what the best could" in page.decode()


@pytest.mark.parametrize(
    ("slope", "told"),
    [
        (Slope(0.84, 0.42, 1.26), "Calibration slope 0.8 (likely between 0.4 and 1.3"),
        (Slope(0.84, -0.42, 2.1), "do not show yet whether the estimates tell places apart"),
        (None, "Too few boxes to say"),
    ],
)
def test_the_slope_has_its_interval(town: Town, slope: Slope | None, told: str) -> None:
    year = YearOfOffers(2025, None, None, boxes=40, expected=4.0, used=3)
    proposal = replace(town.proposal(), calibration=Calibration((year,), slope, 0.5))
    page = group_papers.offer_papers(proposal, town.gazetteer, town.config)["doorstep-list.html"]
    assert told in page.decode()


@pytest.mark.parametrize(
    ("today", "year"), [("2026-07-20", 2026), ("2026-11-25", 2027), ("2027-03-01", 2027)]
)
def test_evenings_are_in_the_next_season_from_today(town: Town, today: str, year: int) -> None:
    """The newest record is of early July: by November that summer is over."""
    assert town.register.newest == dt.date(2026, 7, 4)
    assert town.on(dt.date.fromisoformat(today)).year == year
