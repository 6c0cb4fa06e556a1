"""Names in every order, without alarms for words that happen to be names."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from eaveline.audit.people import people_hits, people_of
from eaveline.audit.secrets import Secrets
from eaveline.audit.text import CELL
from leaks import town_secrets

EVERYBODY = people_of(town_secrets())


def _found(text: str, secrets: Secrets) -> bool:
    return bool(people_hits(text, people_of(secrets)))


@pytest.mark.parametrize(
    "text",
    [
        "Marguerite Threlkeld saw it",
        "MARGUERITE THRELKELD",
        "Marguerite\n  Threlkeld",
        "Marguerite A. Threlkeld",
        "Marguerite Anne Mary Threlkeld's watch",
        "Threlkeld, Marguerite",
        "threlkeld marguerite",
        "M. Threlkeld",
        "M Threlkeld",
        "M.A. Threlkeld",
        "Threlkeld, M.",
        "THRELKELD M",
        "Mrs Threlkeld",
        "Dr. Threlkeld",
        "marguerite.threlkeld",
        "marguerite_threlkeld82",
        "m.threlkeld",
        "photo-marguerite-threlkeld-2026.jpg",
        "?by=Marguerite+Threlkeld",
        'by "MargueriteThrelkeld"',
        f"Marguerite {CELL} Threlkeld",
        '"Marguerite" + " Threlkeld"',
        "Zoe O'Dowd",
        "Zoë ODowd",
        "z. o'dowd",
        "Jo Lark Pell",
        "Lark-Pell, J.",
        "Amos Mill",
        "A. Mill",
        "Mr Mill",
        "seen by A Mill",
        '"observer": "A Mill"',
    ],
)
def test_a_person_is_found_in_any_form(secrets: Secrets, text: str) -> None:
    assert _found(text, secrets)


@pytest.mark.parametrize(
    "text",
    [
        "Marguerite daisies",
        "the village of Threlkeld",
        "A Mill stood here",
        "at a mill; later Amos said",
        "A Mill Lane resident",
        "swifts' threlkeld",
        "the swift's Mill",
        "millamoss",
        "Amosite Mill",
        "Zoe and Dowd",
        "a lark, a pell",
        "Ottersley Swift and Martin Group",
    ],
)
def test_words_that_are_also_names_pass(secrets: Secrets, text: str) -> None:
    assert not _found(text, secrets)


def test_a_couple_in_one_cell_is_two_people() -> None:
    secrets = town_secrets(people=frozenset({"Ann & Bob Thorne"}))
    assert _found("Ann Thorne", secrets)
    assert _found("Bob Thorne", secrets)


def test_a_name_written_surname_first_is_turned_round() -> None:
    secrets = town_secrets(people=frozenset({"Thorne, Mr Bob"}))
    assert _found("B. Thorne", secrets)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("seen by Pat", True),
        ("thanks to Pat for the tea", True),
        ('"observer": "Pat"', True),
        ("<dd>Pat</dd>", True),
        ("street,Pat,swift", True),
        ("we pat the wall, Pat the wall", False),
        ("Pat, we said", False),
        ("Patrick", False),
    ],
)
def test_a_name_of_one_word_is_found_where_a_value_stands(text: str, *, found: bool) -> None:
    assert _found(text, town_secrets(people=frozenset({"Pat"}))) is found


def test_a_user_name_with_a_digit_is_found_anywhere() -> None:
    secrets = town_secrets(people=frozenset({"swifty82"}))
    assert _found("as swifty82 wrote", secrets)
    assert not _found("as swifty820 wrote", secrets)


@pytest.mark.parametrize(
    "name", ["anon", "A member", "town council grant", "Library staff", "Mill Lane", "Ottersley"]
)
def test_roles_or_public_names_are_nobody_s(name: str) -> None:
    assert not _found(f"seen by {name}.", town_secrets(people=frozenset({name})))


@pytest.mark.parametrize("name", ["Una Church", "Grant Parish", "May Green", "Bob Street"])
def test_a_name_that_is_a_common_word_is_still_a_name(name: str) -> None:
    assert _found(f"with {name}.", town_secrets(people=frozenset({name})))


def test_nobody_may_allow_a_person(secrets: Secrets) -> None:
    (hit,) = people_hits("Amos Mill", people_of(secrets))
    assert not hit.allowable


@given(
    st.sampled_from(["Marguerite Threlkeld", "Zoë O'Dowd", "Amos Mill", "Jo Lark-Pell"]),
    st.sampled_from([str.upper, str.lower, str.title, str.swapcase]),
    st.sampled_from([" ", "  ", "\n", "_", "-", ".", "+", "\u00a0"]),
)
def test_case_or_spacing_hides_nobody(name: str, change: object, gap: str) -> None:
    assert callable(change)
    assert people_hits(f"with {change(name).replace(' ', gap)} today", EVERYBODY)
