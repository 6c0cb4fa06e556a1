"""HTML and XML, of which no character may go unread."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from eaveline.audit.fragments import Kind
from eaveline.audit.markup import has_house_column, markup_fragments
from eaveline.audit.text import CELL


def _texts(markup: str, kind: Kind) -> list[str]:
    return [f.text.strip(f" \n{CELL}") for f in markup_fragments(markup) if f.kind is kind]


def test_blocks_are_apart_and_inline_tags_are_read_both_ways() -> None:
    markup = "<p>17 <b>Al</b>bert Road</p><p>Next</p>"
    assert _texts(markup, Kind.TEXT) == ["17 Albert Road", "17 Al bert Road", "Next"]


def test_cells_stay_apart_in_one_row() -> None:
    markup = "<table><tr><td>Albert Road</td><td>17</td></tr><tr><td>Mill Lane</td></tr></table>"
    assert _texts(markup, Kind.TEXT) == [f"Albert Road {CELL} {CELL} 17", "Mill Lane"]


def test_a_table_of_houses_is_read_by_its_headings() -> None:
    markup = (
        "<table><tr><th>Street</th><th>House</th></tr>"
        "<tr><td>Albert Road</td><td>17</td></tr></table>"
    )
    assert f"Street: Albert Road {CELL} House: 17" in _texts(markup, Kind.DATA)


@pytest.mark.parametrize(
    ("headers", "expected"),
    [
        (["Street", "House"], True),
        (["house_number"], True),
        (["No."], True),
        (["Street", "Premises", "Houses", "Nests"], False),
        (["Notes", "Numbered"], False),
    ],
)
def test_a_column_of_counts_is_none_of_houses(headers: list[str], *, expected: bool) -> None:
    assert has_house_column(headers) is expected


def test_comments_scripts_styles_tags_each_come_out() -> None:
    markup = (
        '<!-- one --><script src="a.js">two()</script><style>three {}</style><img alt="four">'
        "<p>five"
    )
    assert _texts(markup, Kind.COMMENT) == ["one -->"]
    assert _texts(markup, Kind.SCRIPT) == ["two()"]
    assert _texts(markup, Kind.STYLE) == ["three {}"]
    assert _texts(markup, Kind.TAG) == ['<script src="a.js">', "<style>", '<img alt="four">']
    assert _texts(markup, Kind.TEXT) == ["five"]


def test_escaped_markup_is_read_as_what_it_shows() -> None:
    markup = "<description>&lt;p&gt;17 &lt;b&gt;Albert&lt;/b&gt; Road&lt;/p&gt;</description>"
    assert "17 Albert Road" in _texts(markup, Kind.TEXT)


def test_character_data_is_read_as_markup() -> None:
    assert "17 Albert Road" in _texts("<d><![CDATA[<p>17 <i>Albert</i> Road</p>]]></d>", Kind.TEXT)


def test_foreign_elements_name_their_text() -> None:
    (text,) = _texts("<rec><house>17</house><street>Albert Road</street></rec>", Kind.TEXT)
    assert "house: 17" in text
    assert "street: Albert Road" in text


def test_lines_are_counted_from_one() -> None:
    (fragment,) = markup_fragments("<p>\n\n</p>\n<p>here</p>")
    assert fragment.line == 4


WORDS = ("zebra", "quartz", "xylem", "jigsaw")
SYNTAX = ("<p>", "</p>", "<!--", "-->", "<![CDATA[", "]]>", "<script>", "</script>", '"', "'", ">",
          "<", "<a title=", "&", "<td>", "</tr>", "\n", "=")  # fmt: skip


@given(st.lists(st.sampled_from(WORDS + SYNTAX), max_size=30))
def test_no_word_of_malformed_markup_goes_unread(parts: list[str]) -> None:
    markup = " ".join(parts)
    read = " ".join(fragment.text for fragment in markup_fragments(markup))
    for word in WORDS:
        assert len(re.findall(word, read)) >= parts.count(word)


def test_an_unbalanced_quotation_mark_costs_no_time() -> None:
    markup = '<a title="x>' * 20_000
    assert sum(len(fragment.text) for fragment in markup_fragments(markup)) >= len(markup)


@pytest.mark.parametrize(
    ("below", "joined"),
    [
        ("<ul><li>No. 17</li></ul>", "Albert Road No. 17"),
        ("<ul><li>15 and 17</li></ul>", "Albert Road 15 and 17"),
        ("<p>17 - two pairs</p>", "Albert Road 17 - two pairs"),
        ("<p>The nest is at number 17.</p>", "Albert Road The nest is at number 17."),
        ("<p>17 swifts</p>", None),
        ("<p>In 2017 all was well.</p>", None),
        ("<h4>Mill Lane</h4><p>17</p>", "Mill Lane 17"),
    ],
)
def test_a_number_below_a_heading_is_read_with_it(below: str, joined: str | None) -> None:
    """As in '### Albert Road' with a list of houses."""
    found = _texts(f"<h3>Albert Road</h3>{below}", Kind.DATA)
    assert found == ([joined] if joined else [])
