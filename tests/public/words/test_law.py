"""Lines of law and policy."""

from __future__ import annotations

import datetime as dt

import pytest

from eaveline.public.records import Nation
from eaveline.public.words.law import nation_law, stale_lines, standards

LOOKED_UP = dt.date(2026, 11, 25)


@pytest.mark.parametrize("nation", list(Nation))
def test_every_nation_has_law_and_policy(nation: Nation) -> None:
    law = nation_law(nation)
    assert law.nest_law
    assert law.policy
    for line in (*law.nest_law, *law.policy):
        assert line.source
        assert line.checked_on <= dt.date(2030, 1, 1)


@pytest.mark.parametrize(
    ("nation", "words"),
    [
        (Nation.ENGLAND, "Wildlife and Countryside Act 1981"),
        (Nation.WALES, "Wildlife and Countryside Act 1981"),
        (Nation.SCOTLAND, "as it applies in Scotland"),
        (Nation.NORTHERN_IRELAND, "Wildlife (Northern Ireland) Order 1985"),
    ],
)
def test_each_nation_names_its_own_law(nation: Nation, words: str) -> None:
    assert words in nation_law(nation).nest_law[0].source


@pytest.mark.parametrize("nation", list(Nation))
def test_nobody_is_told_that_disturbing_is_an_offence(nation: Nation) -> None:
    # Offences of disturbance attach to Schedule 1, where neither bird is listed.
    law = nation_law(nation)
    assert not [line for line in (*law.nest_law, *law.policy) if "disturb" in line.text.casefold()]


def test_a_line_of_a_year_ago_is_fresh_and_an_older_one_is_not() -> None:
    law = nation_law(Nation.ENGLAND)
    assert not stale_lines(law, on=LOOKED_UP + dt.timedelta(days=365))
    old = stale_lines(law, on=LOOKED_UP + dt.timedelta(days=366))
    assert {problem.code for problem in old} == {"policy-line-old"}
    assert len(old) == len(law.nest_law) + len(law.policy) + 4


def test_standards_name_their_source() -> None:
    assert "one integral box for each dwelling" in standards().boxes_per_dwelling.text
    assert standards().boxes_per_dwelling.source == "BS 42021:2022"
