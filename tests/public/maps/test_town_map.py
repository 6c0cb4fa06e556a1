"""The moving map: its files, its data, and how it behaves in a browser."""

from __future__ import annotations

import gzip
import json
import re
import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import jinja2
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from eaveline.messages import MessagesExtension
from eaveline.public.maps.basemap import BaseMap, load_basemap
from eaveline.public.maps.layers import MapLayer
from eaveline.public.maps.town_map import TownMap, town_map
from eaveline.public.records import PublicRelease
from eaveline.public.words import wording

THEME = Path(__file__).resolve().parents[3] / "theme"


@pytest.fixture(scope="module")
def basemap(map_folder: Path, release: PublicRelease) -> BaseMap:
    return load_basemap(map_folder, crs=release.crs)


@pytest.fixture(scope="module")
def moving_map(release: PublicRelease, basemap: BaseMap) -> TownMap:
    return town_map(release, basemap)


@pytest.fixture(scope="module")
def data(moving_map: TownMap) -> Any:
    script = moving_map.files["map/map-data.js"].decode()
    start = "window.eavelineTownMap = "
    assert script.startswith(start)
    return json.loads(script.removeprefix(start).rstrip().removesuffix(";"))


@pytest.fixture(scope="module")
def written(moving_map: TownMap, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write the map's page, with the theme's styles and scripts, in a folder of its own."""
    root = tmp_path_factory.mktemp("map-page") / "sub folder"
    for name, content in moving_map.files.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_bytes(content)
    shutil.copytree(THEME / "static", root / "theme")
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(THEME / "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        extensions=[MessagesExtension],
    )
    environment.globals["say"] = wording
    part = environment.get_template("_town_map.html")
    body = part.render(town_map=moving_map.context, SITEURL="..")
    styles = ("theme/css/variables.css", "theme/css/site.css", *moving_map.stylesheets)
    head = "".join(f'<link rel="stylesheet" href="../{path}">' for path in styles)
    scripts = "".join(f'<script defer src="../{path}"></script>' for path in moving_map.scripts)
    (root / "map" / "index.html").write_text(
        '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Map</title>'
        f"{head}</head><body><main><h1>Map</h1>{body}</main>{scripts}</body></html>",
        encoding="utf-8",
    )
    return root


@pytest.fixture
def map_page(page: Page, written: Path) -> Page:
    """Open the page from its folder, without a server; it must ask for nothing elsewhere."""
    elsewhere: list[str] = []
    faults: list[str] = []
    page.on("request", lambda r: None if r.url.startswith("file:") else elsewhere.append(r.url))
    page.on("requestfailed", lambda r: faults.append(r.url))
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda m: faults.append(m.text) if m.type == "error" else None)
    page.goto((written / "map" / "index.html").as_uri())
    page.wait_for_selector("#map_town[data-ready]")
    assert elsewhere == []
    assert faults == []
    return page


def test_the_same_release_gives_the_same_bytes(
    moving_map: TownMap, release: PublicRelease, basemap: BaseMap
) -> None:
    assert town_map(release, basemap).files == moving_map.files


def test_no_file_of_ours_asks_another_host(moving_map: TownMap) -> None:
    for name in ("map/map-data.js", "map/map-setup.js"):
        assert b"//" not in moving_map.files[name].replace(b"// ", b""), name
    for name in ("css/map.css", "js/town-map.js"):
        text = (THEME / "static" / name).read_text(encoding="utf-8")
        assert set(re.findall(r"https?://[^\"']+", text)) <= {"http://www.w3.org/2000/svg"}, name


def test_a_town_of_four_hundred_regions_would_stay_in_its_budget(written: Path, data: Any) -> None:
    """150 kB, gzipped, for 400 regions in five layers and nine seasons."""
    pages = [p for p in written.rglob("*") if p.suffix in {".html", ".js", ".css"}]
    total = sum(len(gzip.compress(path.read_bytes())) for path in pages)
    # What grows with the town: figures that do not repeat cost a character each at most, and
    # 400 outlines and rows of the table some 60 bytes each.
    figures = 400 * len(data["layers"]) * 9
    assert total + figures + 400 * 60 < 150_000


def test_data_say_what_the_release_says(data: Any, release: PublicRelease) -> None:
    layers = {layer["key"]: layer for layer in data["layers"]}
    assert list(layers) == [layer.value for layer in MapLayer]
    assert layers["swift-nests"]["figures"]["2026"] == "cba--b--"
    assert layers["swift-nests"]["surest"]["2026"] == "dcaaabaa"
    assert layers["boxes"]["figures"]["2024"] == "abaaaaaa"
    assert layers["boxes"]["surest"] == {}
    assert [region[0] for region in data["regions"]] == [region.id for region in release.regions]
    assert [site[1:] for site in data["sites"]] == [
        [["Swift nest, since 2026"], 4],
        [["Littlemarsh Library: swift box, since 2025"], 3],
    ]


def test_data_hold_no_point_but_centres_of_cells(data: Any) -> None:
    """A region's label stands in the middle of one of its cells, so it can tell no more."""
    spots = [region[4] for region in data["regions"]] + [site[0] for site in data["sites"]]
    for latitude, longitude in spots:
        assert round(latitude, 6) == latitude
        assert round(longitude, 6) == longitude
    # R001 and R002 are neighbours on the grid: 100 m apart, which is 0.00148 degrees here.
    east = data["regions"][1][4][1] - data["regions"][0][4][1]
    assert abs(east - 0.00148) < 0.00002


def test_the_table_says_what_the_map_says(moving_map: TownMap) -> None:
    rows = moving_map.context["rows"]
    assert len(rows) == 8
    assert (rows[0].name, rows[0].premises) == ("Square 1", 14)
    assert rows[0].cells == ("at least 3", "not known", "at least 6", "none known", "6 to 15")
    assert rows[5].name == "Group of squares 6"


def test_buildings_stay_out_of_the_map(
    moving_map: TownMap, release: PublicRelease, basemap: BaseMap
) -> None:
    assert town_map(release, replace(basemap, buildings=())).files == moving_map.files


def test_no_regions_no_map(release: PublicRelease, basemap: BaseMap) -> None:
    with pytest.raises(ValueError, match="without regions"):
        town_map(release.model_copy(update={"regions": ()}), basemap)
    with pytest.raises(ValueError, match="EPSG:29903"):
        town_map(release, replace(basemap, crs="EPSG:29903"))


def test_a_town_without_water_greens_or_edge(release: PublicRelease, basemap: BaseMap) -> None:
    bare = replace(basemap, water=(), greens=(), boundary=None)
    assert b"geo_json_squares" in town_map(release, bare).files["map/map-setup.js"]


# ---- In a browser


@pytest.mark.browser
def test_squares_are_drawn_and_say_what_they_mean(map_page: Page) -> None:
    squares = map_page.locator("#map_town path[role=button]")
    expect(squares).to_have_count(8)
    expect(squares.first).to_have_attribute(
        "aria-label",
        "Square 1, 14 premises. At least 3 swift nest sites (surest evidence: confirmed breeding). "
        "Watched for 6 to 15 hours.",
    )
    box = squares.first.bounding_box()
    assert box is not None
    assert box["width"] > 20
    assert box["height"] > 20
    expect(map_page.locator("#map-still")).to_be_hidden()


@pytest.mark.browser
def test_choosing_a_layer_and_season_changes_map_legend_and_table(map_page: Page) -> None:
    fill = map_page.locator("#map_town path[role=button]").nth(1)
    before = fill.get_attribute("fill")
    map_page.get_by_label("Show", exact=True).select_option("boxes")
    map_page.get_by_label("Season", exact=True).select_option("2024")
    assert fill.get_attribute("fill") != before
    expect(map_page.locator("#map-showing")).to_have_text("Nest boxes, 2024")
    expect(map_page.locator("#map-legend li").first).to_have_text("No nest box known")
    expect(map_page.locator("#map-table-caption")).to_have_text("Every square, 2024")
    cell = map_page.locator("#map-table-rows tr").nth(1).locator("td").nth(5)
    expect(cell).to_have_text("1 or 2")
    assert map_page.url.endswith("#layer=boxes&season=2024")


@pytest.mark.browser
def test_squares_are_reached_walked_and_read_with_the_keyboard(map_page: Page) -> None:
    map_page.get_by_label("Go to a street").focus()
    focused = "() => document.activeElement.getAttribute('aria-label') || ''"
    for _ in range(8):
        map_page.keyboard.press("Tab")
        if map_page.evaluate(focused).startswith("Square 1,"):
            break
    assert map_page.evaluate(focused).startswith("Square 1,")
    map_page.keyboard.press("ArrowRight")
    assert map_page.evaluate(focused).startswith("Square 2,")
    map_page.keyboard.press("ArrowUp")
    assert map_page.evaluate(focused).startswith("Group of squares 6,")
    tips = map_page.locator(".map-tip")
    expect(tips).to_have_count(1)  # the others have faded
    expect(tips).to_contain_text("Group of squares 6, 11 premises.")
    map_page.keyboard.press("Enter")
    reading = map_page.locator("#map-reading")
    expect(reading.get_by_role("heading", level=2)).to_have_text("Group of squares 6")
    expect(reading.get_by_role("link", name="Mill Lane")).to_have_attribute(
        "href", "../streets/mill-lane/index.html"
    )
    # One stop for Tab, however many squares there are.
    expect(map_page.locator("#map_town path[tabindex='0']")).to_have_count(1)


@pytest.mark.browser
def test_a_click_reads_a_square_and_names_are_text_not_markup(map_page: Page) -> None:
    map_page.locator("#map_town path[role=button]").nth(4).click(force=True)
    reading = map_page.locator("#map-reading")
    expect(reading).to_contain_text("12 homes and other premises share these figures")
    expect(reading.get_by_role("link")).to_have_text("<b>O'Neill & Söhne</b>")
    expect(map_page.locator("#map_town path[aria-pressed='true']")).to_have_count(1)


@pytest.mark.browser
def test_a_square_that_is_read_names_the_places_listed_in_it(map_page: Page) -> None:
    reading = map_page.locator("#map-reading")
    map_page.locator("#map_town path[role=button]").nth(3).click(force=True)
    expect(reading).to_contain_text("Littlemarsh Library: swift box, since 2025")
    map_page.locator("#map_town path[role=button]").nth(0).click(force=True)
    expect(reading.get_by_role("heading", level=2)).to_have_text("Square 1")
    expect(reading).not_to_contain_text("agreement")


@pytest.mark.browser
def test_a_link_can_lead_to_a_street(page: Page, written: Path) -> None:
    address = (written / "map" / "index.html").as_uri()
    page.goto(f"{address}#layer=parties&season=2025&street=mill-lane")
    page.wait_for_selector("#map_town[data-ready]")
    expect(page.get_by_label("Show", exact=True)).to_have_value("parties")
    expect(page.get_by_label("Go to a street")).to_have_value("mill-lane")
    expect(page.locator(".map-street-name", has_text="Swan Street")).to_have_count(1)


@pytest.mark.browser
def test_an_odd_address_does_no_harm(page: Page, written: Path) -> None:
    page.goto((written / "map" / "index.html").as_uri() + "#layer=<b>&season=1066&table=x&street=")
    page.wait_for_selector("#map_town[data-ready]")
    expect(page.get_by_label("Show", exact=True)).to_have_value("swift-nests")


@pytest.mark.browser
def test_without_scripts_there_is_a_still_map_a_legend_and_a_table(
    browser: Any, written: Path
) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto((written / "map" / "index.html").as_uri())
    expect(page.get_by_role("img", name="Map of Littlemarsh")).to_be_visible()
    expect(page.locator("#map-choices")).to_be_hidden()
    page.get_by_text("The same as a table").click()
    expect(page.get_by_role("row", name="Square 1 ")).to_be_visible()
    context.close()


@pytest.mark.browser
@pytest.mark.parametrize("width", [390, 1440])
def test_axe_finds_nothing(map_page: Page, width: int) -> None:
    map_page.set_viewport_size({"width": width, "height": 900})
    map_page.reload()
    map_page.wait_for_selector("#map_town[data-ready]")
    map_page.locator("#map_town path[role=button]").first.click(force=True)
    map_page.get_by_text("The same as a table").click()
    results = Axe().run(map_page)
    assert results.violations_count == 0, results.generate_report()
    # Nothing makes the page itself scroll sideways.
    assert map_page.evaluate("document.documentElement.scrollWidth <= innerWidth")
