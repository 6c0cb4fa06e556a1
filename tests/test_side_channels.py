"""Nothing beside the figures tells which house has the nest: each channel by the same swap.

One town is built twice: as it is, and with all that is recorded at two neighbouring houses
exchanged (nests, visits, owners' requests, planning), the files renamed, their rows reversed, on
another day. A channel is what a stranger reads off a site; it must read the same on both. Beside
it stands a plant: a site that leaks just there, on which the channel must read differently.
"""

from __future__ import annotations

import csv
import datetime as dt
import json
import os
import re
import shutil
import sqlite3
import subprocess
import time
import xml.etree.ElementTree as ET
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

import numpy as np
import pyproj
import pytest

from eaveline import pipeline
from eaveline.group.publish import publish, ready_site
from swapped_town import KNOWN, NEIGHBOUR, write_known_town
from swapping import mix_files, swap_houses

TODAY, A_WEEK_LATER = dt.date(2026, 11, 25), dt.date(2026, 12, 2)
TEXT = {".html", ".xml", ".json", ".csv", ".geojson", ".js", ".css", ".ics", ".svg", ".txt"}
OURS = ("pelican", "folium", "typst", "matplotlib", "pyogrio", "geopandas", "jinja2")
"""Packages that write into the site or make what is written; some sign what they write."""


@dataclass(frozen=True)
class Pair:
    """The two builds, and the first one's folder built once more after the swap."""

    plain: Path
    swapped: Path
    times_before: dict[str, int]
    times_after: dict[str, int]
    files_changed: int


def site_files(site: Path) -> list[Path]:
    return sorted(path for path in site.rglob("*") if path.is_file())


def names(site: Path) -> list[str]:
    return [path.relative_to(site).as_posix() for path in site_files(site)]


def times(site: Path) -> dict[str, int]:
    return {path.relative_to(site).as_posix(): path.stat().st_mtime_ns for path in site_files(site)}


@pytest.fixture(scope="module")
def pair(tmp_path_factory: pytest.TempPathFactory) -> Pair:
    folder = tmp_path_factory.mktemp("pair")
    plain, swapped = write_known_town(folder / "plain"), write_known_town(folder / "other" / "b")
    assert swap_houses(swapped, KNOWN, NEIGHBOUR) == 12
    mix_files(swapped)
    pipeline.build_town(plain, today=TODAY)
    pipeline.build_town(swapped, today=A_WEEK_LATER)
    again = shutil.copytree(plain, folder / "again")  # keeps modification times
    before = times(again / "site")
    swap_houses(again, KNOWN, NEIGHBOUR)
    outcome = pipeline.build_town(again, today=A_WEEK_LATER)
    return Pair(plain, swapped, before, times(again / "site"), outcome.files_changed)


# What a stranger reads.


def order_of_rows(site: Path) -> object:
    """Return the order of every table's, feature collection's and database's rows."""
    found: dict[str, object] = {}
    for path in site_files(site):
        if path.suffix == ".csv":
            with path.open(encoding="utf-8", newline="") as file:
                found[path.name] = list(csv.reader(file))
        if path.suffix == ".geojson":
            features = json.loads(path.read_text(encoding="utf-8"))["features"]
            found[path.name] = [feature["id"] for feature in features]
        if path.suffix == ".gpkg":
            found[path.name] = database_rows(path)
        if path.suffix == ".zip":
            with zipfile.ZipFile(path) as archive:
                found[path.name] = [
                    archive.read(name) for name in archive.namelist() if name.endswith(".csv")
                ]
    return found


def database_rows(path: Path) -> dict[str, list[tuple[object, ...]]]:
    """Return every table as it lies in the file, by row id."""
    with sqlite3.connect(path) as database:
        tables = [
            name
            for (name,) in database.execute(
                "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'rtree%'"
            )
        ]
        return {
            table: database.execute(f'SELECT * FROM "{table}"').fetchall()  # noqa: S608 - own names
            for table in tables
        }


def ids(site: Path) -> object:
    """Return every id that anything is given: elements, features, records, feeds' entries."""
    found: dict[str, object] = {}
    for path in site_files(site):
        if path.suffix in TEXT:
            text = path.read_text(encoding="utf-8")
            found[path.as_posix().removeprefix(site.as_posix())] = re.findall(
                r'\bid="[^"]*"|"id": ?"?[\w:-]+|<id>[^<]*|UID:\S+|urn:uuid:[0-9a-f-]+|R\d{3,}', text
            )
    with zipfile.ZipFile(site / "data/darwin-core.zip") as archive:
        for name in ("event.csv", "occurrence.csv"):
            rows = csv.reader(archive.read(name).decode().splitlines())
            found[name] = [row[0] for row in rows]
    return found


def file_names(site: Path) -> object:
    return names(site)


def file_sizes(site: Path) -> object:
    """Return sizes, those of parts of archives and of a database's pages among them."""
    found: dict[str, object] = {
        path.relative_to(site).as_posix(): path.stat().st_size for path in site_files(site)
    }
    for path in site_files(site):
        if path.suffix == ".zip":
            with zipfile.ZipFile(path) as archive:
                found[f"{path.name}: parts"] = [
                    (part.filename, part.file_size, part.compress_size)
                    for part in archive.infolist()
                ]
        if path.suffix == ".gpkg":
            with sqlite3.connect(path) as database:
                found[f"{path.name}: pages"] = [
                    database.execute(f"PRAGMA {what}").fetchone()
                    for what in ("page_size", "page_count", "freelist_count")
                ]
    return found


def times_within_files(site: Path) -> object:
    """Return times that archives, databases and documents carry inside."""
    found: dict[str, object] = {}
    for path in site_files(site):
        if path.suffix == ".zip":
            with zipfile.ZipFile(path) as archive:
                found[path.name] = [(part.filename, part.date_time) for part in archive.infolist()]
        if path.suffix == ".gpkg":
            with sqlite3.connect(path) as database:
                found[path.name] = database.execute(
                    "SELECT table_name, last_change FROM gpkg_contents"
                ).fetchall()
                # Bytes 24 to 27 of the head count how often the file was changed.
                found[f"{path.name}: changes"] = path.read_bytes()[24:28]
        if path.suffix in {".svg", ".html"}:
            text = path.read_text(encoding="utf-8")
            found[path.relative_to(site).as_posix()] = re.findall(
                r"<(?:dc:date|time)\b[^>]*>[^<]*", text
            )
    return found


def feed_dates(site: Path) -> object:
    """Return every date of feeds, the site map and the calendar of evenings."""
    found: dict[str, list[str]] = {}
    for path in site_files(site):
        if path.suffix == ".xml":
            found[path.name] = [
                element.text or ""
                for element in ET.parse(path).iter()  # noqa: S314 - made a moment ago, by us
                if element.tag.rpartition("}")[2]
                in {"updated", "published", "pubDate", "lastBuildDate", "lastmod"}
            ]
        if path.suffix == ".ics":
            found[path.name] = re.findall(r"^DT\w+[:;].*", path.read_text("utf-8"), re.MULTILINE)
    return found


def map_close_up(site: Path) -> object:
    """Return every line that any map draws: the moving one's data, and paths of still ones."""
    found: dict[str, object] = {"moving": (site / "map/map-data.js").read_bytes()}
    for path in site_files(site):
        if path.suffix == ".html":
            text = path.read_text(encoding="utf-8")
            found[path.relative_to(site).as_posix()] = re.findall(
                r'\b(?:d|points|x|y|cx|cy|transform)="[^"]*"', text
            )
    return found


def search(site: Path) -> object:
    return (site / "search/index.js").read_bytes()


def generators(site: Path) -> object:
    """Return whatever a program signs its work with, and every version of one of ours."""
    signed = re.compile(
        r"(?i)generator[\"'>= ][^<>\n]{0,80}|creator>[^<]*|producer[^<\n]{0,80}|"
        + "|".join(re.escape(f"{name} {version(name)}") for name in OURS)
    )
    return {
        path.relative_to(site).as_posix(): signed.findall(path.read_text(encoding="utf-8"))
        for path in site_files(site)
        if path.suffix in TEXT and "leaflet" not in path.parts
    }


def every_byte(site: Path) -> object:
    return {path.relative_to(site).as_posix(): path.read_bytes() for path in site_files(site)}


# What a leak there would look like.


def plant_order(site: Path) -> None:
    path = site / "data/streets.csv"
    head, *rows = path.read_text(encoding="utf-8").splitlines(keepends=True)
    path.write_text(head + "".join(reversed(rows)), encoding="utf-8")


def plant_id(site: Path) -> None:
    path = site / "seasons/index.html"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace(' id="', ' id="n41-', 1), encoding="utf-8")


def plant_name(site: Path) -> None:
    (site / "data/streets.csv").rename(site / "data/streets-41.csv")


def plant_size(site: Path) -> None:
    with sqlite3.connect(site / "data/colony.gpkg") as database:
        database.execute("CREATE TABLE scratch (x)")
        database.execute("DROP TABLE scratch")  # leaves a free page behind


def plant_time_within(site: Path) -> None:
    path = site / "data/darwin-core.zip"
    with zipfile.ZipFile(path) as archive:
        parts = [(part.filename, archive.read(part)) for part in archive.infolist()]
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in parts:
            archive.writestr(name, data)  # dated by the clock


def plant_feed_date(site: Path) -> None:
    path = site / "feeds/news.xml"
    now = dt.datetime.now(dt.UTC).isoformat(timespec="seconds")
    text = path.read_text(encoding="utf-8")
    path.write_text(re.sub(r"(<updated>)[^<]*", rf"\g<1>{now}", text), encoding="utf-8")


def plant_map(site: Path) -> None:
    path = site / "map/map-data.js"
    path.write_text(path.read_text(encoding="utf-8") + "// 52.89972\n", encoding="utf-8")


def plant_search(site: Path) -> None:
    path = site / "search/index.js"
    path.write_text(
        path.read_text("utf-8").replace('"streets":[', '"streets":[["41",""],'), "utf-8"
    )


def plant_generator(site: Path) -> None:
    path = site / "index.html"
    text = path.read_text(encoding="utf-8")
    made = f'<head><meta name="generator" content="pelican {version("pelican")}">'
    path.write_text(text.replace("<head>", made, 1), encoding="utf-8")


def plant_byte(site: Path) -> None:
    with (site / "404.html").open("ab") as file:
        file.write(b" ")


@dataclass(frozen=True)
class Channel:
    """What a stranger reads, and how a leak would come to be there."""

    read: Callable[[Path], object]
    plant: Callable[[Path], None]


CHANNELS = {
    "order of rows": Channel(order_of_rows, plant_order),
    "ids": Channel(ids, plant_id),
    "file names": Channel(file_names, plant_name),
    "file sizes": Channel(file_sizes, plant_size),
    "times within files": Channel(times_within_files, plant_time_within),
    "feed dates": Channel(feed_dates, plant_feed_date),
    "map at high zoom": Channel(map_close_up, plant_map),
    "search index": Channel(search, plant_search),
    "generator versions": Channel(generators, plant_generator),
    "every byte": Channel(every_byte, plant_byte),
}


@pytest.mark.parametrize("name", CHANNELS)
def test_a_swap_does_not_show_in(name: str, pair: Pair) -> None:
    channel = CHANNELS[name]
    assert channel.read(pair.swapped / "site") == channel.read(pair.plain / "site")


@pytest.mark.parametrize("name", CHANNELS)
def test_a_leak_would_show_in(name: str, pair: Pair, tmp_path: Path) -> None:
    channel = CHANNELS[name]
    leaky = shutil.copytree(pair.plain / "site", tmp_path / "site")
    channel.plant(leaky)
    assert channel.read(leaky) != channel.read(pair.plain / "site")


def test_the_two_towns_do_differ(pair: Pair) -> None:
    """The group's own papers tell them apart, so the swap is no empty one."""
    plain, swapped = (
        (folder / "private/register.gpkg").read_bytes() for folder in (pair.plain, pair.swapped)
    )
    assert plain != swapped


# Modification times.


def test_a_swap_does_not_show_in_modification_times(pair: Pair) -> None:
    """Built again after the swap, no file is newer: not even the page of the houses' street."""
    assert pair.files_changed == 0
    assert pair.times_after == pair.times_before


def test_times_are_those_of_files_that_changed(pair: Pair, tmp_path: Path) -> None:
    """A nest in another square does change pages, so the test above can fail."""
    town = shutil.copytree(pair.plain, tmp_path / "town")
    before = times(town / "site")
    path = town / "survey_data/nest_sites/known.csv"
    text = path.read_text(encoding="utf-8").replace(",".join(KNOWN), "Church Street,60")
    path.write_text(text, encoding="utf-8")
    pipeline.build_town(town, today=TODAY)
    newer = {name for name, when in times(town / "site").items() if when != before.get(name)}
    assert "data/release.json" in newer
    assert not any(name.startswith("theme/") for name in newer)


# What is handed over.


def handed_over(folder: Path, out: Path) -> dict[str, object]:
    """Publish a town in every way; return what each shows beside the files' bytes."""
    ready = ready_site(folder)
    repository = out / "repository"
    repository.mkdir(parents=True)
    git = shutil.which("git")
    assert git is not None
    subprocess.run([git, "init", "--quiet", str(repository)], check=True)
    publish(folder, ready, repository=repository, archive=out / "site.zip")
    publish(folder, ready, repository=repository, branch="pages")
    publish(folder, ready, repository=repository, target=out / "www")
    commit = subprocess.run(
        [git, "-C", str(repository), "cat-file", "commit", "pages"],
        check=True,
        capture_output=True,
    )
    with zipfile.ZipFile(out / "site.zip") as archive:
        parts = [(p.filename, p.date_time, p.extra, p.external_attr) for p in archive.infolist()]
    return {
        "archive": (out / "site.zip").read_bytes(),
        "parts": parts,
        # Its author, date, message, and the digest of its whole tree.
        "commit": commit.stdout,
        "folder": names(out / "www"),
    }


def test_a_swap_does_not_show_in_what_is_handed_over(pair: Pair, tmp_path: Path) -> None:
    plain = handed_over(pair.plain, tmp_path / "plain")
    time.sleep(1.1)  # so that a date of the clock would differ
    swapped = handed_over(pair.swapped, tmp_path / "swapped")
    assert swapped == plain
    dates = {date for _, date, *_ in plain["parts"]}  # type: ignore[attr-defined]  # a list of tuples
    assert len(dates) == 1


def test_a_folder_handed_over_again_after_a_swap_has_no_newer_file(
    pair: Pair, tmp_path: Path
) -> None:
    target = tmp_path / "www"
    for folder in (pair.plain, pair.swapped):
        if folder == pair.swapped:
            for path in site_files(target):
                os.utime(path, ns=(1, 1))
        publish(folder, ready_site(folder), repository=tmp_path, target=target)
    assert set(times(target).values()) == {1}


# What must not be there at all, whoever builds.


def test_no_file_tells_when_it_was_built(pair: Pair) -> None:
    """Neither the clock's day nor the day that was given stands anywhere."""
    clock = dt.datetime.now(dt.UTC).date()
    days = {
        form
        for day in (clock, clock - dt.timedelta(days=1), TODAY)
        for form in (day.isoformat(), day.strftime("%Y%m%d"), day.strftime("%d %b %Y"))
    }
    for path in site_files(pair.plain / "site"):
        if path.suffix in TEXT and "leaflet" not in path.parts:
            text = path.read_text(encoding="utf-8")
            assert not [day for day in days if day in text], path.name


def test_no_program_signs_its_work(pair: Pair) -> None:
    signed = generators(pair.plain / "site")
    assert isinstance(signed, dict)
    assert {
        name: [word for word in words if any(char.isdigit() for char in word)]
        for name, words in signed.items()
        if any(any(char.isdigit() for char in word) for word in words)
    } == {}


def test_the_closest_look_at_a_map_shows_corners_of_squares(pair: Pair) -> None:
    """Every corner of what can be downloaded lies on the 100 m grid: nothing is drawn finer."""
    text = (pair.plain / "site/data/squares.geojson").read_text(encoding="utf-8")
    rings = [
        ring
        for feature in json.loads(text)["features"]
        for polygon in (
            [feature["geometry"]["coordinates"]]
            if feature["geometry"]["type"] == "Polygon"
            else feature["geometry"]["coordinates"]
        )
        for ring in polygon
    ]
    corners = np.array([corner for ring in rings for corner in ring])
    # A Helmert transformation will do: it is within 4 m of the exact one everywhere.
    to_grid = pyproj.Transformer.from_crs(4326, 27700, always_xy=True)
    metres = np.column_stack(to_grid.transform(corners[:, 0], corners[:, 1]))
    shift = metres - 100 * np.round(metres / 100)
    assert np.ptp(shift, axis=0).max() < 1.0
    assert np.abs(shift).max() < 6.0
