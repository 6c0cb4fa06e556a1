"""Box use released season after season, while districts are joined and the town grows."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from typing import Any

import pytest

from red_team.deduction import Sum, exactly, fewest_sure
from red_team.long_town import HAMLET, QUARTER, SQUARES, Box, K, write_long_town
from red_team.scenes import release_of
from small_town import WEST

PARTS = ("west", "middle west", "middle east", "east", "hamlet")
BOXES = [
    # The west has boxes enough to be told of and none in use; its neighbour has two, one in use.
    *(Box(square, 3, used=False) for square in range(12)),
    *(Box(QUARTER + square, 3, used=square == 20) for square in (5, 20)),
    *(Box(2 * QUARTER + square, 3, used=square < 2) for square in range(12)),
    *(Box(3 * QUARTER + square, 3, used=square < 1) for square in range(12)),
    Box(SQUARES + 1, 0, used=True),
]
CHECKED = Counter(PARTS[box.part] for box in BOXES)
USED = Counter(PARTS[box.part] for box in BOXES if box.used)


@pytest.fixture(scope="module")
def releases(tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, Any]]:
    """Return one town's releases: as it was, across a border joined, and grown by a hamlet.

    Nothing that is recorded of 2024 changes meanwhile.
    """
    folder = tmp_path_factory.mktemp("long")
    # Most houses come down at the west's last square; its neighbour over the border has fewer than
    # the other, so that joining it there blurs fewer.
    down = {QUARTER - 1: 2, QUARTER: 79}
    hamlet = {SQUARES + 1: HAMLET}
    found = []
    for seasons, squares, standing in (
        ([2024], SQUARES, {}),  # the hamlet is not built yet
        ([2024, 2025], SQUARES, down | hamlet),
        ([2024, 2025, 2026], SQUARES + 2, down | hamlet),
    ):
        write_long_town(folder, BOXES, seasons=seasons, squares=squares, standing=standing)
        found.append(release_of(folder))
    return found


def parts_of(release: dict[str, Any], district: dict[str, Any]) -> list[str]:
    """Return the parts of the town that a district covers."""
    cells = {region["id"]: region["cells"] for region in release["regions"]}
    squares = {cell[0] - WEST // 100 for region in district["regions"] for cell in cells[region]}
    return sorted({PARTS[square // QUARTER] for square in squares})


def stated(release: dict[str, Any], season: str) -> list[Sum]:
    """Return what a release says of the boxes in use in a season, as a stranger reads the rule."""
    [use] = [each["box_use"] for each in release["town_seasons"] if each["season"] == season]
    assert use is not None
    shown = {
        district["id"]: parts_of(release, district)
        for district in release["districts"]
        if district["id"] in use["districts"]
    }
    sums = []
    for name, row in use["districts"].items():
        most = min(row["buildings_checked"] // 3, row["buildings_checked"] - K + 1)
        count = row["used_at_least"]
        assert row["buildings_checked"] == sum(CHECKED[part] for part in shown[name])
        sums.append(
            Sum(frozenset(shown[name]), count, row["buildings_checked"] if count >= most else count)
        )
    everywhere = frozenset(part for parts in shown.values() for part in parts)
    most = use["buildings_checked"] if use["may_be_more"] else use["used_at_least"]
    return [*sums, Sum(everywhere, use["used_at_least"], most)]


def test_the_town_does_change(releases: list[dict[str, Any]]) -> None:
    """Two districts become one over their border, and the hamlet is a district of its own."""
    names = [[district["id"] for district in release["districts"]] for release in releases]
    assert names == [
        ["D01", "D02", "D03", "D04"],
        ["D03", "D04", "D502"],
        ["D03", "D04", "D05", "D502"],
    ]
    joined = {
        district["id"]: parts_of(releases[1], district) for district in releases[1]["districts"]
    }
    assert joined["D502"] == ["middle west", "west"]


def test_rows_by_square_are_rows_by_building() -> None:
    """The plain table: boxes in use by square. One building of its square has a box."""
    by_square = Counter(box.square for box in BOXES)
    rows = [
        exactly([square], sum(box.used for box in BOXES if box.square == square))
        for square in by_square
    ]
    in_use = [square for square in by_square if any(b.used for b in BOXES if b.square == square)]
    for square in in_use:
        one = {square: by_square[square]}
        assert fewest_sure(one, [r for r in rows if square in r.groups], below=K) == 1


def test_plain_districts_of_enough_boxes_give_way_to_subtraction() -> None:
    """Every plain row has k boxes, and the total of each release; their differences do not."""
    chain = [
        [["west"], ["middle east"], ["east"]],  # the middle west has too few: no row
        [["west", "middle west"], ["middle east"], ["east"]],
        [["west", "middle west"], ["middle east"], ["east", "hamlet"]],
    ]
    rows = [[exactly(parts, sum(USED[p] for p in parts)) for parts in week] for week in chain]
    for week in chain:
        assert all(sum(CHECKED[part] for part in parts) >= K for parts in week)
    assert all(fewest_sure(CHECKED, week, below=K) == K for week in rows)
    assert [fewest_sure(CHECKED, [*one, *other], below=K) for one, other in pairwise(rows)] == [
        2,
        1,
    ]


@pytest.mark.parametrize("season", ["2024", "2025", "2026"])
def test_no_chain_of_releases_points_at_fewer_than_k(
    releases: list[dict[str, Any]], season: str
) -> None:
    """Rows, complements and differences of all releases together."""
    sums = [
        each for release in releases if season in release["seasons"]
        for each in stated(release, season)
    ]  # fmt: skip
    assert any(each.low > 0 for each in sums), "nothing is published, nothing attacked"
    assert fewest_sure(CHECKED, sums, below=K) == K
