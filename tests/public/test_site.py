"""The site holds its pages, says what the release says, and says it the same way every time."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterator
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from urllib.parse import unquote, urlsplit
from xml.etree import ElementTree as ET

import pytest

from eaveline.errors import EavelineError, InputError
from eaveline.public.pages import pelican_plugin, pelican_run
from eaveline.public.records import PublicRelease, release_to_json
from eaveline.public.site import SiteJob, build_site, default_theme
from eaveline.public.town import PublicTown

NASTY_NAME = "<b>O'Neill & Söhne</b>"
NASTY_SLUG = "b-oneill-sohne-b"
PAGES = ("index", "map/index", "streets/index", "seasons/index", "boxes/index", "method/index")
MORE_PAGES = (
    "data/index",
    "helping/index",
    "news/index",
    "offers/index",
    "search/index",
    "404",
    "about-us/index",
)
STREETS = ("albert-road", "market-place", NASTY_SLUG, "mill-lane", "swan-street", "far-common-lane")
NEWS_PAGE = "news/2026-06-03-they-are-back/index.html"

Build = Callable[..., Path]


class Reader(HTMLParser):
    """What a page links, loads and says."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.words: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep an element."""
        self.elements.append((tag, {name: value or "" for name, value in attrs}))

    def handle_data(self, data: str) -> None:
        """Keep some words."""
        self.words.append(data)

    @property
    def text(self) -> str:
        """All words, with single spaces."""
        return re.sub(r"\s+", " ", "".join(self.words))


@pytest.fixture(scope="module")
def content(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("content")
    (folder / "pages").mkdir()
    (folder / "news").mkdir()
    (folder / "images").mkdir()
    (folder / "images" / "eaves.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg"/>')
    (folder / "pages" / "about-us.md").write_text(
        "Title: About us\nSummary: Who we are.\nShow: law\n\nWe [map](../map/index.html) & watch.\n"
    )
    (folder / "pages" / "home.md").write_text("Title: Home\n\nWelcome from all of us.\n")
    (folder / "news" / "2026-06-03-they-are-back.md").write_text(
        "Title: They are back\n\nSee [us]({filename}/pages/about-us.md) and "
        "![the eaves of a house]({static}/images/eaves.svg).\n"
    )
    (folder / "news" / "secret.md").write_text(
        "Title: Not yet\nStatus: draft\nDate: 2026-07-01\n\nX\n"
    )
    return folder


@pytest.fixture(scope="module")
def job(release_file: Path, public_town: PublicTown, map_folder: Path, content: Path) -> SiteJob:
    return SiteJob(
        release=release_file,
        town=public_town,
        map_folder=map_folder,
        content=content,
        theme=(default_theme(),),
        out=Path("nowhere"),
    )


@pytest.fixture(scope="module")
def site(job: SiteJob, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("built") / "site"
    build_site(job.model_copy(update={"out": out}))
    return out


def html_pages(site: Path) -> Iterator[tuple[Path, Reader]]:
    for path in sorted(site.rglob("*.html")):
        yield path, Reader(path.read_text(encoding="utf-8"))


def page(site: Path, name: str) -> Reader:
    return Reader((site / name).read_text(encoding="utf-8"))


def files(site: Path) -> dict[str, bytes]:
    return {
        path.relative_to(site).as_posix(): path.read_bytes()
        for path in site.rglob("*")
        if path.is_file()
    }


def test_every_page_is_there(site: Path) -> None:
    wanted = {f"{name}.html" for name in (*PAGES, *MORE_PAGES)}
    wanted |= {f"streets/{slug}/index.html" for slug in (*STREETS, "sea-bank")} | {NEWS_PAGE}
    assert {path.relative_to(site).as_posix() for path in site.rglob("*.html")} == wanted


def test_a_draft_is_not_published(site: Path) -> None:
    assert not any(b"Not yet" in data for data in files(site).values())


def test_street_page_tells_what_its_squares_hold_and_says_so(site: Path) -> None:
    text = page(site, "streets/albert-road/index.html").text
    # From the fixture: squares 1 (some), 2 (some) and 3 (looked, none found).
    assert "Albert Road runs through 3 squares of the map." in text
    assert "Swift nest sites have been found in 2 of them." in text
    assert "In one more, watching has found none so far." in text
    assert "never for the street itself" in text
    assert "At least 3 swift nest sites; a nest was last confirmed in 2026." in text
    assert "No nest of swifts or house martins found by watching." in text
    assert "Watched for 6 to 15 hours" in text


def test_seasons_of_a_square_are_folded_away_with_nothing_left_out(site: Path) -> None:
    html = (site / "streets/albert-road/index.html").read_text(encoding="utf-8")
    assert html.count('<details class="seasons">') == 3  # shut, one for each square
    assert html.count("<table>") == 3
    # Of square 1: all seasons, then the three that the fixture has figures for.
    table = html.split('aria-label="Square 1, season by season"')[1].split("</table>")[0]
    assert re.findall(r'<th scope="row">([^<]+)</th>', table) == [
        "all seasons",
        "2026",
        "2025",
        "2024",
    ]


def test_squares_without_anything_are_told_in_one_line(site: Path) -> None:
    # Mill Lane runs through squares 6 (possible nest) and 7 (nothing in any layer).
    found = page(site, "streets/mill-lane/index.html")
    text = found.text
    assert "Nothing is known yet of square 7: too little watching, and no reports." in text
    assert "At least 1 swift nest site, none confirmed yet: possible at best." in text
    ids = {attributes.get("id") for _, attributes in found.elements}
    assert "square-6" in ids
    assert "square-7" not in ids


def test_street_without_anything_gets_an_invitation(site: Path) -> None:
    text = page(site, "streets/far-common-lane/index.html").text
    assert "Nobody has told us of anything here yet" in text
    assert "That does not mean there are no birds" in text
    assert "Square by square" not in text  # nothing stands in any of them


def test_street_beyond_the_squares_has_a_page_without_figures(site: Path) -> None:
    html = (site / "streets/sea-bank/index.html").read_text(encoding="utf-8")
    assert "Sea Bank runs through no square of the map." in html
    assert 'class="square"' not in html


def test_consented_places_are_told_apart(site: Path) -> None:
    assert (
        "Littlemarsh Library: swift box, since 2025"
        in page(site, "streets/market-place/index.html").text
    )


@pytest.mark.parametrize(
    "name", ["streets/index.html", f"streets/{NASTY_SLUG}/index.html", "map/index.html"]
)
def test_a_name_with_markup_in_it_is_shown_as_text(site: Path, name: str) -> None:
    html = (site / name).read_text(encoding="utf-8")
    assert "<b>O" not in html
    assert NASTY_NAME in Reader(html).text


def test_the_home_page_leads_to_a_street_at_once(site: Path) -> None:
    html = (site / "index.html").read_text(encoding="utf-8")
    finder = html.split('class="finder"')[1].split("</section>")[0]
    # Seven streets are few: they are named, and there are no letters to choose from.
    assert finder.count('href="./streets/') == 7
    assert "letters" not in finder
    assert html.index('class="finder"') < html.index('class="headline"')


def test_figures_of_the_town_stand_on_the_home_page(site: Path) -> None:
    text = page(site, "index.html").text
    for words in (
        "at least 5",
        "at least 6",
        "Welcome from all of us.",
        "They are back",
        "14 August 2026",
    ):
        assert words in text


def test_seasons_and_boxes(site: Path) -> None:
    seasons = page(site, "seasons/index.html").text
    assert "17 birds" in seasons
    assert "19 Apr" in seasons
    assert "at least 2" in seasons
    boxes = page(site, "boxes/index.html").text
    assert "20267124at least 14%" in boxes  # boxes, buildings checked, used, share
    assert "too few buildings checked to say" in boxes
    # A percentage never stands alone: it is "at least", or has its interval beside it.
    assert "at least 14%" in boxes
    assert re.findall(r"(?<!least )(?<!\()(?<! to )\b\d+%(?! \(| interval)", boxes) == []


def test_method_page_prints_the_smallest_region_and_the_share_in_single_squares(site: Path) -> None:
    html = (site / "method/index.html").read_text(encoding="utf-8")
    # Region 8 has 10 premises; 113 of the 134 lie in regions of one cell.
    assert "<dt>Smallest region</dt><dd>10 premises</dd>" in html
    assert "<dt>Premises in regions of a single cell</dt><dd>84%</dd>" in html
    assert "Not one character of this site would change." in html


def test_law_is_the_nations_own(site: Path, job: SiteJob, tmp_path: Path) -> None:
    assert "What the law says in England" in page(site, "about-us/index.html").text
    town = job.town.model_copy(update={"nation": "Scotland"})
    build_site(
        job.model_copy(
            update={"out": tmp_path / "s", "town": PublicTown.model_validate(dict(town))}
        )
    )
    text = page(tmp_path / "s", "about-us/index.html").text
    assert "intentionally or recklessly" in text
    assert "Article 4" not in text


def test_no_page_claims_that_disturbing_swifts_is_an_offence(site: Path) -> None:
    for _, reader in html_pages(site):
        assert "illegal to disturb" not in reader.text.lower()


def test_every_page_has_its_landmarks_and_headings_in_order(site: Path) -> None:
    for path, reader in html_pages(site):
        tags = [tag for tag, _ in reader.elements]
        assert all(tags.count(tag) == 1 for tag in ("header", "main", "footer", "h1")), path
        assert ("a", {"class": "skip", "href": "#main"}) in reader.elements, path
        levels = [int(tag[1]) for tag in tags if re.fullmatch(r"h[1-6]", tag)]
        assert all(after <= before + 1 for before, after in pairwise(levels)), path
        ids = [attributes["id"] for _, attributes in reader.elements if "id" in attributes]
        assert len(ids) == len(set(ids)), path
        assert "Littlemarsh and its people are made up." in reader.text, path


def test_links_are_relative_and_lead_to_files(site: Path) -> None:
    for path, reader in html_pages(site):
        for tag, attributes in reader.elements:
            for name in ("href", "src", "srcset", "poster", "data", "xlink:href"):
                parts = urlsplit(attributes.get(name, ""))
                if parts.scheme == "mailto" or not parts.path:
                    continue
                assert not parts.scheme, (path, attributes)
                assert not parts.netloc, (path, attributes)
                assert not parts.path.startswith("/"), (path, attributes)
                assert (path.parent / unquote(parts.path)).is_file(), (path, tag, attributes)


def test_no_page_carries_a_script_or_style_of_its_own(site: Path) -> None:
    for path, reader in html_pages(site):
        for tag, attributes in reader.elements:
            assert tag not in ("style", "iframe", "base"), path
            assert tag != "script" or attributes.get("src"), path
            assert not any(name.startswith("on") or name == "style" for name in attributes), (
                path,
                attributes,
            )


def test_theme_loads_nothing_from_elsewhere(site: Path) -> None:
    for path in [*site.rglob("*.css"), *site.joinpath("theme").rglob("*.js")]:
        assert not re.search(
            r"url\(\s*['\"]?(https?:)?//|@import", path.read_text(encoding="utf-8")
        ), path


def test_feed_and_site_map(site: Path) -> None:
    feed = ET.parse(site / "feeds" / "news.xml").getroot()  # noqa: S314 - our own file
    atom = {"a": "http://www.w3.org/2005/Atom"}
    assert [entry.text for entry in feed.findall("a:entry/a:title", atom)] == ["They are back"]
    assert [entry.text for entry in feed.findall("a:entry/a:published", atom)] == [
        "2026-06-03T00:00:00+00:00"
    ]
    link = feed.find("a:entry/a:link", atom)
    assert link is not None
    assert (site / "feeds" / link.attrib["href"]).is_file()
    places = [
        place.text
        for place in ET.parse(site / "sitemap.xml").iter()  # noqa: S314 - our own file
        if place.tag.endswith("loc")
    ]
    assert NEWS_PAGE in places
    assert "streets/albert-road/index.html" in places
    assert all((site / str(place)).is_file() for place in places)


def test_address_of_the_site_is_used_where_full_addresses_are_needed(
    job: SiteJob, tmp_path: Path
) -> None:
    town = job.town.model_copy(update={"site_url": "https://birds.example/colony"})
    build_site(job.model_copy(update={"out": tmp_path, "town": town}))
    assert (
        "<loc>https://birds.example/colony/index.html</loc>"
        in (tmp_path / "sitemap.xml").read_text()
    )
    assert 'href="https://birds.example/colony/' in (tmp_path / "feeds" / "news.xml").read_text()
    # Shown at any depth, the page for lost readers cannot use relative links.
    assert 'href="/colony/index.html"' in (tmp_path / "404.html").read_text(encoding="utf-8")


def test_the_same_job_gives_the_same_bytes_elsewhere_and_another_day(
    site: Path, job: SiteJob, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    monkeypatch.setenv("LC_ALL", "de_DE.UTF-8")
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1")
    moved = tmp_path / "content-elsewhere"
    shutil.copytree(job.content, moved)
    build_site(job.model_copy(update={"out": Path("again"), "content": moved}))
    assert files(tmp_path / "again") == files(site)


def test_without_a_map_the_site_says_which_file_is_missing(
    release: PublicRelease, job: SiteJob, tmp_path: Path
) -> None:
    bare = {
        "has_map": False,
        "regions": (),
        "open_sites": (),
        "layers": release.layers.model_copy(
            update={
                "nest_sites": {
                    name: {season: {} for season in layer}
                    for name, layer in release.layers.nest_sites.items()
                },
                "screaming_parties": {season: {} for season in release.layers.screaming_parties},
                "boxes": {season: {} for season in release.layers.boxes},
                "watching": {season: {} for season in release.layers.watching},
            }
        ),
    }
    path = tmp_path / "release.json"
    path.write_text(release_to_json(release.model_copy(update=bare)), encoding="utf-8")
    build_site(
        job.model_copy(
            update={"release": path, "map_folder": tmp_path / "none", "out": tmp_path / "s"}
        )
    )
    for name in ("map/index.html", "streets/index.html"):
        text = page(tmp_path / "s", name).text
        assert "premises.gpkg" in text
        assert "at least 5" in text
    assert [path.name for path in (tmp_path / "s" / "streets").iterdir()] == ["index.html"]


def test_no_content_folder_is_no_fault(job: SiteJob, tmp_path: Path) -> None:
    build_site(job.model_copy(update={"content": tmp_path / "none", "out": tmp_path / "s"}))
    assert "No news yet." in page(tmp_path / "s", "index.html").text


UNREADABLE = {
    "pages/no-title.md": ("Just text.\n", "content-no-title"),
    "news/no-date.md": ("Title: A\n\nText\n", "content-no-date"),
    "news/two-readings.md": ("Title: A\nDate: 3/6/2026\n\nText\n", "content-unreadable"),
    "pages/colon.md": ("Warning: mind the step\n\nText\n", "content-unreadable"),
    "pages/status.md": ("Title: A\nStatus: perhaps\n\nText\n", "content-unknown-status"),
    "pages/show.md": ("Title: A\nShow: feet\n\nText\n", "content-unreadable"),
    "pages/alt.md": ("Title: A\n\n![](../theme/img/swift.svg)\n", "content-image-undescribed"),
    "pages/map.md": ("Title: A\n\nText\n", "content-address-taken"),
    "pages/twin a.md": ("Title: A\n\nText\n", "content-same-address"),
    "pages/twin-a.md": ("Title: B\n\nText\n", "content-same-address"),
    "pages/figure.md": ("Title: A\n\n{{ figures.boxs_fitted }}\n", "content-unknown-figure"),
    "pages/latin.md": ("Title: caf\udce9\n\nText\n", "content-unreadable"),
}
"""Faults seen while reading; the last file is not UTF-8."""
UNFIT = {
    "pages/no-page.md": ("[x]({filename}/pages/b.md)", "content-broken-link"),
    "pages/no-file.md": ("[x](../nowhere/index.html)", "content-broken-link"),
    "pages/rooted.md": ("[x](/map/index.html)", "content-rooted-link"),
    "pages/image.md": ("![x](https://pictures.example/x.jpg)", "content-loads-from-elsewhere"),
    "pages/bare-host.md": ("![x](//pictures.example/x.jpg)", "content-loads-from-elsewhere"),
    "pages/set.md": (
        '<img alt="x" src="../theme/img/swift.svg" srcset="../404.html 1x, //e.example/x 2x">',
        "content-loads-from-elsewhere",
    ),
    "pages/script.md": ("<script>1</script>", "content-forbidden-element"),
    "pages/handler.md": ('<p onclick="x()">hi</p>', "content-inline-script"),
    "pages/style.md": ('<p style="color: red">hi</p>', "content-inline-script"),
    "pages/address.md": ("[x](javascript:alert(1))", "content-inline-script"),
    "news/2026-01-01-title.md": ("# Again", "content-second-title"),
    "pages/home.md": ("[x](nowhere.html)", "content-broken-link"),
}
"""Faults seen in what was written."""


@pytest.mark.parametrize(
    "faults",
    [UNREADABLE, {name: (f"Title: A\n\n{text}\n", code) for name, (text, code) in UNFIT.items()}],
    ids=["read", "written"],
)
def test_faulty_pages_stop_the_build_and_are_named_all_at_once(
    job: SiteJob, tmp_path: Path, faults: dict[str, tuple[str, str]]
) -> None:
    for name, (text, _) in faults.items():
        path = tmp_path / "content" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", errors="surrogateescape")
    with pytest.raises(InputError) as caught:
        build_site(job.model_copy(update={"content": tmp_path / "content", "out": tmp_path / "s"}))
    found = {
        (str(problem.file).removeprefix("content/"), problem.code)
        for problem in caught.value.problems
    }
    assert found == {(name, code) for name, (_, code) in faults.items()}
    assert str(tmp_path) not in str(caught.value)


def test_a_page_about_the_group_stands_at_every_foot_and_is_no_way_to_help(
    job: SiteJob, tmp_path: Path
) -> None:
    pages = tmp_path / "content" / "pages"
    pages.mkdir(parents=True)
    (pages / "us.md").write_text("Title: Who we are\nShow: foot\n\nUs.\n")
    (pages / "watch.md").write_text("Title: An evening out\n\nLook up.\n")
    out = tmp_path / "s"
    build_site(job.model_copy(update={"content": tmp_path / "content", "out": out}))
    for name, link in (
        ("index.html", "./us/index.html"),
        ("helping/index.html", "../us/index.html"),
        ("streets/albert-road/index.html", "../../us/index.html"),
    ):
        main, foot = (out / name).read_text(encoding="utf-8").split("</main>")
        assert f'href="{link}">Who we are' in foot, name
        assert "Who we are" not in main, name
    assert "An evening out" in page(out, "helping/index.html").text


def test_a_page_can_ask_for_figures_and_maps(job: SiteJob, tmp_path: Path) -> None:
    pages = tmp_path / "content" / "pages"
    pages.mkdir(parents=True)
    (pages / "us.md").write_text(
        "Title: Us\nSummary: {{figures.hours_watched}} hours.\n\n"
        "We fixed {{ figures.boxes_fitted }} boxes up to {{ figures.newest_record }}.\n\n"
        "{{ maps.town }}\n\n{{ maps.albert-road }}\n"
    )
    out = tmp_path / "s"
    build_site(job.model_copy(update={"content": tmp_path / "content", "out": out}))
    found = page(out, "us/index.html")
    assert "We fixed 7 boxes up to 14 August 2026." in found.text
    maps = [a for tag, a in found.elements if tag == "svg" and a.get("class") == "still-map"]
    assert len(maps) == 2
    assert "31 hours." in page(out, "helping/index.html").text


def test_a_page_can_ask_for_charts_with_their_tables(
    job: SiteJob, release: PublicRelease, tmp_path: Path
) -> None:
    # The small town's release has no parties by sunset; three bands are given to it here.
    bands = (
        {"from_minutes": None, "to_minutes": 60, "parties": 1},
        {"from_minutes": 60, "to_minutes": 0, "parties": 4},
        {"from_minutes": 0, "to_minutes": None, "parties": 2},
    )
    figures = release.town_figures.model_dump() | {"parties_by_sunset": bands}
    told = type(release).model_validate(release.model_dump() | {"town_figures": figures})
    release_file = tmp_path / "release.json"
    release_file.write_text(release_to_json(told), encoding="utf-8")
    pages = tmp_path / "content" / "pages"
    pages.mkdir(parents=True)
    (pages / "us.md").write_text(
        "Title: Us\n\nWhen?\n\n{{ charts.parties_by_sunset }}\n\n{{ charts.use_of_boxes }}\n"
    )
    out = tmp_path / "s"
    build_site(
        job.model_copy(
            update={"content": tmp_path / "content", "release": release_file, "out": out}
        )
    )
    found = page(out, "us/index.html")
    assert [a.get("class") for tag, a in found.elements if tag == "svg"].count("chart") == 1
    assert "Screaming parties by the time before sunset" in found.text
    html = (out / "us" / "index.html").read_text("utf-8")
    for words, parties in (
        ("more than 60 minutes before", 1),
        ("the last 60 minutes before", 4),
        ("after sunset", 2),
    ):
        assert f'<tr><th scope="row">{words}</th><td>{parties}</td></tr>' in html
    # One season's figure is no chart.
    assert "There is too little for this chart yet." in found.text


def test_an_unknown_chart_is_named_with_its_line_and_the_nearest_name(
    job: SiteJob, tmp_path: Path
) -> None:
    pages = tmp_path / "content" / "pages"
    pages.mkdir(parents=True)
    (pages / "us.md").write_text("Title: Us\n\nHello.\n\n{{ charts.use_of_box }}\n")
    with pytest.raises(InputError) as caught:
        build_site(job.model_copy(update={"content": tmp_path / "content", "out": tmp_path / "s"}))
    (problem,) = caught.value.problems
    assert "Line 5 asks for charts.use_of_box" in problem.what
    assert "did you mean charts.use_of_boxes?" in problem.what
    assert "charts.daily_peaks" in problem.next_step


def test_an_unknown_figure_is_named_with_its_line_and_the_nearest_name(
    job: SiteJob, tmp_path: Path
) -> None:
    pages = tmp_path / "content" / "pages"
    pages.mkdir(parents=True)
    (pages / "us.md").write_text(
        "Title: Us\n\nHello.\n\n{{ figures.boxs_fitted }} and {{}}\n\n{{ maps.albert-rode }}\n"
    )
    with pytest.raises(InputError) as caught:
        build_site(job.model_copy(update={"content": tmp_path / "content", "out": tmp_path / "s"}))
    (problem,) = caught.value.problems
    assert (problem.code, problem.file) == ("content-unknown-figure", "content/pages/us.md")
    assert "Line 5 asks for figures.boxs_fitted" in problem.what
    assert "did you mean figures.boxes_fitted?" in problem.what
    assert "Line 7 asks for maps.albert-rode" in problem.what
    assert "did you mean maps.albert-road?" in problem.what
    assert "figures.hours_watched" in problem.next_step


@pytest.mark.parametrize(
    ("template", "line"),
    [
        ('{% extends "base.html" %}\n{% block main %}{{ no_such_name }}{% endblock %}\n', 2),
        ('{% extends "base.html" %}\n\n{% blok main %}{% endblock %}\n', 3),
        ('{% extends "base.html" %}\n{% block main %}\n{{ _("5 % more") }}{% endblock %}\n', 3),
        ('{% extends "base.html" %}\n{% block main %}\n{{ _("5 % so") }}{% endblock %}\n', 3),
        ('{% extends "base.html" %}\n{% block main %}{{ _("%(n)s birds") }}{% endblock %}\n', 2),
        ('{% extends "base.html" %}\n{% block main %}{{ 1 // 0 }}{% endblock %}\n', 2),
        ('{% extends "base.html" %}\n{% block main %}{{ town.name + 1 }}{% endblock %}\n', 2),
        ('{% extends "bass.html" %}\n', 1),
    ],
)
def test_a_fault_in_a_template_of_the_town_stops_the_build_with_its_line(
    job: SiteJob, tmp_path: Path, template: str, line: int
) -> None:
    theme = tmp_path / "theme"
    (theme / "templates").mkdir(parents=True)
    (theme / "templates" / "boxes.html").write_text(template)
    with pytest.raises(InputError) as caught:
        build_site(
            job.model_copy(update={"theme": (theme, default_theme()), "out": tmp_path / "s"})
        )
    (problem,) = caught.value.problems
    assert (problem.code, problem.file, problem.row) == (
        "theme-template-broken",
        "theme/templates/boxes.html",
        line,
    )


def test_a_town_can_replace_one_template_and_one_style(job: SiteJob, tmp_path: Path) -> None:
    theme = tmp_path / "theme"
    (theme / "templates").mkdir(parents=True)
    (theme / "static" / "css").mkdir(parents=True)
    (theme / "templates" / "news.html").write_text(
        '{% extends "!theme/base.html" %}{% block main %}<h1>Our own news</h1>{% endblock %}'
    )
    (theme / "static" / "css" / "variables.css").write_text(":root { --paper: #fff; }\n")
    build_site(job.model_copy(update={"theme": (theme, default_theme()), "out": tmp_path / "s"}))
    assert "Our own news" in page(tmp_path / "s", "news/index.html").text
    assert (tmp_path / "s/theme/css/variables.css").read_text() == ":root { --paper: #fff; }\n"
    assert (tmp_path / "s/theme/css/site.css").is_file()


def test_a_plugin_that_cannot_start_stops_the_build(
    release: PublicRelease, job: SiteJob, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Pelican itself would log it and publish the site without the pages it makes.
    def fail(_plugin: object) -> None:
        msg = "cannot start"
        raise RuntimeError(msg)

    monkeypatch.setattr(pelican_plugin.SitePlugin, "register", fail)
    whole = job.model_copy(update={"out": tmp_path / "s"})
    assert release.has_map
    with pytest.raises(EavelineError) as caught:
        pelican_run.run(whole)
    assert "site-builder-fault" in {problem.code for problem in caught.value.problems}
    assert not (tmp_path / "s" / "index.html").exists()


def test_a_builder_that_dies_is_our_fault(job: SiteJob, tmp_path: Path) -> None:
    (tmp_path / "release.json").write_text("{}")
    with pytest.raises(EavelineError) as caught:
        build_site(
            job.model_copy(update={"release": tmp_path / "release.json", "out": tmp_path / "s"})
        )
    assert [problem.code for problem in caught.value.problems] == ["site-builder-died"]
    assert not isinstance(caught.value, InputError)
