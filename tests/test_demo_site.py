"""The demo town, built as a coordinator would build it."""

from __future__ import annotations

import datetime as dt
import gzip
import json
import shutil
from collections.abc import Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from typing import Literal

import jsonschema
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, Response, expect

from demo_town.truth import truth
from eaveline import pipeline
from eaveline.private.intake.ledger import RowState

ROOT = Path(__file__).resolve().parent.parent
TODAY = dt.date(2026, 11, 25)


@pytest.fixture(scope="module")
def town(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the demo town, built in a folder of its own."""
    folder = tmp_path_factory.mktemp("ottersley")
    for name in ("survey_data", "content"):
        shutil.copytree(ROOT / name, folder / name)
    pipeline.build_town(folder, today=TODAY)
    return folder


@pytest.fixture(scope="module")
def address(town: Path) -> Iterator[str]:
    """Serve the built site from a subfolder of this machine."""

    class Quiet(SimpleHTTPRequestHandler):
        def log_message(self, *_: object) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(Quiet, directory=str(town)))
    Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}/site/"
    server.shutdown()
    server.server_close()


def test_every_page_is_there(town: Path) -> None:
    site = town / "site"
    for name in ("map", "streets", "seasons", "boxes", "method", "data", "news"):
        assert (site / name / "index.html").is_file()
    for name in ("joining-in", "watching-for-swifts", "putting-up-boxes", "about"):
        assert (site / name / "index.html").is_file()
    assert len(list((site / "streets").glob("*/index.html"))) >= 55
    assert len(list((site / "news").glob("*/index.html"))) >= 5
    assert list((site / "feeds").glob("*.xml"))


def test_the_release_follows_its_own_schema(town: Path) -> None:
    data = town / "site" / "data"
    release = json.loads((data / "release.json").read_text("utf-8"))
    schema = json.loads((data / "release.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator(schema).validate(release)
    assert release["has_map"]
    assert len(release["regions"]) > 100
    assert release["seasons"] == [str(year) for year in range(2019, 2027)]


def test_every_faulty_row_is_held_and_every_copy_is_merged(town: Path) -> None:
    intake, _ = pipeline.check_town(town, today=TODAY)
    rows = intake.ledger.rows
    names = intake.ledger.file_names
    state = {
        (names[file], row): str(found)
        for file, row, found in zip(rows["file"], rows["row"], rows["state"], strict=True)
    }
    facts = truth()
    faulty = facts.faulty()
    assert len(faulty) > 80
    held = {place for place, found in state.items() if found == RowState.HELD}
    assert {place: code for place, code in faulty.items() if place not in held} == {}
    assert held - faulty.keys() == facts.waiting()
    copies = facts.copies()
    assert all(
        RowState.MERGED in (state[copy], state[original]) for copy, original in copies.items()
    )
    # The council's own list is no member's, so the truth has no word on its rows.
    told = rows[rows["folder"] != "planning"]
    assert len(told) == len(facts.rows)
    assert sum(intake.ledger.counts().values()) == len(rows)


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(
    "path",
    [
        "index.html",
        "map/index.html",
        "streets/albert-road/index.html",
        "seasons/index.html",
        "boxes/index.html",
        "offers/index.html",
        "watching-for-swifts/index.html",  # with a chart
    ],
)
def test_nothing_is_asked_of_another_host_and_axe_finds_nothing(
    page: Page, address: str, path: str, scheme: Literal["light", "dark"]
) -> None:
    page.emulate_media(color_scheme=scheme)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(address + path, wait_until="load")
    assert asked
    assert [url for url in asked if not url.startswith((address, "data:"))] == []
    found = Axe().run(page)
    assert found.response["violations"] == []


@pytest.mark.browser
@pytest.mark.parametrize(
    ("path", "limit_bytes", "scripts"),
    [("streets/albert-road/index.html", 30_000, False), ("map/index.html", 150_000, True)],
)
def test_pages_stay_within_their_budgets(
    page: Page, address: str, path: str, limit_bytes: int, *, scripts: bool
) -> None:
    answers: list[Response] = []
    # A bound method of a list can't carry what Playwright hangs on a handler.
    page.on("response", lambda answer: answers.append(answer))  # noqa: PLW0108
    page.goto(address + path, wait_until="networkidle")
    sizes = {answer.url: len(gzip.compress(answer.body())) for answer in answers}
    assert any(url.endswith(".js") for url in sizes) is scripts
    assert sum(sizes.values()) <= limit_bytes, sizes
    paint_ms = page.evaluate(
        """new Promise(done => new PerformanceObserver(list =>
            done(list.getEntries().at(-1).startTime)
        ).observe({type: 'largest-contentful-paint', buffered: true}))"""
    )
    # Shown with pytest's -s.
    print(f"{path}: {sum(sizes.values()):,} bytes gzipped, largest paint after {paint_ms:.0f} ms")  # noqa: T201 - a measurement


@pytest.mark.browser
def test_the_maps_squares_are_drawn(page: Page, address: str, town: Path) -> None:
    release = json.loads((town / "site" / "data" / "release.json").read_text("utf-8"))
    page.goto(address + "map/index.html", wait_until="load")
    squares = page.locator("#map_town path[role=button]")
    expect(squares).to_have_count(len(release["regions"]))
    box = squares.first.bounding_box()
    assert box is not None
    assert box["width"] > 1
