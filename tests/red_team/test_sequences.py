"""Two releases with something between them that everyone can see: what they differ by is no house.

Seen are a listing with consent, a house that comes down, a point in a public list of addresses.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from eaveline.config import load_config
from eaveline.errors import InputError
from eaveline.gazetteer import load_gazetteer
from eaveline.protect.division.districts import save_districts
from eaveline.protect.division.frozen import save_regions
from red_team.scenes import CORNER, FARM, SOMETHING, nest, scene
from red_team.stranger import House
from small_town import BOXES, CHECKS, SOUTH, WEST, write_town

LOT = 13
MILL = House("Mill Lane", "40", 0, 0)


def nests(release: dict[str, Any]) -> tuple[object, list[object]]:
    """Return every figure about nests."""
    seasons = [*release["town_seasons"], release["town_figures"]]
    return release["layers"]["nest_sites"], [each["nest_sites_at_least"] for each in seasons]


@pytest.mark.parametrize("species", ["swift", "house martin"])
def test_a_box_listed_beside_a_nest_that_is_not(species: str, tmp_path: Path) -> None:
    """One square, one box to be seen: a nest that leaves with its listing is at that house."""
    rows = [nest(CORNER).replace(",swift,", f",{species},"), nest(MILL)]
    box = f"B1,{CORNER.street},{CORNER.number},1/3/2024,"
    before = scene(tmp_path, rows, more={"boxes/a.csv": f"{BOXES}{box},\n"}).stranger.release
    after = scene(tmp_path, rows, more={"boxes/a.csv": f"{BOXES}{box}yes,\n"}).stranger.release
    assert [site["what"] for site in after["open_sites"]] == ["swift box"]
    assert nests(before) == nests(after)
    assert nests(after) != nests(scene(tmp_path / "without", rows[1:]).stranger.release)


def test_martins_under_the_eaves_of_a_listed_swift_nest(tmp_path: Path) -> None:
    """The owner agreed to the swifts; the martins' count must not tell that they are there too."""
    martins = nest(CORNER).replace(",swift,", ",house martin,")
    before = scene(tmp_path, [nest(CORNER), martins]).stranger.release
    after = scene(tmp_path, [nest(CORNER, share="yes"), martins]).stranger.release
    assert [site["what"] for site in after["open_sites"]] == ["swift nest"]
    layers = [release["layers"]["nest_sites"] for release in (before, after)]
    assert layers[0]["house martin"] == layers[1]["house martin"]
    assert layers[0]["swift"] != layers[1]["swift"]


@pytest.mark.parametrize("used", [0, LOT], ids=["the listed one", "the one that moves up"])
def test_a_listed_box_does_not_shift_the_lots(used: int, tmp_path: Path) -> None:
    """Of fourteen, looked into on a day each, thirteen are told of: one leaves, the last moves up.

    A count that then falls says that the first was used, one that grows that the last was.
    """
    numbers = range(1, 2 * LOT + 2, 2)

    def told(folder: Path, share: str) -> object:
        boxes = BOXES + "".join(
            f"B{n},Mill Lane,{n},1/3/2024,{share if n == 1 else ''},\n" for n in numbers
        )
        checks = CHECKS + "".join(
            f"B{n},{day + 1}/7/2026,{'swift' if day == used else 'empty'},Ann Poole\n"
            for day, n in enumerate(numbers)
        )
        more = {"boxes/a.csv": boxes, "checks/a.csv": checks}
        release = scene(folder, more=more).stranger.release
        assert len(release["open_sites"]) == (share == "yes")
        return release["town_seasons"][-1]["box_use"]

    before = told(tmp_path, "")
    assert before is not None
    assert told(tmp_path, "yes") == before


@pytest.mark.parametrize("used", ["the late one", "the last of the lot"])
def test_a_sheet_that_came_late_does_not_shift_the_lots(used: str, tmp_path: Path) -> None:
    """Who knows whose check was typed in late must not learn of it, nor of whom it would move."""
    numbers = range(1, 2 * LOT + 2, 2)

    def told(folder: Path, *, late: bool) -> object:
        boxes = BOXES + "".join(f"B{n},Mill Lane,{n},1/3/2024,,\n" for n in numbers)
        has_swifts = 1 if used == "the late one" else numbers[LOT]
        # The sheet of the first house is typed in after all others.
        checks = CHECKS + "".join(
            f"B{n},{day + 1}/7/2026,{'swift' if n == has_swifts else 'empty'},Ann Poole\n"
            for day, n in enumerate(numbers)
            if late or n != 1
        )
        more = {"boxes/a.csv": boxes, "checks/a.csv": checks}
        return scene(folder, more=more).stranger.release["town_seasons"][-1]["box_use"]

    before = told(tmp_path, late=False)
    assert before is not None
    assert told(tmp_path, late=True) == before
    # Counted anew by date, all of it would differ by one house.
    assert told(tmp_path / "anew", late=True) != before


def test_a_house_that_came_down_takes_no_party_with_it(tmp_path: Path) -> None:
    """Parties are counted by square, and the row names the house."""
    rows = (
        "date,time,street,house,species,behaviour,birds,seen_by\n"
        f"4/6/2026,21:30,{CORNER.street},{CORNER.number},swift,screaming party,5,Ann Poole\n"
    )
    more = {"sightings/b.csv": rows, "sightings/a.csv": SOMETHING}
    before = scene(tmp_path, more=more).stranger
    standing = [house for house in before.houses if house.number != CORNER.number]
    after = scene(tmp_path, more=more, only=standing).stranger
    assert after.release == before.release
    cleared = scene(tmp_path / "without", only=standing).stranger
    assert cleared.release != before.release


def test_a_point_corrected_over_the_edge_of_a_square(tmp_path: Path) -> None:
    """Two lists are compared by anyone: one point moved, and a nest with it."""
    first = scene(tmp_path, [nest(CORNER), nest(MILL)]).stranger
    over = replace(CORNER, east=CORNER.east + 10)
    region_of = first.region_of
    assert region_of[over.square] != region_of[CORNER.square]
    corrected = [over if house == CORNER else house for house in first.houses]
    second = scene(tmp_path, [nest(CORNER), nest(MILL)], only=corrected).stranger
    assert nests(second.release) == nests(first.release)
    # What is first recorded after that is where the list now has it.
    fresh = scene(tmp_path / "fresh", [nest(CORNER), nest(MILL)], only=corrected).stranger
    assert nests(fresh.release) != nests(first.release)
    third = scene(tmp_path, [nest(CORNER), nest(MILL), nest(FARM)], only=corrected).stranger
    assert third.release["town_figures"]["nest_sites_at_least"]["swift"] == 3


@pytest.mark.parametrize("gone", [True, False], ids=["gone", "corrected"])
def test_a_block_of_which_one_household_agreed(tmp_path: Path, *, gone: bool) -> None:
    """It is no single home for having left its place in the list, so it is not listed then."""
    flats = [House("Mill Lane", f"Flat {n}, 301", CORNER.east, SOUTH + 333.0) for n in (1, 2, 3)]
    rows = [nest(flats[0], share="yes"), nest(MILL)]
    first = scene(tmp_path, rows, houses=flats).stranger
    assert first.release["open_sites"] == []
    others = [house for house in first.houses if house.number != flats[0].number]
    over = [] if gone else [replace(flat, east=flat.east + 10) for flat in flats]
    second = scene(tmp_path, rows, only=[*others, *over]).stranger
    assert second.release["open_sites"] == []
    assert nests(second.release) == nests(first.release)


@pytest.mark.parametrize("east", [101, 97], ids=["over the edge", "beside it"])
def test_a_new_address_takes_no_record_from_its_neighbour(east: int, tmp_path: Path) -> None:
    """A record by grid reference is the nearest house's, until one is listed that is nearer."""
    rows = [
        f"N{n},,,TG 500{n} 40{y},swift,2026,in use,young,,Ann Poole\n"
        for n, y in ((98, "254"), (93, "248"))
    ]
    before = scene(tmp_path, rows).stranger
    new = replace(CORNER, number="203", east=WEST + float(east), north=SOUTH + 255.0)
    after = scene(tmp_path, rows, houses=[new]).stranger
    assert nests(after.release) == nests(before.release)
    fresh = scene(tmp_path / "fresh", rows, houses=[new]).stranger
    assert nests(fresh.release) != nests(before.release)


def test_a_new_roof_over_a_nest_in_use(tmp_path: Path) -> None:
    """Scaffolds in July: what then leaves the season's count of a square was under them."""
    rows = [nest(CORNER), nest(MILL)]
    before = scene(tmp_path, rows).stranger
    lost = nest(CORNER, status="lost")
    after = scene(tmp_path, [*rows, lost]).stranger
    assert nests(after.release) == nests(before.release)
    assert after.release["town_seasons"][-1]["lost_at_least"] == 1
    # A site that was not seen in use that season is lost and no more.
    only_lost = scene(tmp_path / "only lost", [lost, nest(MILL)]).stranger
    assert nests(only_lost.release) != nests(before.release)


def test_a_box_typed_in_after_a_bird_was_seen_going_in(tmp_path: Path) -> None:
    """The only box to be seen in the square: a nest that leaves as it is listed was in it."""
    rows = (
        "date,time,street,house,species,behaviour,birds,seen_by,notes\n"
        f"4/6/2026,21:30,{CORNER.street},{CORNER.number},swift,entering or leaving a nest,1,"
        "Ann Poole,into the box by the gable\n"
    )
    more = {"sightings/b.csv": rows}
    before = scene(tmp_path, [nest(MILL)], more=more).stranger.release
    box = {"boxes/a.csv": f"{BOXES}B1,{CORNER.street},{CORNER.number},1/3/2024,,\n"}
    after = scene(tmp_path, [nest(MILL)], more=more | box).stranger.release
    assert nests(after) == nests(before)
    assert after["layers"]["boxes"] != before["layers"]["boxes"]
    more = {"sightings/b.csv": rows.replace("box", "gap")}
    in_the_wall = scene(tmp_path / "wall", [nest(MILL)], more=more).stranger.release
    assert nests(in_the_wall) != nests(before)


def test_a_house_is_listed_where_a_nest_was_near_none(tmp_path: Path) -> None:
    """It was seen at a house too new for the list; a count that grows with the list tells which."""
    there = House("Church Street", "777", WEST + 525.0, SOUTH + 425.0)
    rows = [nest(FARM), "N1,,,TG 5052 4042,swift,2026,in use,young,,Ann Poole\n"]
    before = scene(tmp_path, rows).stranger
    after = scene(tmp_path, rows, houses=[there]).stranger
    assert nests(after.release) == nests(before.release)
    fresh = scene(tmp_path / "fresh", rows, houses=[there]).stranger
    assert nests(fresh.release) != nests(before.release)


SEMI = [House("Mill Lane", str(n), WEST + 90.0, SOUTH + 253.0 + n - 203) for n in (203, 209)]


@pytest.mark.parametrize("apart", [True, False], ids=["two as one", "one as two"])
def test_a_list_that_draws_houses_otherwise(tmp_path: Path, *, apart: bool) -> None:
    """Both halves have a nest: the count that falls or grows with the list says so of both."""
    first, second = SEMI
    lists = [
        [first, replace(second, north=first.north + (6 if two else 1))] for two in (True, False)
    ]
    if not apart:
        lists.reverse()
    rows = [*map(nest, SEMI), nest(MILL)]
    before = scene(tmp_path, rows, houses=lists[0]).stranger.release
    for houses in (lists[1], lists[0], lists[1]):
        assert nests(scene(tmp_path, rows, houses=houses).stranger.release) == nests(before)
    fresh = scene(tmp_path / "fresh", rows, houses=lists[1]).stranger.release
    assert nests(fresh) != nests(before)


def test_a_point_corrected_by_a_metre_over_the_edge(tmp_path: Path) -> None:
    """Nearer than two points of one roof, and yet in the next square."""
    rows = [nest(SEMI[0]), nest(MILL)]
    edge = [replace(SEMI[0], east=WEST + 99.5), replace(SEMI[0], east=WEST + 100.5)]
    before = scene(tmp_path, rows, houses=edge[:1]).stranger.release
    for east in (edge[1], edge[0], edge[1]):
        assert scene(tmp_path, rows, houses=[east]).stranger.release == before
    assert scene(tmp_path / "fresh", rows, houses=edge[1:]).stranger.release != before


def test_a_better_list_of_addresses(tmp_path: Path) -> None:
    """Every point is a few metres elsewhere, and both lists are public."""
    rng = np.random.default_rng(5)
    listed = scene(tmp_path / "list").stranger.houses
    at = [listed[n] for n in rng.choice(len(listed), size=40, replace=False)]
    rows = [nest(house) for house in at[:25]]
    rows += [
        f"G{n},,,TG {int(h.east) // 10 % 10_000:04d} {int(h.north) // 10 % 10_000:04d},swift,2026,"
        "in use,young,,Ann Poole\n"
        for n, h in enumerate(at[25:])
    ]
    boxes = "".join(f"B{n},{h.street},{h.number},1/3/2024,,\n" for n, h in enumerate(at[5:35]))
    checks = "".join(
        f"B{n},{n % 28 + 1}/7/2026,{'swift' if n % 3 else 'empty'},Ann Poole\n" for n in range(30)
    )
    more = {"boxes/a.csv": BOXES + boxes, "checks/a.csv": CHECKS + checks}
    before = scene(tmp_path, rows, more=more).stranger.release
    for again in range(2):
        better = [
            replace(h, east=round(h.east + dx, 2), north=round(h.north + dy, 2))
            for h, (dx, dy) in zip(listed, rng.normal(0, 4, (len(listed), 2)), strict=True)
        ]
        assert scene(tmp_path, rows, more=more, only=better).stranger.release == before
        fresh = scene(tmp_path / f"fresh {again}", rows, more=more, only=better).stranger.release
        assert nests(fresh) != nests(before)


@pytest.mark.parametrize("lost", ["regions", "districts"])
def test_a_folder_from_which_all_but_one_map_file_was_lost(lost: str, tmp_path: Path) -> None:
    """private/ and site/ can be made again, so people delete them; squares must not be."""
    write_town(tmp_path, {"sightings/a.csv": SOMETHING})
    town = load_gazetteer(tmp_path, load_config(tmp_path))
    map_folder = tmp_path / "survey_data" / "map"
    save_regions(map_folder / "regions.csv", town.regions)
    save_districts(map_folder / "districts.csv", town.regions, town.districts)
    again = load_gazetteer(tmp_path, load_config(tmp_path))
    assert (again.regions, again.districts) == (town.regions, town.districts)
    (map_folder / f"{lost}.csv").unlink()
    with pytest.raises(InputError) as refused:
        load_gazetteer(tmp_path, load_config(tmp_path))
    assert refused.value.problems[0].code == f"{lost}-lost"
