"""Who is listed openly: with consent of all, refused by none, and only while enough others stay."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from red_team.scenes import CORNER, FARM, K, nest, release_of, scene
from red_team.stranger import House
from small_town import BOXES, SOUTH, WEST

TENEMENT = [House("Mill Lane", f"Flat {n}, 301", WEST + 97.0, SOUTH + 333.0) for n in range(1, 11)]
"""One building of ten households."""


def shown(folder: Path, rows: list[str], **options: object) -> list[tuple[str, list[int], str]]:
    """Return what is listed of a town with these nest rows."""
    release = scene(folder, rows, **options).stranger.release  # type: ignore[arg-type]  # scene's own
    return [(site["what"], site["cell"], site["since"]) for site in release["open_sites"]]


@pytest.mark.parametrize(
    ("agreeing", "listed"),
    [(4, False), (9, False), (10, True)],
)
def test_a_building_of_ten_households(agreeing: int, *, listed: bool, tmp_path: Path) -> None:
    """Four of ten agree: the building is everybody's home, so it stays among the others."""
    rows = [nest(flat, share="yes") for flat in TENEMENT[:agreeing]]
    found = shown(tmp_path, rows, houses=TENEMENT)
    assert found == ([("swift nest", [6500, 3403], "2026")] if listed else [])


def test_rows_that_name_no_flat_cannot_speak_for_several_households(tmp_path: Path) -> None:
    house = House("Mill Lane", "301", *(TENEMENT[0].east, TENEMENT[0].north))
    rows = [nest(flat, share="yes") for flat in TENEMENT[:9]]
    assert shown(tmp_path, [*rows, nest(house, share="yes")], houses=TENEMENT) == []


def test_the_same_flat_twice_is_one_household(tmp_path: Path) -> None:
    rows = [nest(flat, share="yes") for flat in TENEMENT[:9]] * 2
    rows.append(nest(TENEMENT[0], season=2025, share="yes"))
    assert shown(tmp_path, rows, houses=TENEMENT) == []


def test_a_building_with_consent_is_counted_until_it_is_listed(tmp_path: Path) -> None:
    release = scene(tmp_path, [nest(TENEMENT[0], share="yes")], houses=TENEMENT).stranger.release
    assert release["open_sites"] == []
    assert release["town_figures"]["nest_sites_at_least"]["swift"] == 1


def test_no_withdraws_whatever_was_said_before_or_is_said_later(tmp_path: Path) -> None:
    yes, no = nest(CORNER, share="yes"), nest(CORNER, season=2025, share="no")
    later_yes = nest(CORNER, season=2024, share="yes")
    assert len(shown(tmp_path / "a", [yes])) == 1
    assert shown(tmp_path / "b", [yes, no]) == []
    assert shown(tmp_path / "c", [no, yes, later_yes]) == []


def test_no_to_the_nest_is_no_to_the_box_beside_it(tmp_path: Path) -> None:
    """A listed box takes its building out of the premises, and points at it."""
    box = BOXES + f"B1,{CORNER.street},{CORNER.number},1/3/2024,yes,\n"
    more = {"boxes/a.csv": box}
    assert len(shown(tmp_path / "a", [nest(CORNER)], more=more)) == 1
    assert shown(tmp_path / "b", [nest(CORNER, share="no")], more=more) == []


def test_the_nest_at_a_listed_box_is_not_shown_with_it(tmp_path: Path) -> None:
    box = BOXES + f"B1,{CORNER.street},{CORNER.number},1/3/2024,yes,\n"
    release = scene(tmp_path, [nest(CORNER)], more={"boxes/a.csv": box}).stranger.release
    assert [site["what"] for site in release["open_sites"]] == ["swift box"]
    assert release["town_figures"]["nest_sites_at_least"]["swift"] == 1


def region_with(folder: Path, rows: list[str]) -> tuple[int, int, int]:
    """Return listed, counted and premises of the lone farm's region."""
    stranger = scene(folder, rows).stranger
    region = stranger.region_of[FARM.square]
    [premises] = [r["premises"] for r in stranger.release["regions"] if r["id"] == region]
    cells = [c for r in stranger.release["regions"] if r["id"] == region for c in r["cells"]]
    listed = sum(site["cell"] in cells for site in stranger.release["open_sites"])
    counted = stranger.release["layers"]["nest_sites"]["swift"]["all"][region]["low"] or 0
    return listed, counted, premises


def test_a_listing_waits_while_its_region_would_keep_too_few(tmp_path: Path) -> None:
    """First come by season; those of one season that do not all fit wait together."""
    stranger = scene(tmp_path / "quiet").stranger
    own = stranger.in_regions({stranger.region_of[FARM.square]})
    plain = [h for h in own if not h.number.startswith("Flat")]
    spare = len(own) - K
    assert 0 < spare < len(plain) - 1
    first = [nest(h, season=2024, share="yes") for h in plain[:spare]]
    assert region_with(tmp_path / "a", first)[0] == spare
    one_more = [*first, nest(plain[spare], season=2025, share="yes")]
    listed, counted, _ = region_with(tmp_path / "b", one_more)
    assert (listed, counted) == (spare, 1)
    together = [nest(h, season=2024, share="yes") for h in plain[: spare + 1]]
    listed, counted, _ = region_with(tmp_path / "c", together)
    assert listed == 0  # to choose some of them would say something of the rest
    assert counted >= 1


def test_premises_gone_since_leave_less_room(tmp_path: Path) -> None:
    """Room is what today's list leaves, where that is less than what was published."""
    stranger = scene(tmp_path).stranger
    terrace = [h for h in stranger.houses if h.square == (WEST // 100, SOUTH // 100 + 2)]
    size = len(terrace)
    listed = [nest(h, season=2024, share="yes") for h in terrace[: size - K]]
    full = scene(tmp_path, listed).stranger
    assert len(full.release["open_sites"]) == size - K
    addresses = tmp_path / "survey_data/map/addresses.csv"
    gone = {(h.street, h.number) for h in terrace[-3:]}
    with addresses.open(encoding="utf-8", newline="") as file:
        kept = [row for row in csv.reader(file) if (row[0], row[1]) not in gone]
    with addresses.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows(kept)
    assert release_of(tmp_path)["open_sites"] == []
