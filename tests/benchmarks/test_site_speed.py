"""A city of 5,000 streets gets its pages at no more than three times what a bare loop takes.

The loop draws the same street maps, renders the same templates with the same values and writes
the same files; it has no moving map, no search, no feed and no checks.
"""

from __future__ import annotations

import gc
import time
from pathlib import Path
from typing import Any

import pytest
from pelican import Pelican
from pelican.settings import read_settings
from pelican.writers import Writer
from pytest_benchmark.fixture import BenchmarkFixture

from benchmarks.many_streets import street_names, write_city
from eaveline.public.downloads.all_files import write_downloads
from eaveline.public.maps.basemap import load_basemap
from eaveline.public.maps.layers import MapLayer
from eaveline.public.maps.still_maps import StillMaps
from eaveline.public.pages.build_log import BuildLog
from eaveline.public.pages.pelican_settings import pelican_settings
from eaveline.public.records import release_from_json
from eaveline.public.site import SiteJob

STREETS = 5_000
LIMIT_S = 6.0
MOST_TIMES_BARE = 3.0


def build(job: SiteJob, monkeypatch: pytest.MonkeyPatch) -> tuple[float, float, float]:
    """Build a site; return the seconds of its pages, of a bare loop and of the downloads."""
    pages: list[tuple[Any, dict[str, Any], Path]] = []
    write_file = Writer.write_file

    def noted(
        self: Writer, name: str, template: Any, context: dict[str, Any], **values: Any
    ) -> None:
        pages.append((template, context | values, Path(name)))
        write_file(self, name, template, context, **values)

    monkeypatch.setattr(Writer, "write_file", noted)
    job.content.mkdir()
    job.out.mkdir()
    release = release_from_json(job.release.read_text("utf-8"))
    basemap = load_basemap(job.map_folder, crs=release.crs)
    started = time.perf_counter()
    write_downloads(release, basemap, job.town, job.out / "data")
    downloads = time.perf_counter() - started

    started = time.perf_counter()
    with BuildLog(job.content) as log:
        settings = pelican_settings(job, release=release, basemap=basemap, log=log)
        Pelican(read_settings(override=settings)).run()
        log.raise_if_any()
    whole = time.perf_counter() - started

    bare_out = job.out.with_name("bare")
    started = time.perf_counter()
    maps = StillMaps(release, basemap)
    for template, values, path in pages:
        if "street" in values:
            values["svg"] = maps.street(values["street"].slug, layer=MapLayer.SWIFT_NESTS)
        root = "/".join([".."] * (len(path.parts) - 1)) or "."
        # The page that stands in for missing ones has a root of its own.
        root = values["SITEURL"] if template.name == "404.html" else root
        text = template.render(values | {"SITEURL": root, "output_file": path.as_posix()})
        (bare_out / path).parent.mkdir(parents=True, exist_ok=True)
        (bare_out / path).write_text(text, encoding="utf-8")
    bare = time.perf_counter() - started
    for _, _, path in pages:
        assert (bare_out / path).read_bytes() == (job.out / path).read_bytes(), path
    return whole, bare, downloads


def test_the_bare_loop_writes_the_same_pages(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole, bare, _ = build(write_city(tmp_path, streets=40), monkeypatch)
    assert whole > bare > 0
    assert len(list((tmp_path / "site" / "streets").glob("*/index.html"))) == 40


def test_street_names_differ() -> None:
    assert len(set(street_names(STREETS))) == STREETS


@pytest.mark.slow
def test_five_thousand_streets(
    benchmark: BenchmarkFixture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if not benchmark.enabled:
        pytest.skip("measures only with --benchmark-enable")
    job = write_city(tmp_path, streets=STREETS)
    gc.disable()  # for both, as in the builder's own process
    try:
        whole, bare, downloads = benchmark.pedantic(lambda: build(job, monkeypatch), rounds=1)  # type: ignore[no-untyped-call]  # has no types
    finally:
        gc.enable()
    benchmark.extra_info.update(pages_s=whole, bare_s=bare, downloads_s=downloads)
    assert whole < LIMIT_S
    assert whole / bare <= MOST_TIMES_BARE
