"""Each attack finds the house on a plain map, and never fewer than k buildings on ours.

The plain map has counts by 100 m square and by street (`plain_map`), or what the attack needs
beside them. Ours is read from the release as a stranger reads it.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from red_team.deduction import exactly, smallest_in_one_group
from red_team.plain_map import found_on, groups
from red_team.scenes import BLOCK, CORNER, FARM, FLATS, K, Scene, nest, scene
from red_team.stranger import House, Stranger
from small_town import BOXES, CHECKS, SOUTH, WATCHES, WEST

Week = tuple[list[str], list[House]]


def of_street(town: Scene, street: str, square: tuple[int, int] | None = None) -> list[House]:
    """Return a street's houses, in one square if that is given."""
    return [
        house
        for house in town.stranger.houses
        if house.street == street and square in (None, house.square)
    ]


@pytest.fixture(scope="module")
def quiet(tmp_path_factory: pytest.TempPathFactory) -> Scene:
    """Return the town without a nest."""
    return scene(tmp_path_factory.mktemp("quiet"))


def assert_hidden(town: Scene, house: House) -> None:
    """No set of fewer than k houses must hold a nest, and the house's own region has k."""
    stranger = town.stranger
    assert any(layer.total for layer in stranger.layers()), "nothing is published, nothing attacked"
    assert stranger.fewest() >= K
    assert len(stranger.in_regions({stranger.region_of[house.square]})) >= K


@pytest.mark.parametrize("target", [CORNER, FARM, BLOCK], ids=["corner", "farm", "block"])
def test_squares_linked_with_streets(target: House, tmp_path: Path) -> None:
    """A house alone of its street in its square; a lone farm; a block of flats."""
    listed = replace(target, number=f"Flat 3, {target.number}") if target is BLOCK else target
    town = scene(tmp_path, [nest(listed)])
    fewest, found = found_on(town.stranger.houses, [target])
    assert fewest == 1
    assert [(house.east, house.north) for house in found] == [(target.east, target.north)]
    assert_hidden(town, target)


def test_a_block_of_flats_is_one_building_however_many_doors_it_has(quiet: Scene) -> None:
    """Counting doors, a square of one block passes for one with k premises."""
    assert FLATS >= K
    sizes = quiet.stranger.sizes()
    region = quiet.stranger.region_of[BLOCK.square]
    [premises] = [r["premises"] for r in quiet.stranger.release["regions"] if r["id"] == region]
    assert premises == sizes[region]  # the flats add one


def test_a_terrace_where_every_house_has_a_nest(quiet: Scene, tmp_path: Path) -> None:
    """Homogeneity: as many nests as houses says it of each house, so the count is capped."""
    terrace = of_street(quiet, "Albert Road", (WEST // 100, SOUTH // 100 + 2))
    assert len(terrace) > K
    fewest, _ = found_on(quiet.stranger.houses, terrace)
    assert fewest == 1
    assert_hidden(scene(tmp_path, map(nest, terrace)), terrace[0])


def test_a_terrace_surveyed_once(tmp_path: Path) -> None:
    """Of an old season there are nests and nothing else: the count of records is theirs."""
    town = scene(tmp_path)
    terrace = of_street(town, "Albert Road", (WEST // 100, SOUTH // 100 + 2))
    survey = scene(tmp_path, [nest(house, season=2019) for house in terrace]).stranger
    [season] = [each for each in survey.release["town_seasons"] if each["season"] == "2019"]
    assert not season["first_seen"]  # no sighting,
    assert season["boxes_standing"] == season["hours_watched"] == 0  # no check and no watch
    size = survey.sizes()[survey.region_of[terrace[0].square]]
    assert size - len(terrace) + 1 < K  # so records, if they told of each, would undo the cap
    assert size - season["records"] + 1 >= K
    assert survey.fewest() >= K


def test_classes_that_add_up_to_every_house(quiet: Scene, tmp_path: Path) -> None:
    """In use and lost exclude each other; two capped classes together must stay capped."""
    terrace = of_street(quiet, "Albert Road", (WEST // 100, SOUTH // 100 + 2))
    in_use, lost = terrace[::2], terrace[1::2]
    assert len(in_use) + len(lost) == len(
        terrace
    )  # a plain map says both: each house has or had one
    town = scene(tmp_path, [*map(nest, in_use), *(nest(h, status="lost") for h in lost)])
    release = town.stranger.release
    [season] = [s for s in release["town_seasons"] if s["season"] == "2026"]
    together = season["nest_sites_at_least"]["swift"] + season["lost_at_least"]
    size = town.stranger.sizes()[town.stranger.region_of[terrace[0].square]]
    assert size - together + 1 >= K
    assert together <= size / 3


def test_what_was_left_out_is_not_the_total_less_the_rest(tmp_path: Path) -> None:
    """Complement of totals: a suppressed square comes back by subtraction."""
    town = scene(tmp_path, [nest(FARM), nest(House("Mill Lane", "40", 0, 0))])
    houses = town.stranger.houses
    sizes = groups(houses)
    other = town.house("Mill Lane", "40")
    squares = {name[0] for name in sizes}
    suppressed = [exactly(sizes, 2)]
    suppressed += [
        exactly([n for n in sizes if n[0] == square], int(square == other.square))
        for square in squares
        if square != FARM.square
    ]
    fewest, where = smallest_in_one_group(sizes, suppressed)
    assert (fewest, where) == (1, (FARM.square, FARM.street))
    assert_hidden(town, FARM)


MILL, ALBERT = House("Mill Lane", "40", 0, 0), House("Albert Road", "41", 0, 0)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ([MILL], [MILL, CORNER]),
        ([MILL, CORNER], [MILL]),
        ([MILL, CORNER], [MILL, ALBERT]),
        ([ALBERT], [CORNER]),
    ],
    ids=["added", "removed", "moved", "corrected"],
)
def test_two_releases_a_week_apart(before: list[House], after: list[House], tmp_path: Path) -> None:
    """What changed, in which square and in which street, is the house."""
    first = scene(tmp_path, map(nest, before))
    old = first.stranger.release
    houses = first.stranger.houses

    def placed(nests: list[House]) -> list[House]:
        return [
            next(h for h in houses if (h.street, h.number) == (n.street, n.number)) for n in nests
        ]

    moved = set(placed(before)) ^ set(placed(after))
    suspects = [
        h
        for h in houses
        if h.square in {m.square for m in moved} and h.street in {m.street for m in moved}
    ]
    assert CORNER.number in {h.number for h in suspects}
    only_mill = [h for h in suspects if h.street == CORNER.street and h.square == CORNER.square]
    assert len(only_mill) == 1
    second = scene(tmp_path, map(nest, after))
    assert [r["cells"] for r in second.stranger.release["regions"]] == [
        r["cells"] for r in old["regions"]
    ]
    assert len(second.stranger.changed_since(old)) >= K
    assert second.stranger.fewest() >= K


def test_the_rule_read_backwards(quiet: Scene, tmp_path: Path) -> None:
    """Minimality: squares that are coarse only where something was found give it away."""
    alone = [h for h in quiet.stranger.houses if h.square == FARM.square]
    assert len(alone) == 1  # joined on account of its nest, its square would name the house
    town = scene(tmp_path, [nest(FARM)])
    assert town.stranger.release["regions"] == quiet.stranger.release["regions"]


def test_all_nests_in_one_short_street(tmp_path: Path) -> None:
    """A street with as many nests as houses; its page shows squares, not a count of its own."""
    short = [
        House("St Anne's Terrace", str(900 + n), WEST + 330.0 + 9 * n, SOUTH + 260.0)
        for n in range(3)
    ]
    town = scene(tmp_path, map(nest, short), houses=short)
    elsewhere = [h for h in town.stranger.houses if h.street != "St Anne's Terrace" or h in short]
    fewest, _ = found_on(elsewhere, short)
    assert fewest == 1
    assert_hidden(town, short[0])


def test_the_only_new_roof_in_a_region_with_a_lost_site(quiet: Scene, tmp_path: Path) -> None:
    """Anyone sees a new roof. A lost site by square is then a house; by town it is not."""
    roofed = {CORNER, FARM}
    lost_square = CORNER.square
    assert [h for h in roofed if h.square == lost_square] == [CORNER]
    here = scene(tmp_path / "a", [nest(CORNER, status="lost")]).stranger.release
    there = scene(tmp_path / "b", [nest(FARM, status="lost")]).stranger.release
    assert here == there  # nothing says in which region the site was lost
    assert here["town_seasons"][-1]["lost_at_least"] == 1
    assert quiet.stranger.release["town_seasons"][-1]["lost_at_least"] == 0


def test_an_address_added_where_a_nest_is(tmp_path: Path) -> None:
    """A square that appears, or a count of premises that grows, would point at the new address."""
    farmhouse = House(FARM.street, "302", FARM.east + 30, FARM.north)
    before = scene(tmp_path, [nest(MILL)]).stranger
    grown = {h.square for h in [*before.houses, farmhouse] if h.square == FARM.square}
    assert grown == {
        FARM.square
    }  # counts of premises by square, two weeks running: one square grew
    after = scene(tmp_path, [nest(MILL), nest(farmhouse)], houses=[farmhouse]).stranger
    assert after.release["regions"] == before.release["regions"]
    assert len(after.changed_since(before.release)) >= K
    assert after.fewest() >= K


def test_a_house_that_came_down_takes_no_nest_with_it(tmp_path: Path) -> None:
    """Everyone saw it go. What leaves the map in the same week would be its old nest."""
    neighbour = replace(CORNER, number="203", north=CORNER.north + 8)
    rows = [nest(CORNER, season=2025), nest(MILL, season=2025), nest(neighbour, season=2024)]
    before = scene(tmp_path, rows, houses=[neighbour]).stranger
    standing = [house for house in before.houses if house.number != CORNER.number]
    # A plain map counts the nests of listed houses: there is one fewer, and one house fewer.
    nests, gone = {CORNER, neighbour}, set(before.houses) - set(standing)
    assert len(nests) - len(nests & set(standing)) == len(gone) == 1
    after = scene(tmp_path, rows, only=standing).stranger
    assert after.release == before.release
    # Taken off the records as well, it is gone: that is the group's own doing.
    cleared = scene(tmp_path, rows[1:], only=standing).stranger
    assert cleared.release != before.release


def test_a_watch_along_one_street(tmp_path: Path) -> None:
    """Only one street was watched and a nest found: which house does not show."""
    watched = {"watches/a.csv": WATCHES + "20/6/2026,19:30,22:30,Mill Lane,dry,Ann Poole,0\n"}
    town = scene(tmp_path / "a", [nest(CORNER)], more=watched)
    on_watched = [h for h in of_street(town, "Mill Lane") if h.square == CORNER.square]
    assert on_watched == [
        town.house(CORNER.street, CORNER.number)
    ]  # street of the watch, square of the nest
    neighbours = [
        h for h in town.stranger.houses if h.square == CORNER.square and h.street != "Mill Lane"
    ]
    for other in neighbours[:: len(neighbours) // 2]:
        elsewhere = scene(tmp_path / other.number, [nest(other)], more=watched)
        assert elsewhere.stranger.release == town.stranger.release
    assert_hidden(town, CORNER)


def test_boxes_that_everyone_can_see(tmp_path: Path) -> None:
    """One building in its square has boxes; their use by square is the use of that building."""
    names = range(1, 3 * K, 2)
    boxes = BOXES + "".join(f"B{n},Mill Lane,{n},1/3/2024,,\n" for n in names)
    boxes += f"F,{FARM.street},{FARM.number},1/3/2024,,\n"
    checks = CHECKS + "".join(f"B{n},1/7/2026,empty,Ann Poole\n" for n in names)
    more = {"boxes/a.csv": boxes, "checks/a.csv": checks + "F,1/7/2026,swift,Ann Poole\n"}
    town = scene(tmp_path / "a", more=more)
    assert [h for h in [FARM] if h.square == FARM.square] == [FARM]
    swapped = (
        checks.replace("B3,1/7/2026,empty", "B3,1/7/2026,swift") + "F,1/7/2026,empty,Ann Poole\n"
    )
    other = scene(tmp_path / "b", more=more | {"checks/a.csv": swapped})
    assert other.stranger.release == town.stranger.release
    use = town.stranger.release["town_seasons"][-1]["box_use"]
    assert use["buildings_checked"] - use["used_at_least"] + 1 >= K
    few = scene(
        tmp_path / "c",
        more={"boxes/a.csv": boxes, "checks/a.csv": CHECKS + "F,1/7/2026,swift,Ann Poole\n"},
    )
    assert few.stranger.release["town_seasons"][-1]["box_use"] is None


def test_a_host_who_knows_their_own_nest(quiet: Scene, tmp_path: Path) -> None:
    """Taking their own nest off the count leaves at least k candidates for the others."""
    terrace = of_street(quiet, "Albert Road", (WEST // 100, SOUTH // 100 + 2))
    own, *others = terrace
    left = [h for h in quiet.stranger.houses if h != own]
    assert found_on(left, others)[0] == 1
    stranger = scene(tmp_path, map(nest, terrace)).stranger
    region = stranger.region_of[own.square]
    size = stranger.sizes()[region]
    for layer in stranger.layers():
        others_at_least = layer.highs[region] - 1
        if others_at_least > 0:
            assert (size - 1) - others_at_least + 1 >= K


def test_an_owner_who_agrees_beside_one_who_does_not(tmp_path: Path) -> None:
    """Listed openly and counted too, one nest would be taken off the count to find the other."""
    neighbour = replace(CORNER, number="203", east=CORNER.east - 6)
    nests = [nest(CORNER, share="yes"), nest(neighbour)]
    town = scene(tmp_path / "a", nests, houses=[neighbour])
    unlisted = [h for h in town.stranger.houses if h.number != CORNER.number]
    fewest, _ = found_on(unlisted, [neighbour])
    assert fewest == 1
    assert [site["cell"] for site in town.stranger.release["open_sites"]] == [list(CORNER.square)]
    assert_hidden(town, neighbour)
    without = scene(tmp_path / "b", [nest(CORNER, share="yes")], houses=[neighbour])
    changed = without.stranger.changed_since(town.stranger.release)
    assert len(changed) >= K


def test_consent_withdrawn_a_week_later(tmp_path: Path) -> None:
    """The old release knows the owner's nest; it must not help to find another."""
    first = scene(tmp_path, [nest(CORNER, share="yes"), nest(MILL)]).stranger
    rows = [nest(CORNER, share="yes"), nest(CORNER, share="no"), nest(MILL)]
    second = scene(tmp_path, rows).stranger
    assert first.release["open_sites"]
    assert second.release["open_sites"] == []
    assert second.fewest() >= K
    assert len(second.changed_since(first.release)) >= K


def test_two_regions_joined_after_both_were_published(tmp_path: Path) -> None:
    """Once one part showed none, a joined count would be the other part's, past its cap."""
    east = 5
    own_squares = [(WEST // 100 + east - 1, SOUTH // 100), (WEST // 100 + east, SOUTH // 100)]
    first = scene(tmp_path).stranger
    full, empty = (of_street(scene_of(first), "Church Street", square) for square in own_squares)
    regions = {first.region_of[square] for square in own_squares}
    assert len(regions) == 2
    nests = [nest(h) for h in full]
    before = scene(tmp_path, nests).stranger
    # Most of the empty square's houses come down, so that it has to be joined.
    standing = [h for h in before.houses if h not in empty[3:]]
    after = scene(tmp_path, nests, only=standing).stranger
    joined = after.region_of[own_squares[0]]
    assert joined == after.region_of[own_squares[1]] or len(after.release["regions"]) < len(
        before.release["regions"]
    )
    for region in after.release["regions"]:
        parts = {before.region_of[tuple(cell)] for cell in region["cells"]}
        if len(parts) == 1:
            continue
        least = min(before.sizes()[part] for part in parts)
        most = after.release["town_figures"]["nest_sites_at_least"]["swift"]
        low = after.release["layers"]["nest_sites"]["swift"]["2026"][region["id"]]["low"] or 0
        assert least - low + 1 >= K
        assert most <= sum(after.highest(size) for size in after.sizes().values())
        assert low <= 1


def scene_of(stranger: Stranger) -> Scene:
    """Return a scene that is only looked at."""
    return Scene(Path(), stranger)


def test_the_plain_map_is_not_broken_by_everything(quiet: Scene) -> None:
    """A nest among many of one street and square is hidden there too: the attack is no trick."""
    terrace = of_street(quiet, "Albert Road", (WEST // 100, SOUTH // 100 + 2))
    fewest, _ = found_on(quiet.stranger.houses, terrace[:1])
    assert fewest == len(terrace)


def test_the_stranger_sees_a_town_of_regions(quiet: Scene) -> None:
    stranger: Stranger = quiet.stranger
    assert min(stranger.sizes().values()) >= K
    assert sum(stranger.sizes().values()) == len(stranger.houses)
