"""The town's own figures, worked out by hand from a town laid out for it."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from box_town import FIRST_COUNTS, everything
from eaveline import pipeline
from eaveline.config import Config, load_config
from eaveline.gazetteer import Gazetteer, load_gazetteer
from eaveline.private.register import Register
from eaveline.public.records import BoxCalls, CallsVerdict, PublicRelease, WeekOfParties
from small_town import write_town

TODAY = dt.date(2026, 11, 25)


class Town:
    """A town taken as far as its register."""

    def __init__(self, folder: Path, files: dict[str, str]) -> None:
        write_town(folder, files)
        self.config: Config = load_config(folder)
        self.town: Gazetteer = load_gazetteer(folder, self.config)
        intake = pipeline.take_in_town(folder, self.town, today=TODAY)
        self.register, _ = pipeline.merge_town(intake, self.town, self.config)

    def release(self, register: Register | None = None) -> PublicRelease:
        """Pass a register through the gate."""
        release, _ = pipeline.protect_town(register or self.register, self.town, self.config)
        return release


def replace_table(register: Register, name: str, table: pd.DataFrame) -> Register:
    changes: dict[str, Any] = {name: table}
    return replace(register, **changes)


@pytest.fixture(scope="module")
def town(tmp_path_factory: pytest.TempPathFactory) -> Town:
    return Town(tmp_path_factory.mktemp("boxes"), everything())


@pytest.fixture(scope="module")
def release(town: Town) -> PublicRelease:
    return town.release()


def test_calls_in_the_same_square_are_set_apart(release: PublicRelease) -> None:
    seasons = {season.season: season for season in release.town_seasons}
    first = seasons["2022"]
    assert (first.screaming_parties, first.parties_near_calls) == (1, 1)
    assert (first.weeks, first.median_daily_peak) == ((), None)
    newest = seasons["2026"]
    assert newest.parties_near_calls == 0
    assert newest.weeks == (
        WeekOfParties(monday=dt.date(2026, 6, 15), parties=3),
        WeekOfParties(monday=dt.date(2026, 6, 29), parties=1),
    )
    # The largest of 15 June is 9, of the 16th 4, of the 29th 7; the middle one is 7.
    assert (newest.days_with_parties, newest.median_daily_peak) == (3, 7)


def test_minutes_before_sunset(release: PublicRelease) -> None:
    """In mid June the sun sets at about 21:22 by the clock at 52.9 N, 1.7 E."""
    bands = release.town_figures.parties_by_sunset
    assert [(band.from_minutes, band.to_minutes, band.parties) for band in bands] == [
        (None, 120, 1),
        (120, 90, 0),
        (90, 60, 1),
        (60, 30, 0),
        (30, 0, 1),
        (0, None, 1),
    ]


def test_the_trend_put_in_comes_out(release: PublicRelease) -> None:
    trend = release.town_figures.trend
    assert trend is not None
    assert trend.squares == len(FIRST_COUNTS)
    assert (trend.first_season, trend.last_season) == ("2022", "2026")
    assert trend.percent == 50
    # Counts this exact leave Poisson's own error: 1/sqrt(sum of counts x variance of year), about
    # 0.045 by hand from some 370 birds and a variance of 1.4; Student's t with 18 adds 7%.
    half = math.log1p(trend.high / 100) - math.log(1.5)
    assert half == pytest.approx(0.085, abs=0.02)


def test_how_soon_boxes_are_used(release: PublicRelease) -> None:
    """28 buildings had their first box in 2022; four were used by 2024, in the band 3 to 5."""
    wait = release.town_figures.box_wait
    assert wait is not None
    assert (wait.seasons, wait.buildings, wait.used_at_least) == (3, 28, 3)


def test_one_building_that_joins_the_old_ones_waits_for_a_lot(town: Town) -> None:
    """Its three seasons are over this year: the figure less last year's would be about it alone."""
    boxes = town.register.boxes
    late = boxes["title"] == "o3"
    fixed = boxes["fixed_on"].mask(late, pd.Timestamp(2024, 3, 1))
    checks = town.register.checks
    checks = checks[(checks["title"] != "o3") | (checks["season"] >= 2024)]
    register = replace(town.register, boxes=boxes.assign(fixed_on=fixed), checks=checks)
    wait = town.release(register).town_figures.box_wait
    assert wait is not None
    assert wait.buildings == 27  # of 28 whose boxes have hung for three seasons


def test_a_bird_seen_going_in_adds_no_building_to_those_followed(town: Town) -> None:
    """Nobody was seen on a ladder there, so a building more would be that bird's."""
    register = town.register
    unchecked = replace(register, checks=register.checks[register.checks["title"] != "o28"])
    plain = town.release(unchecked).town_figures
    seen = pd.DataFrame({"title": ["o28"], "season": [2023]})
    visited = town.release(replace(unchecked, box_visits=seen)).town_figures
    assert plain.box_wait is not None
    assert plain.box_wait.buildings == 27
    assert visited.box_wait == plain.box_wait
    assert visited.box_calls == plain.box_calls
    assert plain.box_calls.buildings_without == 27


@pytest.mark.parametrize("seen", ["empty", "swift"])
def test_a_box_used_before_its_first_season_was_fitted_when_it_was(town: Town, seen: str) -> None:
    """Fitted in June 2022, it counts with those of 2023, also if swifts moved in that very July."""
    boxes, checks = town.register.boxes, town.register.checks
    late = boxes["title"] == "o3"
    that_july = (checks["title"] == "o3") & (checks["season"] == 2022)
    register = replace(
        town.register,
        boxes=boxes.assign(fixed_on=boxes["fixed_on"].mask(late, pd.Timestamp(2022, 6, 10))),
        checks=checks.assign(seen=checks["seen"].mask(that_july, seen)),
    )
    found = town.release(register).town_figures
    assert found.box_wait is not None
    assert found.box_wait.buildings == 27
    # Its calls began in May 2022, before its first season.
    assert (found.box_calls.buildings_with, found.box_calls.buildings_without) == (14, 28)


def test_calls_are_published_as_a_verdict(release: PublicRelease) -> None:
    assert release.town_figures.box_calls == BoxCalls(
        verdict=CallsVerdict.NO_CLEAR_DIFFERENCE, buildings_with=14, buildings_without=28
    )


def test_what_is_left_out_must_be_enough_too(town: Town) -> None:
    """With nine young boxes, the old ones' figure less the town's would tell of the nine."""
    boxes = town.register.boxes
    young = boxes.index[boxes["title"].str.startswith("y")]
    fewer = town.release(replace(town.register, boxes=boxes.drop(young[:5])))
    assert fewer.town_figures.box_wait is None
    enough = town.release(replace(town.register, boxes=boxes.drop(young[:4])))
    assert enough.town_figures.box_wait is not None


def test_no_count_goes_beyond_its_cap(town: Town) -> None:
    """If all are used, a third of the buildings is all that is said."""
    checks = town.register.checks.assign(seen="swift")
    full = town.release(replace(town.register, checks=checks))
    wait = full.town_figures.box_wait
    assert wait is not None
    assert wait.used_at_least <= wait.buildings // 3
    for season in full.town_seasons:
        assert season.box_use is not None
        assert season.box_use.used_at_least <= season.box_use.buildings_checked // 3


@pytest.mark.parametrize("table", ["boxes", "checks", "watches", "sightings"])
def test_the_order_of_rows_changes_nothing(town: Town, release: PublicRelease, table: str) -> None:
    register = town.register
    rows: pd.DataFrame = getattr(register, table)
    order = np.random.default_rng(1).permutation(len(rows))
    shuffled = replace_table(register, table, rows.iloc[order])
    assert town.release(shuffled) == release


@pytest.mark.parametrize("table", ["boxes", "checks", "watches", "sightings", "box_visits"])
def test_a_town_without(town: Town, table: str) -> None:
    register = town.register
    release = town.release(replace_table(register, table, getattr(register, table).iloc[:0]))
    figures = release.town_figures
    if table in ("boxes", "checks"):
        assert figures.box_wait is None
        assert figures.box_calls.verdict is CallsVerdict.TOO_FEW
    if table == "watches":
        assert figures.trend is None
    if table == "sightings":
        assert all(season.median_daily_peak is None for season in release.town_seasons)
        assert sum(band.parties for band in figures.parties_by_sunset) == 0
