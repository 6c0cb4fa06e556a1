"""Use of boxes by district: no row, no rest and no difference is about fewer than k buildings."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from eaveline.config import Config
from eaveline.private.intake.ledger import Ledger
from eaveline.private.register import Register
from eaveline.protect.consent import Listing
from eaveline.protect.counts.box_lots import LOT_COLUMNS, box_lots, no_lots
from eaveline.protect.counts.box_use import box_use
from eaveline.protect.counts.gate import Gate
from eaveline.protect.counts.lots import lot_size
from eaveline.protect.division.regions import MapRule, Regions
from eaveline.protect.remembered.tables import read_rows, rehomed, write_rows
from eaveline.public.records import BoxUse, Cell

K = 10
COLUMNS = ("easting", "northing")
NONE_LISTED = Listing(frozenset(), (), 0)


class _Privacy:
    minimum_premises = K
    cell_size_m = 100


class _Settings:
    privacy = _Privacy()


def gate_with(
    parts: list[tuple[int, int]], *, outside: int = 0, days: list[str] | None = None
) -> Gate:
    """Return a town of one region a district, each with so many checked and used buildings."""
    rows = [
        (district, number < used)
        for district, (checked, used) in enumerate(parts)
        for number in range(checked)
    ]
    rows += [(-1, True)] * outside
    count = len(rows)
    # Each building has a place of its own within its square.
    east = np.array([650_000.0 + 100 * d + n % 90 for n, (d, _) in enumerate(rows)])
    north = np.array(
        [(900_000.0 if d < 0 else 330_000.0) + n // 90 for n, (d, _) in enumerate(rows)]
    )
    boxes = pd.DataFrame(
        {
            "title": [f"b{n}" for n in range(count)],
            "building": np.arange(count),
            "easting": east,
            "northing": north,
            "uncertainty_m": 1.0,
            "standing": 0,
            "fixed_on": pd.Timestamp(2025, 3, 1),
            "removed_on": np.full(count, np.datetime64("NaT", "ns")),
        }
    )
    checks = pd.DataFrame(
        {
            "title": boxes["title"],
            "season": 2026,
            "date": pd.to_datetime(days if days is not None else ["2026-07-01"] * count),
            "cavity": "",
            "seen": ["swift" if used else "empty" for _, used in rows],
            "fledged": np.nan,
        }
    )
    visits = pd.DataFrame({"title": [], "season": []})
    empty = pd.DataFrame({"season": []})
    register = Register(
        empty, empty, empty, boxes, checks, visits, empty,
        boxes[["easting", "northing"]], Ledger.__new__(Ledger),
    )  # fmt: skip
    many = len(parts)
    regions = Regions(
        tuple(f"R{n:03d}" for n in range(1, many + 1)),
        tuple((Cell(6500 + n, 3300),) for n in range(many)),
        np.full(many, 500, dtype=np.int64),
        MapRule(K, 100, "EPSG:27700"),
    )
    settings_: Config = _Settings()  # type: ignore[assignment]  # the two values that are asked for
    return Gate(
        register, regions, NONE_LISTED, empty, settings_, regions.premises,
        tuple(f"D{n:02d}" for n in range(1, many + 1)),
    )  # fmt: skip


def lots_after(gate: Gate, before: pd.DataFrame) -> pd.DataFrame:
    return box_lots(gate.register, regions=gate.regions, districts=gate.districts, before=before)


def told(gate: Gate, *, before: pd.DataFrame | None = None) -> BoxUse | None:
    """Return what a release tells of 2026, by default the first one."""
    lots = lots_after(gate, no_lots() if before is None else before)
    return box_use(replace(gate, lots=lots), 2026)


def use_of(parts: list[tuple[int, int]], *, outside: int = 0) -> BoxUse | None:
    return told(gate_with(parts, outside=outside))


def rows(use: BoxUse) -> dict[str, tuple[int, int]]:
    return {n: (d.buildings_checked, d.used_at_least) for n, d in use.districts.items()}


def test_districts_with_enough_are_shown_and_the_town_is_their_sum() -> None:
    use = use_of([(30, 4), (20, 15)])
    assert use is not None
    assert rows(use) == {"D01": (30, 4), "D02": (20, 6)}  # 20 // 3
    assert (use.buildings_checked, use.used_at_least) == (50, 10)


def test_a_district_with_too_few_is_in_no_figure() -> None:
    """3 of 3 in D03 would be the town less the rows, so the town's figure leaves it out."""
    use = use_of([(30, 4), (20, 2), (3, 3)], outside=2)
    assert use is not None
    assert rows(use) == {"D01": (30, 4), "D02": (20, 2)}
    assert (use.buildings_checked, use.used_at_least) == (50, 6)


def test_before_a_town_has_a_map_nothing_is_said() -> None:
    """With the map's figure for 30, one of 33 before it would tell of the three beyond it."""
    gate = gate_with([(30, 4)], outside=3)
    without = Regions((), (), np.empty(0, dtype=np.int64), gate.regions.rule)
    unmapped = replace(gate, regions=without, premises=without.premises, districts=())
    assert told(unmapped) is None
    assert told(gate) is not None


def test_a_town_of_one_district_has_its_figure_for_the_whole() -> None:
    """What is outside the map is left out: a second district would tell of it by subtraction."""
    use = use_of([(30, 4)], outside=2)
    assert use is not None
    assert (use.buildings_checked, use.used_at_least, use.districts) == (30, 4, {})


def test_too_few_everywhere_even_if_enough_together() -> None:
    assert use_of([(9, 5), (12, 0)]) is None


def test_a_joined_district_says_nothing() -> None:
    """D02 had too few to be told of; joined, its two would be the sum less what D01 was before."""
    gate = gate_with([(20, 0), (2, 1), (30, 4)])
    apart = told(gate)
    assert apart is not None
    assert rows(apart) == {"D01": (20, 0), "D03": (30, 4)}
    together = told(replace(gate, districts=("D502", "D502", "D03")))
    assert together is not None
    assert rows(together) == {"D03": (30, 4)}
    assert (together.buildings_checked, together.used_at_least) == (30, 4)


def test_a_box_that_was_moved_is_looked_into_where_it_hangs() -> None:
    """Moved in February, used in July: at one building, not at two."""
    gate = gate_with([(2 * lot_size(K), 1)])
    boxes = gate.register.boxes
    moved, old = pd.Timestamp(2026, 2, 1), boxes["title"] == "b0"
    there = boxes[old].assign(building=999, standing=1, fixed_on=moved)
    premises = boxes[["easting", "northing"]].reindex(range(1000), method="ffill")
    premises = premises.assign(northing=premises["northing"] + (premises.index == 999))
    boxes = boxes.assign(removed_on=boxes["removed_on"].mask(old, moved))
    register = replace(
        gate.register, boxes=pd.concat([boxes, there], ignore_index=True), premises=premises
    )
    after = told(replace(gate, register=register))
    assert after == told(gate)
    assert after is not None
    assert (after.buildings_checked, after.used_at_least) == (26, 1)


def test_a_ladder_seen_between_two_releases_tells_nothing() -> None:
    """The count stays as it is until thirteen more buildings have been looked into."""

    def counts(many: int) -> tuple[int, int]:
        days = [f"2026-06-{1 + n:02d}" for n in range(many)]
        use = told(gate_with([(many, many)], days=days))
        return (0, 0) if use is None else (use.buildings_checked, use.used_at_least)

    assert [counts(many) for many in (12, 13, 14, 25, 26)] == [
        (0, 0), (13, 4), (13, 4), (13, 4), (26, 8),
    ]  # fmt: skip


def test_what_a_second_look_finds_waits_with_the_next_lot() -> None:
    """Week by week one more building is looked into; in week 20 a ladder stands at the first."""
    gate = gate_with([(20, 0)], days=[f"2026-06-{1 + n:02d}" for n in range(20)])
    checks = gate.register.checks
    again = checks.iloc[:1].assign(date=pd.Timestamp(2026, 6, 25), seen="swift")
    later = replace(gate, register=replace(gate.register, checks=pd.concat([checks, again])))
    assert told(later) == told(gate)
    early = again.assign(date=pd.Timestamp(2026, 6, 12))
    sooner = replace(gate, register=replace(gate.register, checks=pd.concat([checks, early])))
    assert told(sooner) != told(gate)


def test_a_second_release_of_the_same_records_has_the_same_lots() -> None:
    gate = gate_with([(20, 0), (15, 3), (3, 1)], outside=2)
    first = lots_after(gate, no_lots())
    assert first["figure"].unique().tolist() == ["2026"]
    assert first.groupby("district").size().to_dict() == {"D01": 20, "D02": 15}
    pd.testing.assert_frame_equal(lots_after(gate, first), first)


def test_lots_are_the_same_after_a_file(tmp_path: Path) -> None:
    lots = lots_after(gate_with([(20, 0)]), no_lots())
    write_rows(tmp_path / "private" / "lots.csv", lots)
    pd.testing.assert_frame_equal(read_rows(tmp_path / "private" / "lots.csv", LOT_COLUMNS), lots)
    pd.testing.assert_frame_equal(read_rows(tmp_path / "none.csv", LOT_COLUMNS), no_lots())


def test_a_building_that_was_forgotten_is_remembered_in_no_lot() -> None:
    gate = gate_with([(20, 0)])
    first = lots_after(gate, no_lots())
    gone = replace(gate.register, checks=gate.register.checks.iloc[1:])
    later = lots_after(replace(gate, register=gone), first)
    pd.testing.assert_frame_equal(later, first.iloc[1:].reset_index(drop=True))


def test_a_building_drawn_anew_stays_in_its_lot() -> None:
    """The list has better points now, one metre north; the memory goes along."""
    gate = gate_with([(13, 4)])
    lots = lots_after(gate, no_lots())
    was = lots[["easting", "northing"]].set_axis(["building_easting", "building_northing"], axis=1)
    moved = rehomed(
        lots, was.assign(easting=lots["easting"], northing=lots["northing"] + 1), COLUMNS
    )
    register = gate.register
    north = replace(
        register,
        boxes=register.boxes.assign(northing=register.boxes["northing"] + 1),
        premises=register.boxes[["easting", "northing"]] + [0, 1],
    )
    later = lots_after(replace(gate, register=north), moved)
    pd.testing.assert_frame_equal(later, moved)
    fewer = replace(gate, register=replace(north, checks=register.checks.iloc[1:]))
    assert len(lots_after(fewer, moved)) == 12
    assert len(lots_after(fewer, lots)) == 0


def test_a_check_typed_in_late_waits_for_others() -> None:
    """Of 27 the first by date is typed in last: it is told of with twelve more that came late."""
    days = [f"2026-06-{1 + n:02d}" for n in range(27)]
    gate = gate_with([(27, 1)], days=days)
    register = gate.register
    on_time = replace(gate, register=replace(register, checks=register.checks.iloc[1:]))
    assert told(on_time) == BoxUse(buildings_checked=26, used_at_least=0)
    before = lots_after(on_time, no_lots())
    assert told(gate, before=before) == told(on_time)
    assert told(gate) == BoxUse(buildings_checked=26, used_at_least=1)  # without the memory


@given(
    parts=st.lists(
        st.integers(0, 40).flatmap(lambda n: st.tuples(st.just(n), st.integers(0, n))),
        min_size=1,
        max_size=5,
    )
)
@settings(max_examples=60, deadline=None)
def test_every_part_keeps_k_candidates(parts: list[tuple[int, int]]) -> None:
    """Of n checked buildings with at least c in use, any n - c + 1 hold one: never under k."""
    use = use_of(parts)
    if use is None:
        assert all(checked < lot_size(K) for checked, _ in parts)
        return
    shown = list(rows(use).values()) or [(use.buildings_checked, use.used_at_least)]
    for checked, used in shown:
        assert checked - used + 1 >= K
        assert 3 * used <= checked
    assert use.used_at_least == sum(used for _, used in shown)
    assert use.buildings_checked == sum(checked for checked, _ in shown)
