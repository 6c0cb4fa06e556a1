"""The site in a browser: nothing from elsewhere, nothing that shuts a reader out."""

from __future__ import annotations

import functools
import io
import shutil
import threading
from collections.abc import Iterator
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Literal

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser
from pypdf import PdfReader

from eaveline.public.pages import charts
from eaveline.public.site import SiteJob, build_site, default_theme
from eaveline.public.town import PublicTown
from waiting import wait_until

pytestmark = pytest.mark.browser

CONTENT = Path(__file__).resolve().parents[2] / "content"
SPECIMEN = Path(__file__).parent / "specimen" / "specimen.md"
PAGES = (
    "index.html",
    "map/index.html",
    "streets/index.html",
    "streets/albert-road/index.html",
    "streets/b-oneill-sohne-b/index.html",
    "streets/far-common-lane/index.html",
    "seasons/index.html",
    "boxes/index.html",
    "method/index.html",
    "data/index.html",
    "helping/index.html",
    "offers/index.html",
    "news/index.html",
    "news/they-are-back/index.html",
    "search/index.html",
    "putting-up-boxes/index.html",
    "watching-for-swifts/index.html",
    "for-planning-officers/index.html",
    "specimen/index.html",
    "404.html",
)


class _Quiet(SimpleHTTPRequestHandler):
    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - the base class's name
        pass


@pytest.fixture(scope="module")
def site(
    release_file: Path,
    public_town: PublicTown,
    map_folder: Path,
    tmp_path_factory: pytest.TempPathFactory,
) -> Path:
    folder = tmp_path_factory.mktemp("browsed")
    out = folder / "colony"
    content = Path(shutil.copytree(CONTENT, folder / "content"))
    shutil.copy(SPECIMEN, content / "pages")
    build_site(
        SiteJob(
            release=release_file,
            town=public_town,
            map_folder=map_folder,
            content=content,
            theme=(default_theme(),),
            centre_m=(650_350.0, 330_150.0),
            out=out,
        )
    )
    return out


@pytest.fixture(scope="module")
def address(site: Path) -> Iterator[str]:
    """Serve the site from a subfolder, as many hosts do."""
    server = ThreadingHTTPServer(
        ("127.0.0.1", 0), functools.partial(_Quiet, directory=str(site.parent))
    )
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_address[1]}/{site.name}"
    server.shutdown()
    server.server_close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [320, 1280])
def test_pages_shut_nobody_out_and_ask_no_other_host(
    browser: Browser, address: str, scheme: Literal["light", "dark"], width: int
) -> None:
    context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)
    page = context.new_page()
    requests: list[str] = []
    faults: list[str] = []
    page.on("request", lambda request: requests.append(request.url))
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("response", lambda answer: faults.append(answer.url) if answer.status >= 400 else None)
    for name in PAGES:
        page.goto(f"{address}/{name}", wait_until="load")
        # What is folded away has to be fit to read as well.
        page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
        results = Axe().run(page)
        assert not results.response["violations"], f"{name}: {results.generate_report()}"
        overflow = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert overflow <= 0, f"{name} is {overflow} px too wide at {width} px"
    own = address.rsplit("/", 1)[0]
    assert [url for url in requests if not url.startswith((own, "data:", "blob:"))] == []
    assert faults == []
    context.close()


def test_the_security_policy_allows_no_inline_script_and_nothing_breaks_it(
    browser: Browser, address: str, site: Path
) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.add_init_script(
        "window.broken = []; document.addEventListener('securitypolicyviolation',"
        " event => window.broken.push(event.violatedDirective + ' ' + event.sourceFile))"
    )
    told: list[str] = []
    page.on("console", lambda message: told.append(message.text))
    for start in (address, site.as_uri()):
        for name in PAGES:
            page.goto(f"{start}/{name}", wait_until="load")
            if name == "map/index.html":
                page.wait_for_selector("#map_town[data-ready]")
                page.select_option("#map-layer", "boxes")
                page.locator("#map_town path[role=button]").first.click()
            assert page.evaluate("window.broken") == [], name
            policy = page.locator("meta[http-equiv=Content-Security-Policy]")
            assert "unsafe" not in (policy.get_attribute("content") or "unsafe")
    assert told == []
    # The policy is in force: a script written into the page does not run.
    page.evaluate(
        "document.body.appendChild(Object.assign(document.createElement('script'),"
        " {textContent: 'window.ran = true'}))"
    )
    wait_until(page, "window.broken.length == 1")
    assert not page.evaluate("window.ran")
    context.close()


@pytest.mark.parametrize("from_folder", [False, True])
def test_search_finds_streets_and_words_without_a_server(
    browser: Browser, address: str, site: Path, *, from_folder: bool
) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"{site.as_uri() if from_folder else address}/search/index.html")
    field = page.get_by_role("searchbox", name="Look for")
    found = page.locator("#search-found a")
    field.fill("alb")
    assert found.all_inner_texts() == ["Albert Road"]
    field.fill("oneill sohne")
    assert found.all_inner_texts() == ["<b>O'Neill & Söhne</b>"]
    field.fill("slot starlings")
    assert found.all_inner_texts() == ["Putting up boxes"]
    field.fill("zzz")
    assert page.get_by_role("status").inner_text().startswith("Nothing found")
    field.fill("albert")
    found.first.click()
    assert page.get_by_role("heading", level=1).inner_text() == "Albert Road"
    context.close()


def test_pages_can_be_read_with_scripts_off(browser: Browser, address: str) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{address}/map/index.html")
    assert page.locator("svg.still-map").first.is_visible()
    page.goto(f"{address}/streets/index.html")
    page.get_by_role("link", name="Albert Road").click()
    assert page.get_by_role("heading", level=1).inner_text() == "Albert Road"
    context.close()


def test_site_opens_from_a_folder(browser: Browser, site: Path) -> None:
    context = browser.new_context()
    page = context.new_page()
    faults: list[str] = []
    page.on("requestfailed", lambda request: faults.append(request.url))
    page.goto((site / "index.html").as_uri())
    page.get_by_role("link", name="Streets", exact=True).click()
    page.get_by_role("link", name="Albert Road").click()
    # The style sheet has come along: the sky behind the roofs is no default colour.
    assert (
        page.locator("header.top").evaluate("e => getComputedStyle(e).backgroundColor")
        == "rgb(38, 40, 80)"
    )
    assert faults == []
    context.close()


def test_the_keyboard_leads_through_the_map(browser: Browser, address: str) -> None:
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    page.goto(f"{address}/map/index.html")
    page.wait_for_selector("#map_town[data-ready]")
    focused = "document.activeElement"
    page.locator("#map-layer").focus()
    for wanted in ("map-season", "map-street"):
        page.keyboard.press("Tab")
        assert page.evaluate(f"{focused}.id") == wanted
    # Past the map itself, then one stop for all squares.
    for _ in range(4):
        page.keyboard.press("Tab")
        if page.evaluate(
            f"{focused}.getAttribute('role') === 'button' && {focused}.matches('path')"
        ):
            break
    first = page.evaluate(f"{focused}.getAttribute('aria-label')")
    assert first.startswith("Square")
    page.keyboard.press("ArrowRight")
    second = page.evaluate(f"{focused}.getAttribute('aria-label')")
    assert second.startswith("Square")
    assert second != first
    page.keyboard.press("ArrowLeft")
    assert page.evaluate(f"{focused}.getAttribute('aria-label')") == first
    page.keyboard.press("Enter")
    reading = page.locator("#map-reading")
    assert reading.get_by_role("heading", level=2).inner_text() == first.split(",")[0]
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Tab")
    assert page.evaluate(f"{focused}.getAttribute('aria-label')") == first
    # On to the zoom buttons or the panel: the map is no trap.
    for _ in range(12):
        page.keyboard.press("Tab")
    assert not page.evaluate(f"document.getElementById('map_town').contains({focused})")
    context.close()


def test_text_at_twice_its_size_loses_nothing(browser: Browser, address: str) -> None:
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    for name in PAGES:
        page.goto(f"{address}/{name}", wait_until="load")
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        overflow = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert overflow <= 0, f"{name} is {overflow} px too wide"
        cut = page.evaluate(
            """[...document.querySelectorAll('main *, header *, footer *')].filter(e => {
                const style = getComputedStyle(e);
                return ['hidden', 'clip'].includes(style.overflowX)
                    && e.clientWidth > 1 && e.scrollWidth > e.clientWidth + 1
                    && !e.closest('.unseen, svg, .leaflet-container, .map-moving');
            }).map(e => e.className)"""
        )
        assert cut == [], name
    context.close()


def test_a_column_of_twenty_letters_still_reads(browser: Browser, address: str) -> None:
    context = browser.new_context(viewport={"width": 200, "height": 700})
    page = context.new_page()
    for name in PAGES:
        page.goto(f"{address}/{name}", wait_until="load")
        overflow = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert overflow <= 0, f"{name} is {overflow} px too wide"
    context.close()


def test_a_missing_picture_leaves_its_description(browser: Browser, address: str) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.route("**/*.svg", lambda route: route.abort())
    page.goto(f"{address}/specimen/index.html")
    picture = page.get_by_role("img", name="A swift")
    assert picture.evaluate("e => e.complete && e.naturalWidth") == 0
    # The words take the picture's place, and the maps are part of the page.
    box = picture.bounding_box()
    assert box is not None
    assert box["height"] > 10
    assert page.locator("svg.still-map").first.is_visible()
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_map_prints_on_one_sheet_with_its_legend(
    browser: Browser, address: str, scheme: Literal["light", "dark"]
) -> None:
    context = browser.new_context(viewport={"width": 1280, "height": 900}, color_scheme=scheme)
    page = context.new_page()
    page.goto(f"{address}/map/index.html")
    page.wait_for_selector("#map_town[data-ready]")
    page.select_option("#map-layer", "boxes")
    reader = PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))
    (sheet,) = reader.pages
    assert [round(float(side)) for side in sheet.mediabox[2:]] == [595, 842]  # A4 in points
    text = " ".join(sheet.extract_text().split())
    # What was chosen is what is printed, with what its shades mean.
    for words in ("Map of Littlemarsh", "Nest boxes, all seasons", "3 to 5 nest boxes"):
        assert words in text
    for words in ("Go to a street", "Tap or click", "Helping", "The same as a table"):
        assert words not in text
    page.emulate_media(media="print")
    wait_until(page, "document.getElementById('map_town').clientHeight < 450")
    # The whole town comes to lie inside the map's frame on paper, too.
    wait_until(
        page,
        """() => {
            const frame = document.getElementById('map_town').getBoundingClientRect();
            return [...document.querySelectorAll('#map_town path[role=button]')]
                .map(e => e.getBoundingClientRect())
                .every(b => b.left >= frame.left && b.right <= frame.right
                    && b.top >= frame.top && b.bottom <= frame.bottom);
        }""",
    )
    colours = page.evaluate(
        "[getComputedStyle(document.body).color, getComputedStyle(document.body).backgroundColor]"
    )
    assert colours == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]
    context.close()


@pytest.mark.parametrize("name", ["streets/albert-road/index.html", "boxes/index.html"])
def test_other_pages_print_without_ways_about_and_with_whole_tables(
    browser: Browser, address: str, name: str
) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"{address}/{name}")
    reader = PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))
    text = " ".join(" ".join(sheet.extract_text().split()) for sheet in reader.pages)
    assert "Made from at least 412 records" in text
    assert "Skip to the page" not in text
    assert "Search" not in text
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 680, "height": 900})  # the text's width on A4
    cut = page.evaluate(
        "[...document.querySelectorAll('.scroll')]"
        ".filter(e => e.scrollWidth > e.clientWidth).length"
    )
    assert cut == 0
    context.close()


def test_what_is_folded_away_on_a_screen_is_on_paper(browser: Browser, address: str) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"{address}/streets/albert-road/index.html")
    caption = "Seasons with a record or enough watching"
    assert not page.get_by_text(caption).first.is_visible()
    reader = PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))
    text = " ".join(" ".join(sheet.extract_text().split()) for sheet in reader.pages)
    assert text.count(caption) == 3  # one for each square
    # Season, swift and house martin nest sites, screaming parties, boxes, hours: the fixture's.
    assert "2025 at least 1 not watched enough at least 3 none known 2 to 5" in text
    context.close()


def test_a_street_page_is_short_on_a_phone(browser: Browser, address: str) -> None:
    """Three squares, their map and all ways on within five screens, unless seasons are opened."""
    context = browser.new_context(viewport={"width": 360, "height": 780})
    page = context.new_page()
    page.goto(f"{address}/streets/albert-road/index.html")
    assert page.evaluate("document.documentElement.scrollHeight") < 5 * 780
    context.close()


def test_a_street_is_two_taps_from_the_home_page(browser: Browser, address: str) -> None:
    context = browser.new_context(
        viewport={"width": 360, "height": 780}, has_touch=True, java_script_enabled=False
    )
    page = context.new_page()
    page.goto(f"{address}/index.html")
    finder = page.get_by_role("region", name="Find your street")
    box = finder.bounding_box()
    assert box is not None
    assert box["y"] < 780 * 0.75  # begins on the first screen
    finder.get_by_role("link", name="Albert Road").tap()
    assert page.get_by_role("heading", level=1).inner_text() == "Albert Road"
    context.close()


def test_a_tap_on_the_map_shows_what_the_square_says(browser: Browser, address: str) -> None:
    context = browser.new_context(
        viewport={"width": 360, "height": 740}, has_touch=True, is_mobile=True
    )
    page = context.new_page()
    page.goto(f"{address}/map/index.html")
    page.wait_for_selector("#map_town[data-ready]")
    page.locator("#map_town path[role=button]").first.tap(force=True)
    heading = page.locator("#map-reading h2")
    heading.wait_for()
    box = heading.bounding_box()
    assert box is not None
    assert 0 <= box["y"] < 740 * 0.8  # in sight, without a search for it
    # A tip would hide what is under the finger.
    assert page.locator(".map-tip").count() == 0
    context.close()


def test_letters_of_charts_stay_legible_on_a_phone(browser: Browser, address: str) -> None:
    context = browser.new_context(viewport={"width": 360, "height": 700})
    page = context.new_page()
    page.goto(f"{address}/map/index.html")
    # A chart of the kind that pages hold, set into a page with the site's own styles.
    page.evaluate(
        """svg => { const box = document.createElement('figure'); box.className = 'chart-figure';
            box.innerHTML = svg; document.querySelector('main').append(box); }""",
        str(
            charts.bars(
                "probe",
                ["2024", "2025", "2026"],
                [1, 2, 3],
                title="T",
                about="A",
                across="x",
                up="y",
            )
        ),
    )
    sizes = page.evaluate(
        """[...document.querySelectorAll('svg.chart text')].map(e => {
            const scale = e.ownerSVGElement.getScreenCTM().a;
            return parseFloat(getComputedStyle(e).fontSize) * scale; })"""
    )
    assert min(sizes) >= 9  # pixels; common practice, no source
    context.close()


def test_keyboard_reaches_the_text_first(browser: Browser, address: str) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"{address}/index.html")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the page’s text"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    context.close()


def test_wide_tables_scroll_by_themselves_with_the_keyboard(browser: Browser, address: str) -> None:
    context = browser.new_context(viewport={"width": 320, "height": 700})
    page = context.new_page()
    page.goto(f"{address}/streets/albert-road/index.html")
    table = page.get_by_role("region", name="Square 1, season by season")
    assert table.count() == 0  # folded away
    page.locator("summary").first.focus()
    page.keyboard.press("Enter")
    table.wait_for()
    page.keyboard.press("Tab")
    assert table.evaluate("e => e === document.activeElement")
    page.keyboard.press("ArrowRight")
    wait_until(page, "document.querySelector('.scroll').scrollLeft > 0")
    context.close()
