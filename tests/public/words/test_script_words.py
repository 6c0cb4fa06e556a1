"""Scripts get every form of a plural that the reader's language has, under CLDR's names."""

from __future__ import annotations

from pathlib import Path

from eaveline.messages import load_language, speaking
from eaveline.public.words.script_words import map_words, search_words

# Polish tells one, few and many apart among whole numbers (CLDR 46, cardinal rules for pl);
# "other" is for fractions alone, which no count of ours is.
POLISH = """\
msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\\n"
"Plural-Forms: nplurals=3; plural="
"(n==1 ? 0 : n%10>=2 && n%10<=4 && (n%100<12 || n%100>14) ? 1 : 2);\\n"

msgid "%(num)s found."
msgid_plural "%(num)s found."
msgstr[0] "Znaleziono %(num)s miejsce."
msgstr[1] "Znaleziono %(num)s miejsca."
msgstr[2] "Znaleziono %(num)s miejsc."
"""


def test_english_has_two_kinds_and_keeps_its_names() -> None:
    assert search_words()["found"] == {"one": "%(num)s found.", "other": "%(num)s found."}
    assert map_words()["sure"] == "%(answer)s (%(evidence)s)"


def test_polish_has_three_kinds(tmp_path: Path) -> None:
    (tmp_path / "pl.po").write_text(POLISH, encoding="utf-8")
    with speaking(load_language("pl", folders=[tmp_path])):
        assert search_words()["found"] == {
            "one": "Znaleziono %(num)s miejsce.",
            "few": "Znaleziono %(num)s miejsca.",
            "many": "Znaleziono %(num)s miejsc.",
        }
