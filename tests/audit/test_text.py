"""Escapes, odd characters, accents."""

from __future__ import annotations

import html
from urllib.parse import quote

import pytest
from hypothesis import given
from hypothesis import strategies as st

from eaveline.audit.text import BREAK, decoded, folded, plain, readings


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("TG\u00a05011\u20093023", "TG 5011 3023"),
        ("ＴＧ５０１１３０２３", "TG50113023"),  # noqa: RUF001 - full-width on purpose
        ("Thr\u00adel\u200bkeld", "Threlkeld"),
        ("52º48\u203235\u2033", "52°48'35\""),
        ("17\u201319", "17-19"),
        ("1\u034f7 Al\U000e0020bert\ufe0f", "17 Albert"),
        ("1\ufe0f\u20e37\ufe0f\u20e3", "17"),
        (f"a{BREAK}b", "a b"),
    ],
)
def test_odd_characters_become_plain_ones(written: str, read: str) -> None:
    assert plain(written) == read


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("17%20Albert%20Road", "17 Albert Road"),
        ("17%2520Albert%252520Road", "17 Albert Road"),
        ("17&#32;Albert&#x20;Road", "17 Albert Road"),
        ("&amp;lt;b&amp;gt;", "<b>"),
        (r"17\u0020Albert\x20Road", "17 Albert Road"),
        (r"17\u{20}Albert", "17 Albert"),
        (r"https:\/\/x.example", "https://x.example"),
    ],
)
def test_escapes_are_undone_layer_by_layer(written: str, read: str) -> None:
    assert decoded(written) == read


def test_style_sheets_have_escapes_of_their_own() -> None:
    assert decoded(r'content: "\31\37  Albert"', css=True) == 'content: "17 Albert"'


def test_half_a_surrogate_pair_can_still_be_written() -> None:
    assert decoded(r"\ud83d").encode("utf-8")


def test_a_plain_text_is_read_once() -> None:
    assert readings("swifts over the roofs") == ("swifts over the roofs",)


def test_accents_go_but_case_stays() -> None:
    assert folded("Zoë Ó Dálaigh") == "Zoe O Dalaigh"


def test_letters_of_other_scripts_are_read_as_those_they_look_like() -> None:
    assert folded("\u041cill L\u0430n\u0435") == "Mill Lane"  # Cyrillic
    assert folded("\u039cill Lan\u03bf") == "Mill Lano"  # Greek


@given(st.text(st.characters(codec="utf-8", categories=["L", "N", "Zs", "Po"]), max_size=40))
def test_any_text_is_found_again_after_three_layers(text: str) -> None:
    # Text that looks like an escape itself decodes further than it was encoded.
    if decoded(text) == text:
        assert decoded(html.escape(quote(quote(text)))) == text
