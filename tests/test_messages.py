"""No word of a page is out of a translator's reach, and another language is one file."""

from __future__ import annotations

import ast
import datetime as dt
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from babel.dates import get_day_names, get_month_names
from babel.messages.pofile import read_po
from jinja2 import Environment
from playwright.sync_api import Page, expect

import make_messages
from eaveline.config import load_config
from eaveline.errors import InputError
from eaveline.gazetteer import load_gazetteer
from eaveline.messages import (
    ENGLISH,
    day,
    equip,
    gettext,
    language,
    load_language,
    ngettext,
    number,
    speaking,
)
from eaveline.pipeline import (
    build_town,
    make_site,
    merge_town,
    protect_town,
    take_in_town,
)
from eaveline.public.records import Nation
from eaveline.public.words.law import nation_law
from make_messages import POT, ROOT
from pseudo_language import TAG, Shown, pseudo, untranslated, write_catalogue
from small_town import SIGHTINGS, STREETS, write_town

TODAY = dt.date(2026, 11, 25)


def speak(folder: Path, tag: str) -> None:
    """Set a town's language."""
    path = folder / "survey_data" / "town.toml"
    text = path.read_text("utf-8")
    path.write_text(text.replace("[town]\n", f'[town]\nlanguage = "{tag}"\n'), encoding="utf-8")


def site_of(folder: Path) -> Path:
    """Build a town's site, without the group's papers."""
    config = load_config(folder)
    town = load_gazetteer(folder, config)
    register, _ = merge_town(take_in_town(folder, town, today=TODAY), town, config)
    release, _ = protect_town(register, town, config)
    out = folder / "staged" / "site"
    make_site(folder, release, config, out=out)
    return out


# ------------------------------------------------------------------- the file of English messages


def test_messages_pot_is_current() -> None:
    assert POT.read_text("utf-8") == make_messages.messages_file(), "run tests/make_messages.py"


def test_every_message_in_the_code_is_literal_and_in_the_file() -> None:
    # Read from the syntax tree, not by the extractor: it sees f-strings as well.
    with POT.open("rb") as file:
        known = {
            each
            for message in read_po(file)
            for each in ([message.id] if isinstance(message.id, str) else message.id)
        }
    missing = {
        f"{path.relative_to(ROOT).as_posix()}:{line} {words!r}"
        for path in sorted((ROOT / "build" / "eaveline").rglob("*.py"))
        if "messages" not in path.parts
        for line, words in messages_in(path)
        if words not in known
    }
    assert missing == set()


def messages_in(path: Path) -> Iterator[tuple[int, str | None]]:
    """Yield line and words of every message that a module says; None for one that is no literal."""
    places = {"_": (0,), "gettext": (0,), "pgettext": (1,), "ngettext": (0, 1)}
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            for place in places.get(node.func.id, ()):
                argument = node.args[place]
                literal = isinstance(argument, ast.Constant) and isinstance(argument.value, str)
                yield node.lineno, argument.value if literal else None  # type: ignore[attr-defined]  # of a Constant


# ----------------------------------------------------------------------- nothing left untranslated


@pytest.fixture(scope="module")
def pseudo_site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the small town in the invented language: every kind of page that has a map."""
    folder = write_town(tmp_path_factory.mktemp("pseudo"))
    for name, text in CONTENT.items():
        path = folder / "content" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    write_catalogue(folder / "theme" / "messages")
    speak(folder, TAG)
    return site_of(folder)


@pytest.fixture(scope="module")
def bare_site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build it without premises, own pages and nearly all records: what says there is nothing."""
    row = "3/6/2026,,TG 5005 4020,,,house martin,flying over,,Ann Poole,\n"
    files = {"sightings/ann.csv": SIGHTINGS + row}
    folder = write_town(tmp_path_factory.mktemp("bare"), files=files)
    (folder / "survey_data" / "map" / "addresses.csv").unlink()
    (folder / "content" / "pages" / "about.md").unlink()
    write_catalogue(folder / "theme" / "messages")
    speak(folder, TAG)
    return site_of(folder)


OWN_WORDS = "Wir schauen nach Seglern"
CONTENT = {
    "pages/about.md": f"Title: {OWN_WORDS}\nSlug: about\nSummary: {OWN_WORDS}\n\n{OWN_WORDS}: "
    "{{ figures.newest_record }}\n\n{{ maps.town }}\n\n{{ maps.mill-lane }}\n\n"
    "{{ charts.parties_by_week }}\n\n{{ charts.use_of_boxes }}\n",
    "pages/law.md": f"Title: {OWN_WORDS}\nSlug: law\nShow: law\n\n{OWN_WORDS}\n",
    "pages/home.md": f"Title: {OWN_WORDS}\nSlug: home\n\n{OWN_WORDS}\n",
    "news/2026-05-09-back.md": f"Title: {OWN_WORDS}\nDate: 2026-05-09\nSummary: {OWN_WORDS}\n\n"
    f"{OWN_WORDS}\n",
}


def public_data(site: Path) -> set[str]:
    """Return what may stand on a page in any language."""
    return {
        *STREETS,
        "Little Ottersley",
        "Little Ottersley Swift Group",
        "birds@little-ottersley.example",
        "The Reading Room",
        OWN_WORDS,
        "CC BY 4.0",
        "EPSG:27700",
        *(path.name for path in (site / "data").iterdir()),
        *(line.source for line in nation_law(Nation.ENGLAND).nest_law),
        # Dates and the words of a list are the locale's.
        "und",
        *get_month_names("wide", locale=TAG).values(),
        *get_day_names("wide", locale=TAG).values(),
        *(name[0] for name in STREETS),  # the index's letters
    }


@pytest.mark.parametrize("kind", ["pseudo_site", "bare_site"])
def test_every_word_of_every_page_is_a_message_or_data(
    kind: str, request: pytest.FixtureRequest
) -> None:
    site: Path = request.getfixturevalue(kind)
    data = public_data(site)
    pages = sorted(site.rglob("*.html"))
    assert len(pages) >= 12
    found = {
        f"{page.relative_to(site).as_posix()}: {text}"
        for page in pages
        for text in untranslated(Shown(page.read_text("utf-8")).found, data=data)
    }
    assert found == set()


@pytest.mark.parametrize("kind", ["pseudo_site", "bare_site"])
def test_every_page_says_its_language_and_closes_its_messages(
    kind: str, request: pytest.FixtureRequest
) -> None:
    site: Path = request.getfixturevalue(kind)
    for page in site.rglob("*.html"):
        html = page.read_text("utf-8")
        assert f'<html lang="{TAG}">' in html
        assert html.count("⟦") == html.count("⟧") > 20


def test_scripts_are_handed_every_word_they_say(pseudo_site: Path) -> None:
    drawn = script(pseudo_site / "map" / "map-data.js")
    layers = [
        layer[key] for layer in drawn["layers"] for key in ("title", "words", "cells", "labels")
    ]
    said = [drawn["words"], drawn["evidence"], layers, drawn["sites"], drawn["regions"]]
    said += [drawn["seasons"], script(pseudo_site / "search" / "index.js")["words"]]
    kept = {"all", *(region[0] for region in drawn["regions"])}
    texts = [("", re.sub(r"%\(\w+\)s", "", text)) for text in strings(said) if text not in kept]
    assert len(texts) > 80
    assert list(untranslated(texts, data=public_data(pseudo_site))) == []


@pytest.mark.browser
def test_a_map_in_use_says_nothing_else(pseudo_site: Path, page: Page) -> None:
    page.goto((pseudo_site / "map" / "index.html").as_uri())
    expect(page.locator("#map_town[data-ready]")).to_be_attached()
    page.locator("#map-layer").select_option("boxes")
    page.locator("#map-season").select_option("2026")
    square = page.locator(".leaflet-squares-pane path").nth(5)
    square.focus()
    page.keyboard.press("Enter")
    expect(page.locator("#map-reading")).to_be_visible()
    shown = Shown(page.content()).found
    assert any(where == "path[aria-label]" for where, _ in shown)
    # The scale's unit is a sign, not a word.
    data = public_data(pseudo_site) | {"m", "km", "mi", "ft"}
    assert set(untranslated(shown, data=data)) == set()


@pytest.mark.browser
@pytest.mark.parametrize("sought", ["mill", "zzz"])
def test_a_search_says_nothing_else(pseudo_site: Path, page: Page, sought: str) -> None:
    page.goto((pseudo_site / "search" / "index.html").as_uri())
    page.locator("#search-words").fill(sought)
    expect(page.locator("#search-count")).to_contain_text("⟦")
    shown = Shown(page.content()).found
    assert set(untranslated(shown, data=public_data(pseudo_site))) == set()


def test_scripts_hold_no_word_of_their_own() -> None:
    # A text of two words or more, or with a capital and a full stop, is said to somebody.
    for path in sorted((ROOT / "theme" / "static" / "js").glob("*.js")):
        code = re.sub(r"/\*.*?\*/|//[^\n]*", "", path.read_text("utf-8"), flags=re.DOTALL)
        texts = re.findall(r'"((?:[^"\\\n]|\\.)*)"', code)
        said = [text for text in texts if re.search(r"[A-Z][a-z]+ [a-z]+|[a-z]\.( |$)", text)]
        assert said == [], path.name


def test_feed_and_calendar_speak_it_too(pseudo_site: Path) -> None:
    feed = (pseudo_site / "feeds" / "news.xml").read_text("utf-8")
    assert f'xml:lang="{TAG}"' in feed
    calendar = (pseudo_site / "helping" / "watch-evenings.ics").read_text("utf-8")
    lines = calendar.replace("\r\n ", "").splitlines()
    said = [
        ("", line.partition(":")[2])
        for line in lines
        if line.startswith(("SUMMARY", "DESCRIPTION", "X-WR-CALNAME"))
    ]
    said += [("", text) for text in re.findall(r"<(?:title|subtitle)>([^<]*)<", feed)]
    assert len(said) > 4
    assert list(untranslated(said, data=public_data(pseudo_site))) == []


def test_downloads_are_the_same_in_every_language(pseudo_site: Path, tmp_path: Path) -> None:
    english = site_of(write_town(tmp_path))
    for name in ("squares.geojson", "figures.csv", "datapackage.json", "release.json"):
        theirs = (pseudo_site / "data" / name).read_bytes()
        assert theirs == (english / "data" / name).read_bytes(), name


def script(path: Path) -> dict[str, Any]:
    """Return the data that a script hands over."""
    text = path.read_text("utf-8")
    found: dict[str, Any] = json.loads(text[text.index("{") : text.rindex("}") + 1])
    return found


def strings(value: object) -> Iterator[str]:
    """Yield every string in nested data."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        yield from strings(list(value.values()))
    elif isinstance(value, list):
        for each in value:
            yield from strings(each)


def test_the_check_finds_an_untranslated_word() -> None:
    html = f'<html lang="{TAG}"><p title="Mill Lane">{pseudo("Streets of %(town)s")} in May</p>'
    assert list(untranslated(Shown(html).found, data=["Mill Lane", "town"])) != []
    assert list(untranslated([("p", pseudo("Streets"))], data=["x"])) == []


# ------------------------------------------------------------------------------------- templates

ENTRIES = """\
{% trans place=place %}
  <b>{{ place }}</b>,
  95% sure
{% endtrans %}|{{ _("95%% sure") }}|{{ pgettext("a share", "none") }}|\
{% trans num=many, place=place %}{{ num }} box, {{ place }}{% pluralize %}\
{{ num }} boxes, {{ place }}{% endtrans %}"""


@pytest.mark.parametrize(
    ("autoescape", "place"), [(True, "Poole &amp; &lt;i&gt;"), (False, "Poole & <i>")]
)
def test_a_template_escapes_what_it_puts_into_a_message(*, autoescape: bool, place: str) -> None:
    environment = equip(Environment(autoescape=autoescape))  # noqa: S701 - both are tried
    said = environment.from_string(ENTRIES).render(place="Poole & <i>", many=1500)
    assert said == f"<b>{place}</b>, 95% sure|95% sure|none|1,500 boxes, {place}"


# -------------------------------------------------------------------------- a real second language

WELSH = r"""
msgid ""
msgstr ""
"Language: cy\n"
"Content-Type: text/plain; charset=utf-8\n"
"Plural-Forms: nplurals=6; "
"plural=(n==0) ? 0 : (n==1) ? 1 : (n==2) ? 2 : (n==3) ? 3 : (n==6) ? 4 : 5;\n"

msgid "Streets"
msgstr "Strydoedd"

msgid "Streets of %(town)s"
msgstr "Strydoedd %(town)s"

msgid "Season"
msgstr "Tymor"

msgid "%(num)s bird"
msgid_plural "%(num)s birds"
msgstr[0] "dim adar"
msgstr[1] "%(num)s aderyn"
msgstr[2] "%(num)s aderyn (dau)"
msgstr[3] "%(num)s aderyn (tri)"
msgstr[4] "%(num)s aderyn (chwech)"
msgstr[5] "%(num)s o adar"
"""


HEAD = 'msgid ""\nmsgstr "Content-Type: text/plain; charset=utf-8\\n"\n\n'


def write_po_file(folder: Path, tag: str, text: str) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{tag}.po").write_text(text.lstrip(), encoding="utf-8")
    return folder


def test_plurals_follow_the_languages_own_rule(tmp_path: Path) -> None:
    # Welsh has six forms: CLDR 46, cardinal plural rules for cy.
    with speaking(load_language("cy", folders=[write_po_file(tmp_path, "cy", WELSH)])):
        said = [ngettext("%(num)s bird", "%(num)s birds", n) for n in (0, 1, 2, 3, 4, 6, 7)]
    assert said == [
        "dim adar",
        "1 aderyn",
        "2 aderyn (dau)",
        "3 aderyn (tri)",
        "4 o adar",
        "6 aderyn (chwech)",
        "7 o adar",
    ]


def test_a_message_without_a_translation_stays_english(tmp_path: Path) -> None:
    with speaking(load_language("cy", folders=[write_po_file(tmp_path, "cy", WELSH)])):
        assert gettext("Streets") == "Strydoedd"
        assert gettext("Nest boxes") == "Nest boxes"
        assert ngettext("%(num)s hour", "%(num)s hours", 3) == "3 hours"
    assert language() == ENGLISH


def test_dates_and_numbers_are_the_locales(tmp_path: Path) -> None:
    # CLDR 46: de "d. MMMM y", group mark "."; cy months; fr narrow no-break space.
    date = dt.date(2026, 8, 14)
    said = {}
    for tag in ("de", "cy", "fr"):
        with speaking(load_language(tag, folders=[write_po_file(tmp_path, tag, HEAD)])):
            said[tag] = (day(date), number(1234), number(2.5, decimals=1))
    assert said["de"] == ("14. August 2026", "1.234", "2,5")
    assert said["cy"] == ("14 Awst 2026", "1,234", "2.5")
    assert said["fr"] == ("14 août 2026", "1\u202f234", "2,5")


def test_a_second_language_is_one_file_and_one_setting(tmp_path: Path) -> None:
    folder = write_town(tmp_path)
    write_po_file(folder / "theme" / "messages", "cy", WELSH)
    speak(folder, "cy")
    site = site_of(folder)
    html = (site / "streets" / "index.html").read_text("utf-8")
    assert '<html lang="cy">' in html
    assert "<h1>Strydoedd Little Ottersley</h1>" in html
    assert "4 Gorffennaf 2026" in html  # the newest record, in the foot of every page
    seasons = (site / "seasons" / "index.html").read_text("utf-8")
    assert '<th scope="col">Tymor</th>' in seasons
    assert "8 o adar" in seasons  # the largest party of 2026
    assert ">Largest party<" in seasons  # not translated, so English


def test_a_town_may_change_a_word_of_the_english(tmp_path: Path) -> None:
    folder = write_po_file(tmp_path, "en", HEAD + 'msgid "Streets"\nmsgstr "Roads"\n')
    with speaking(load_language("en", folders=[folder])):
        assert gettext("Streets") == "Roads"
        assert language().html == "en-GB"


# --------------------------------------------------------------------------------- faults of a file


def problems_of(folder: Path, tag: str, text: str) -> list[tuple[str, int | None, str]]:
    with pytest.raises(InputError) as caught:
        load_language(tag, folders=[write_po_file(folder, tag, text)])
    return [(problem.code, problem.row, problem.what) for problem in caught.value.problems]


def test_a_missing_file_says_where_to_put_it(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"Put cy\.po into theme/messages/") as caught:
        load_language("cy", folders=[tmp_path])
    assert [problem.code for problem in caught.value.problems] == ["messages-missing"]


def test_a_language_nobody_knows(tmp_path: Path) -> None:
    (code, _, _) = problems_of(tmp_path, "xx", HEAD)[0]
    assert code == "language-unknown"


@pytest.mark.parametrize(
    ("text", "row"),
    [
        (HEAD + 'msgid "Streets\nmsgstr "Strydoedd"\n', 4),
        (HEAD + "Strydoedd\n", 4),
    ],
)
def test_a_file_that_is_no_po_file_is_told_with_its_line(
    tmp_path: Path, text: str, row: int
) -> None:
    ((code, found, _),) = problems_of(tmp_path, "cy", text)
    assert (code, found) == ("messages-unreadable", row)


def test_a_file_in_another_encoding(tmp_path: Path) -> None:
    text = (HEAD + 'msgid "Streets"\nmsgstr "Straßen"\n').encode("latin-1")
    (tmp_path / "de.po").write_bytes(text)
    with pytest.raises(InputError) as caught:
        load_language("de", folders=[tmp_path])
    assert [problem.code for problem in caught.value.problems] == ["messages-unreadable"]


def test_a_plural_rule_that_is_no_formula(tmp_path: Path) -> None:
    rule = '"Plural-Forms: nplurals=2; plural=(n ! 1);\\n"\n'
    head = HEAD.removesuffix("\n") + rule
    ((code, _, _),) = problems_of(tmp_path, "de", head)
    assert code == "messages-unreadable"


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ('msgid "Streets of %(town)s"\nmsgstr "Strydoedd"', r"lacks %(town)s"),
        ('msgid "Streets of %(town)s"\nmsgstr "Strydoedd %(tref)s"', r"has %(tref)s"),
        ('msgid "Streets of %(town)s"\nmsgstr "100 % %(town)s"', "percent sign"),
        ('msgid "Streets of %(town)s"\nmsgstr "100 % sofort %(town)s"', "percent sign"),
        ('msgid "Streets of %(town)s"\nmsgstr "%(town)"', "lacks"),
        ('msgid "Streets of %(town)s"\nmsgstr "<b>%(town)s</b>"', "other HTML"),
        ('msgid "Season"\nmsgstr "\\"Tymor\\""', "other HTML"),
        (
            """msgid "%(num)s bird"
msgid_plural "%(num)s birds"
msgstr[0] "%(num)s"
msgstr[1] "%(n)s\"""",
            r"has %(n)s",
        ),
        (
            'msgid "%(num)s bird"\nmsgid_plural "%(num)s birds"\nmsgstr[0] "%(num)s"',
            "A form of",
        ),
    ],
)
def test_a_translation_that_would_fail_is_told_with_its_line(
    tmp_path: Path, entry: str, words: str
) -> None:
    found = problems_of(tmp_path, "de", f"{HEAD}{entry}\n")
    assert {(code, row) for code, row, _ in found} == {("messages-translation-wrong", 4)}
    assert any(words in what for _, _, what in found)


def test_a_plural_may_say_one_in_words(tmp_path: Path) -> None:
    text = (
        'msgid "%(num)s bird"\nmsgid_plural "%(num)s birds"\n'
        'msgstr[0] "ein Vogel"\nmsgstr[1] "%(num)s Vögel"\n'
    )
    with speaking(load_language("de", folders=[write_po_file(tmp_path, "de", HEAD + text)])):
        said = [ngettext("%(num)s bird", "%(num)s birds", n) for n in (1, 1500)]
    assert said == ["ein Vogel", "1.500 Vögel"]


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    entries = (
        'msgid "Streets of %(town)s"\nmsgstr "Strydoedd"\n\nmsgid "Map of %(town)s"\nmsgstr "Map"\n'
    )
    found = problems_of(tmp_path, "cy", HEAD + entries)
    assert [row for _, row, _ in found] == [4, 7]


def test_a_broken_file_stops_a_build_before_anything_is_written(tmp_path: Path) -> None:
    folder = write_town(tmp_path)
    speak(folder, "cy")
    with pytest.raises(InputError) as caught:
        build_town(folder, today=TODAY)
    assert [problem.code for problem in caught.value.problems] == ["messages-missing"]
    assert not (folder / "private").exists()
    assert not (folder / "site").exists()


def test_two_threads_speak_two_languages(tmp_path: Path) -> None:
    from concurrent.futures import ThreadPoolExecutor  # noqa: PLC0415 - this test alone

    folder = write_po_file(tmp_path, "cy", WELSH)
    with speaking(load_language("cy", folders=[folder])), ThreadPoolExecutor(1) as pool:
        assert pool.submit(gettext, "Streets").result() == "Streets"
        assert gettext("Streets") == "Strydoedd"
