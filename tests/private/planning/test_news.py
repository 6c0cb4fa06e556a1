"""What is new among planning applications."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from eaveline.private.planning.news import News, Seen, look

LISTS = st.dictionaries(st.text(max_size=6), st.integers(0, 50), max_size=6)


def test_of_a_first_list_nothing_is_new() -> None:
    assert Seen({"26/1": 3}).news() == {}


def test_new_references_and_new_records_are_news() -> None:
    seen = Seen({"26/1": 3, "26/2": 0}).then({"26/1": 5, "26/2": 0, "26/3": 0})
    assert seen.news() == {"26/1": News.MORE_NEAR, "26/3": News.NEW}


def test_fewer_records_or_an_application_gone_are_no_news() -> None:
    assert Seen({"26/1": 3, "26/2": 0}).then({"26/1": 2}).news() == {}


def test_an_empty_list_before_makes_all_new() -> None:
    assert Seen({}).then({"26/1": 0}).news() == {"26/1": News.NEW}


@given(LISTS, LISTS)
def test_looking_again_at_the_same_list_changes_nothing(
    first: Mapping[str, int], second: Mapping[str, int]
) -> None:
    seen = Seen(first).then(second)
    again = seen.then(second)
    assert again.to_json() == seen.to_json()
    assert again.news() == seen.news()


@given(LISTS, LISTS)
def test_news_are_exactly_what_was_not_there(
    first: Mapping[str, int], second: Mapping[str, int]
) -> None:
    new = {name for name, news in Seen(second, first).news().items() if news is News.NEW}
    assert new == set(second) - set(first)


@given(LISTS, st.none() | LISTS)
def test_memory_comes_back(now: Mapping[str, int], before: Mapping[str, int] | None) -> None:
    seen = Seen(now, before)
    assert Seen.from_json(seen.to_json()) == seen


@pytest.mark.parametrize(
    "text", [b"", b"{", b"[]", b"null", b'{"now": {"a": "x"}, "before": null}']
)
def test_a_damaged_memory_is_none(text: bytes) -> None:
    assert Seen.from_json(text) is None


def test_records_count_up_to_100_m() -> None:
    applications = pd.DataFrame({"reference": ["26/1", "26/2"]}, index=[7, 8])
    # Bands: 0 on the site, 2 is 25 to 100 m, 3 is 100 to 500 m.
    hits = pd.DataFrame({"application": [7, 7, 7], "band": [0, 2, 3], "records": [1, 4, 90]})
    assert look(applications, hits, earlier=None).now == {"26/1": 5, "26/2": 0}


def test_it_shows_no_reference() -> None:
    assert repr(Seen({"26/1": 3})) == "<Seen: 1 applications>"
