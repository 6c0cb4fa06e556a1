"""The site in a browser: nothing from elsewhere, nothing that shuts a reader out."""

from __future__ import annotations

import functools
import threading
from collections.abc import Iterator
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Literal

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser

from eaveline.public.site import SiteJob, build_site, default_theme
from eaveline.public.town import PublicTown

pytestmark = pytest.mark.browser

CONTENT = Path(__file__).resolve().parents[2] / "content"
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
    "news/index.html",
    "putting-up-boxes/index.html",
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
    out = tmp_path_factory.mktemp("browsed") / "colony"
    build_site(
        SiteJob(
            release=release_file,
            town=public_town,
            map_folder=map_folder,
            content=CONTENT,
            theme=(default_theme(),),
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
        results = Axe().run(page)
        assert not results.response["violations"], f"{name}: {results.generate_report()}"
        overflow = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert overflow <= 0, f"{name} is {overflow} px too wide at {width} px"
    own = address.rsplit("/", 1)[0]
    assert [url for url in requests if not url.startswith((own, "data:", "blob:"))] == []
    assert faults == []
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
    page.get_by_role("link", name="Find your street").click()
    page.get_by_role("link", name="Albert Road").click()
    # The style sheet has come along: the sky behind the roofs is no default colour.
    assert (
        page.locator("header.top").evaluate("e => getComputedStyle(e).backgroundColor")
        == "rgb(38, 40, 80)"
    )
    assert faults == []
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
    table.focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_function("document.querySelector('.scroll').scrollLeft > 0", timeout=5000)
    context.close()
