"""The promise: swap all that is recorded at two buildings of a region, and nothing changes."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections import Counter
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import box_town
from eaveline import pipeline
from eaveline.config import Config, load_config
from eaveline.gazetteer import Gazetteer, load_gazetteer
from eaveline.private.register import Register
from eaveline.public.records import PublicRelease, Species, release_to_json
from small_town import NEST_SITES, houses, ordinary_records, write_town

TODAY = dt.date(2026, 11, 25)


@dataclass(frozen=True)
class Made:
    """A town taken as far as its register."""

    folder: Path
    config: Config
    town: Gazetteer
    register: Register

    def release(self, register: Register | None = None) -> PublicRelease:
        """Pass a register through the gate."""
        release, _ = pipeline.protect_town(register or self.register, self.town, self.config)
        return release


def made(folder: Path, files: dict[str, str] | None = None) -> Made:
    write_town(folder, files)
    config = load_config(folder)
    town = load_gazetteer(folder, config)
    intake = pipeline.take_in_town(folder, town, today=TODAY)
    register, _ = pipeline.merge_town(intake, town, config)
    return Made(folder, config, town, register)


@pytest.fixture(scope="session")
def small(tmp_path_factory: pytest.TempPathFactory) -> Made:
    return made(tmp_path_factory.mktemp("small"))


@lru_cache(maxsize=1)
def crowded_folder() -> dict[str, str]:
    """Return records of many nests, so that caps and bands come into play."""
    rng = np.random.default_rng(5)
    rows = []
    everywhere = houses()
    for number in rng.choice(len(everywhere), size=120, replace=False):
        street, house, *_ = everywhere[number]
        species = "swift" if number % 3 else "house martin"
        for year in (2024, 2025, 2026):
            status = ["in use", "quiet", "lost"][int(rng.integers(0, 3))]
            seen = ["", "young", "entering"][int(rng.integers(0, 3))] if status == "in use" else ""
            rows.append(
                f"N{number},{street},{house},,{species},{year},{status},{seen},,Ann Poole\n"
            )
    return ordinary_records() | {"nest_sites/many.csv": NEST_SITES + "".join(rows)}


@pytest.fixture(scope="session")
def crowded(tmp_path_factory: pytest.TempPathFactory) -> Made:
    return made(tmp_path_factory.mktemp("crowded"), crowded_folder())


def swapped(made_town: Made, first: int, second: int) -> Register:
    """Return the register with every nest and sighting at two buildings exchanged."""
    register = made_town.register
    assert register.premises is not None
    places = register.premises[["easting", "northing"]].to_numpy()
    sites = register.sites.copy()
    other = {first: second, second: first}
    moved = sites["building"].isin(other)
    sites.loc[moved, "building"] = sites.loc[moved, "building"].map(other)
    sites.loc[moved, ["easting", "northing"]] = places[sites.loc[moved, "building"]]
    sightings = register.sightings.copy()
    at_walls = (sightings["atlas_code"] >= 6).to_numpy()
    spots = sightings[["easting", "northing"]].to_numpy()
    for source, target in other.items():
        near = at_walls & (np.hypot(*(spots - places[source]).T) < 12)
        sightings.loc[near, ["easting", "northing"]] = places[target]
    return replace(register, sites=sites, sightings=sightings)


def pairs_in_one_region(made_town: Made) -> list[np.ndarray]:
    """Return for each region its buildings that are not listed with consent."""
    premises = made_town.register.premises
    assert premises is not None
    region = made_town.town.regions.region_of(premises["easting"], premises["northing"])
    shown = set(made_town.register.sites.loc[made_town.register.sites["share"], "building"])
    shown |= set(made_town.register.boxes.loc[made_town.register.boxes["share"], "building"])
    numbers = np.arange(len(premises))
    free = ~np.isin(numbers, list(shown))
    return [numbers[(region == each) & free] for each in range(len(made_town.town.regions.ids))]


@pytest.fixture(scope="session")
def boxes(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """Return a town in which boxes, calls and the trend have something to say."""
    return made(tmp_path_factory.mktemp("boxes"), box_town.everything())


@pytest.mark.parametrize("name", ["small", "crowded", "boxes"])
@given(data=st.data())
@settings(max_examples=60, deadline=None)
def test_swapping_two_buildings_changes_no_figure(
    name: str, request: pytest.FixtureRequest, data: st.DataObject
) -> None:
    town: Made = request.getfixturevalue(name)
    before = release_to_json(town.release())
    buildings = data.draw(
        st.sampled_from([each for each in pairs_in_one_region(town) if len(each) > 1])
    )
    occupied = [b for b in town.register.sites["building"] if b in set(buildings.tolist())]
    first = data.draw(st.sampled_from(occupied or buildings.tolist()))
    second = data.draw(st.sampled_from([b for b in buildings.tolist() if b != first]))
    assert release_to_json(town.release(swapped(town, int(first), int(second)))) == before


def test_the_swap_is_no_empty_one(crowded: Made) -> None:
    """Moving a nest to another region does change figures, so the test above can fail."""
    before = release_to_json(crowded.release())
    by_region = pairs_in_one_region(crowded)
    changes = 0
    for building in crowded.register.sites["building"].to_numpy()[:12]:
        elsewhere = next(each for each in by_region if building not in each and len(each))
        moved = swapped(crowded, int(building), int(elsewhere[0]))
        changes += release_to_json(crowded.release(moved)) != before
    assert changes > 0


def digests(folder: Path) -> dict[str, str]:
    """Return a digest of every file below a folder."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def built(town: Made, release: PublicRelease, out: Path) -> dict[str, str]:
    out.mkdir()
    pipeline.make_site(town.folder, release, town.config, out=out / "site")
    return digests(out / "site")


def test_the_whole_site_stays_the_same_byte_for_byte(small: Made, tmp_path: Path) -> None:
    site = small.register.sites
    first = int(site.loc[(site["species"] == "swift") & ~site["share"], "building"].iloc[0])
    mates = next(each for each in pairs_in_one_region(small) if first in each)
    second = int(next(b for b in mates if b != first))
    before = built(small, small.release(), tmp_path / "before")
    after = built(small, small.release(swapped(small, first, second)), tmp_path / "after")
    assert len(before) > 20
    assert after == before


def gridded_with_street_counts(town: Made, register: Register) -> dict[str, object]:
    """Publish what a plain map would: counts by 100 m square, and counts by street."""
    premises = register.premises
    assert premises is not None
    sites = register.sites[register.sites["building"] >= 0]
    places = premises[["easting", "northing"]].to_numpy()[sites["building"]]
    book = town.town.addresses
    assert book is not None
    listed = book.buildings
    building = town.town.assign_building(
        listed["easting"].to_numpy(), listed["northing"].to_numpy(), np.zeros(len(listed))
    )
    street = dict(zip(building.tolist(), listed["street"], strict=True))
    return {
        "squares": Counter((int(x // 100), int(y // 100)) for x, y in places),
        "streets": Counter(street[b] for b in sites["building"]),
    }


def test_plain_gridding_with_street_counts_would_break_the_promise(small: Made) -> None:
    """The same swap, on a plain map, gives a house away."""
    before = gridded_with_street_counts(small, small.register)
    given_away = 0
    for buildings in pairs_in_one_region(small):
        for first in sorted(set(small.register.sites["building"]) & set(buildings.tolist())):
            given_away += sum(
                gridded_with_street_counts(small, swapped(small, int(first), int(other))) != before
                for other in buildings
                if other != first
            )
    assert given_away > 0


def test_no_count_points_at_fewer_than_k_buildings(crowded: Made) -> None:
    """In a region with n premises, 'at least c' must leave n - c + 1 candidates or more."""
    release = crowded.release()
    shown = (
        Counter(
            int(r)
            for r in crowded.town.regions.region_of(
                *np.array(
                    [(s.cell.i * 100 + 50, s.cell.j * 100 + 50) for s in release.open_sites]
                ).T
            )
        )
        if release.open_sites
        else Counter()
    )
    for layer in release.layers.nest_sites.values():
        for figures in layer.values():
            for position, region in enumerate(release.regions):
                low = figures[region.id].low or 0
                left = region.premises - shown[position]
                assert left - low + 1 >= 10
                assert low <= left / 3


def test_town_totals_are_sums_of_capped_counts(crowded: Made) -> None:
    release = crowded.release()
    for species, total in release.town_figures.nest_sites_at_least.items():
        figures = release.layers.nest_sites[species]["all"].values()
        lows = sum(figure.low or 0 for figure in figures)
        true = crowded.register.sites.query("species == @species.value and building >= 0")[
            "building"
        ].nunique()
        assert lows <= total <= true


def test_every_square_and_street_is_listed_whether_or_not_anything_is_there(small: Made) -> None:
    release = small.release()
    ids = {region.id for region in release.regions}
    for layer in (*release.layers.nest_sites.values(), release.layers.screaming_parties):
        assert set(layer) == {*release.seasons, "all"}
        assert all(set(figures) == ids for figures in layer.values())
    streets = {slug for region in release.regions for slug in region.streets}
    assert streets == {"albert-road", "mill-lane", "st-annes-terrace", "church-street"}


def test_consented_places_leave_the_counts_and_are_listed(small: Made) -> None:
    release = small.release()
    assert [(site.name, site.what) for site in release.open_sites] == [
        ("The Reading Room", "swift nest"),
        (None, "swift box"),
    ]
    swifts = release.layers.nest_sites[Species.SWIFT]["2025"]
    counted = sum(1 for figure in swifts.values() if figure.low)
    assert counted == 2  # Albert Road 21 and Mill Lane 7, not the Reading Room


def test_the_three_answers(small: Made) -> None:
    release = small.release()
    states = Counter(
        figure.state.value for figure in release.layers.nest_sites[Species.SWIFT]["2026"].values()
    )
    assert states["some"] == 1
    assert states["not looked"] > 0


def test_without_a_premises_list_there_is_no_map(tmp_path: Path) -> None:
    write_town(tmp_path)
    (tmp_path / "survey_data" / "map" / "addresses.csv").unlink()
    config = load_config(tmp_path)
    town = load_gazetteer(tmp_path, config)
    intake = pipeline.take_in_town(tmp_path, town, today=TODAY)
    register, _ = pipeline.merge_town(intake, town, config)
    release, listing = pipeline.protect_town(register, town, config)
    assert not release.has_map
    assert release.regions == ()
    assert listing.buildings == frozenset()
    assert release.open_sites == ()
    assert release.town_figures.screaming_parties > 0


def test_the_gate_leaves_its_input_alone(small: Made) -> None:
    before = {
        name: getattr(small.register, name).copy(deep=True)
        for name in ("sites", "evidence", "boxes", "checks")
    }
    small.release()
    for name, table in before.items():
        pd.testing.assert_frame_equal(getattr(small.register, name), table)
