"""The promise over drawn towns: every bird fact of two buildings is swapped, nothing changes.

`test_promise` keeps it on two towns written by hand. Here hypothesis draws which houses stand (and
so the regions), what was recorded, and the pair; what anyone can see stays where it is.
"""

from __future__ import annotations

import csv
import datetime as dt
import hashlib
import tempfile
from collections import Counter
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from eaveline import pipeline
from eaveline.config import Config, load_config
from eaveline.gazetteer import Gazetteer, load_gazetteer
from eaveline.private.register import Register
from eaveline.public.records import PublicRelease, release_to_json
from small_town import BOXES, CHECKS, NEST_SITES, SIGHTINGS, WATCHES, houses, write_town
from swapping import swap_houses

SEASONS = (2024, 2025, 2026)
BEHAVIOURS = ("entering or leaving a nest", "visiting wall or eaves", "screaming party", "")
REQUESTS = "asked_on,street,house,eaves_height_m,facing,offered_on,accepted,boxes\n"
PLANNING = "reference,received,comments_due,street,house,proposal,work,outcome\n"
Row = tuple[str, int, int, int]


def drawn_records(rng: np.random.Generator, standing: list[Row]) -> dict[str, str]:
    """Return nests, sightings, boxes, checks and watches at random houses."""
    nests: list[str] = []
    boxes: list[str] = []
    checks: list[str] = []
    seen: list[str] = []
    for number in rng.choice(len(standing), size=int(rng.integers(5, 90)), replace=True):
        street, house, *_ = standing[number]
        species = rng.choice(["swift", "swift", "house martin"])
        status = rng.choice(["in use", "in use", "quiet", "lost", "blocked"])
        found = (
            rng.choice(["", "young", "entering or leaving a nest"]) if status == "in use" else ""
        )
        share = rng.choice(["", "", "", "", "yes", "no"])
        nests.append(
            f"N{number},{street},{house},,{species},{rng.choice(SEASONS)},{status},{found},{share},Ann\n"
        )
    for number in rng.choice(len(standing), size=int(rng.integers(0, 60)), replace=False):
        street, house, *_ = standing[number]
        boxes.append(f"B{number},{street},{house},1/3/2024,,\n")
        checks.extend(
            f"B{number},1/7/{season},{rng.choice(['swift', 'empty', 'tit'])},Ann\n"
            for season in SEASONS
            if rng.random() < 0.8
        )
    for number in rng.choice(len(standing), size=20):
        street, house, *_ = standing[number]
        what = rng.choice(BEHAVIOURS)
        day = f"{rng.integers(1, 28)}/6/{rng.choice(SEASONS)}"
        seen.append(f"{day},21:{rng.integers(10, 59)},,{street},{house},swift,{what},3,Ann,\n")
    watch = (
        "20/6/2026,19:30,22:30,Albert Road,dry,Ann,2\n21/6/2025,19:30,22:30,Mill Lane,dry,Ann,0\n"
    )
    asked, planned = [], []
    for number in rng.choice(len(standing), size=25, replace=False):
        street, house, *_ = standing[number]
        asked.append(
            f"1/2/2026,{street},{house},{rng.integers(3, 9)},{rng.choice(['N', 'E', ''])},"
            f"3/2/2026,{rng.choice(['yes', 'no', ''])},{rng.integers(1, 4)}\n"
        )
        planned.append(
            f"26/{number:05d}/FUL,1/9/2026,15/12/2026,{street},{house},Re-roofing,roof,\n"
        )
    return {
        "requests/a.csv": REQUESTS + "".join(asked),
        "planning/a.csv": PLANNING + "".join(planned[::2]),
        "nest_sites/a.csv": NEST_SITES + "".join(nests),
        "boxes/a.csv": BOXES + "".join(boxes),
        "checks/a.csv": CHECKS + "".join(checks),
        "sightings/a.csv": SIGHTINGS
        + "3/6/2026,21:40,TG 5025 4005,,,swift,screaming party,6,Ann,\n"
        + "".join(seen),
        "watches/a.csv": WATCHES + watch,
    }


@dataclass(frozen=True)
class Drawn:
    """A drawn town as far as its register."""

    folder: Path
    config: Config
    town: Gazetteer
    register: Register

    def release(self, register: Register | None = None) -> PublicRelease:
        """Pass a register through the gate."""
        return pipeline.protect_town(register or self.register, self.town, self.config)[0]


def drawn_town(folder: Path, seed: int) -> Drawn:
    """Return the town that a seed stands for; some of the small town's houses are missing."""
    rng = np.random.default_rng(seed)
    everyone = houses()
    standing = [house for house in everyone if rng.random() < rng.choice([0.3, 0.95])]
    standing = standing if len(standing) > 40 else everyone
    write_town(folder, drawn_records(rng, standing))
    path = folder / "survey_data/map/addresses.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(("street", "house", "easting", "northing"))
        writer.writerows(standing)
    config = load_config(folder)
    town = load_gazetteer(folder, config)
    intake = pipeline.take_in_town(folder, town, today=dt.date(2026, 11, 25))
    register, _ = pipeline.merge_town(intake, town, config)
    return Drawn(folder, config, town, register)


def kinds_of_boxes(register: Register, building: int) -> list[tuple[object, ...]]:
    """Return what anyone can see of a building's boxes."""
    own = register.boxes[register.boxes["building"] == building]
    columns = ["kind", "cavities", "height_m", "facing", "fixed_on", "removed_on", "share"]
    return sorted(tuple(map(str, row)) for row in own[columns].itertuples(index=False))


def swapped(register: Register, first: int, second: int) -> Register:
    """Return the register with every bird fact of two buildings exchanged.

    Nests with their evidence and consent, sightings at the building whatever they are, and
    what was in the boxes, where both bear the same.
    """
    assert register.premises is not None
    spots = register.premises[["easting", "northing"]].to_numpy()
    other = {first: second, second: first}
    sites = register.sites.copy()
    moved = sites["building"].isin(other)
    sites.loc[moved, "building"] = sites.loc[moved, "building"].map(other)
    sites.loc[moved, ["easting", "northing"]] = spots[sites.loc[moved, "building"]]
    sightings = register.sightings.copy()
    places = sightings[["easting", "northing"]].to_numpy()
    for source, target in other.items():
        there = np.hypot(*(places - spots[source]).T) < 1
        sightings.loc[there, ["easting", "northing"]] = spots[target]
    checks, visits = register.checks, register.box_visits
    if kinds_of_boxes(register, first) == kinds_of_boxes(register, second):
        pairs = [
            register.boxes.loc[register.boxes["building"] == building]
            .sort_values(["kind", "fixed_on", "title"])["title"]
            .tolist()
            for building in (first, second)
        ]
        names = dict(zip(*pairs, strict=True)) | dict(zip(*reversed(pairs), strict=True))
        checks = checks.assign(title=checks["title"].map(lambda title: names.get(title, title)))
        visits = visits.assign(title=visits["title"].map(lambda title: names.get(title, title)))
    return replace(register, sites=sites, sightings=sightings, checks=checks, box_visits=visits)


def swappable(drawn: Drawn) -> list[list[int]]:
    """Return for each region the buildings that are not listed with consent.

    Withdrawn and waiting ones are among them: where they lie must not show either.
    """
    listed = pipeline.protect_town(drawn.register, drawn.town, drawn.config)[1].buildings
    premises = drawn.register.premises
    assert premises is not None
    region = drawn.town.regions.region_of(premises["easting"], premises["northing"])
    return [
        [b for b in np.flatnonzero(region == number).tolist() if b not in listed]
        for number in range(len(drawn.town.regions.ids))
    ]


def busy_pair(drawn: Drawn, data: st.DataObject) -> tuple[int, int]:
    """Draw two buildings of one region, the first with a record where there is one."""
    regions = [own for own in swappable(drawn) if len(own) > 1]
    own = data.draw(st.sampled_from(regions))
    known = {*drawn.register.sites["building"], *drawn.register.boxes["building"]}
    first = data.draw(st.sampled_from([b for b in own if b in known] or own))
    return first, data.draw(st.sampled_from([b for b in own if b != first]))


@given(seed=st.integers(0, 2**32 - 1), data=st.data())
@settings(max_examples=8, deadline=None)
def test_swapping_every_bird_fact_changes_no_figure(seed: int, data: st.DataObject) -> None:
    with tempfile.TemporaryDirectory() as folder:
        drawn = drawn_town(Path(folder), seed)
        before = release_to_json(drawn.release())
        for _ in range(3):
            pair = busy_pair(drawn, data)
            assert release_to_json(drawn.release(swapped(drawn.register, *pair))) == before


def digests(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def built(drawn: Drawn, register: Register, out: Path) -> dict[str, str]:
    out.mkdir()
    pipeline.make_site(drawn.folder, drawn.release(register), drawn.config, out=out / "site")
    return digests(out / "site")


@pytest.mark.parametrize("seed", [3, 17])
def test_the_whole_site_stays_the_same_downloads_and_maps_included(
    seed: int, tmp_path: Path
) -> None:
    """Names, sizes and bytes of every file; the two are made at different moments."""
    drawn = drawn_town(tmp_path / "town", seed)
    before = built(drawn, drawn.register, tmp_path / "before")
    register = drawn.register
    pairs = 0
    for own in swappable(drawn):
        known = [b for b in own if b in set(register.sites["building"])]
        if known and len(own) > 1:
            register = swapped(register, known[0], next(b for b in reversed(own) if b != known[0]))
            pairs += 1
    assert pairs >= 2
    assert {"data/release.json", "data/colony.gpkg", "data/darwin-core.zip"} <= set(before)
    assert built(drawn, register, tmp_path / "after") == before


def test_requests_and_planning_are_swapped_in_the_files(tmp_path: Path) -> None:
    """Who asked for boxes, and whose roof is to be mended, never reaches the register.

    So they are exchanged in the group's files, for every pair of a region, and the whole flow
    runs, papers and audit too. (`test_side_channels` swaps nests along with them.)
    """
    plain = drawn_town(tmp_path / "plain", 17)
    folder = tmp_path / "swapped"
    drawn_town(folder, 17)
    book = plain.town.addresses
    assert book is not None
    own = book.buildings
    building = plain.town.assign_building(
        own["easting"].to_numpy(), own["northing"].to_numpy(), np.zeros(len(own))
    )
    address = {
        number: (str(street), str(house))
        for number, street, house in zip(
            building.tolist(), own["street"], own["house"], strict=True
        )
    }
    moved: Counter[str] = Counter()
    for mates in swappable(plain):
        for first, second in zip(mates[::2], mates[1::2], strict=False):
            for kind in ("requests", "planning"):
                moved[kind] += swap_houses(folder, address[first], address[second], kinds=[kind])
    assert min(moved[kind] for kind in ("requests", "planning")) > 5
    for town in (plain.folder, folder):
        pipeline.build_town(town, today=dt.date(2026, 11, 25))
    assert digests(folder / "site") == digests(plain.folder / "site")
    doorsteps = [
        (town / "private/doorstep-list.csv").read_bytes() for town in (plain.folder, folder)
    ]
    assert doorsteps[0] != doorsteps[1]


def test_boxes_with_birds_are_among_what_is_swapped(tmp_path: Path) -> None:
    """Two buildings bear the same boxes and differ in use: the swap moves it."""
    drawn = drawn_town(tmp_path, 17)
    moved = 0
    for own in swappable(drawn):
        bearing = [b for b in own if kinds_of_boxes(drawn.register, b)]
        for first, second in pairwise(bearing):
            after = swapped(drawn.register, first, second)
            moved += not pd.Series.equals(after.checks["title"], drawn.register.checks["title"])
    assert moved > 0


def test_file_names_and_the_order_of_rows_do_not_show(tmp_path: Path) -> None:
    """The same records in other files, rows reversed, give the same release."""
    plain = drawn_town(tmp_path / "a", 5)
    folder = tmp_path / "b"
    drawn_town(folder, 5)
    for path in sorted((folder / "survey_data").glob("*/a.csv")):
        head, *rows = path.read_text(encoding="utf-8").splitlines(keepends=True)
        path.unlink()
        half = len(rows) // 2
        for name, part in (("zz-albert-road.csv", rows[:half]), ("01.csv", rows[half:])):
            path.with_name(name).write_text(head + "".join(reversed(part)), encoding="utf-8")
    config = load_config(folder)
    town = load_gazetteer(folder, config)
    intake = pipeline.take_in_town(folder, town, today=dt.date(2026, 11, 25))
    register, _ = pipeline.merge_town(intake, town, config)
    other = pipeline.protect_town(register, town, config)[0]
    assert release_to_json(other) == release_to_json(plain.release())
