"""The smallest set of buildings sure to hold a nest, over every fitting register: never under k."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from red_team.deduction import smallest_set
from red_team.referee import (
    BANDS,
    IN_USE,
    LOST,
    NOTHING,
    band_number,
    capped,
    every_register,
    fewest_sure,
    published,
)
from red_team.scenes import K, nest, scene

TINY = [([3, 4], 3), ([3, 3, 3], 3), ([8], 3), ([4, 4], 4), ([9], 5), ([5, 3], 3)]


@pytest.mark.parametrize(("sizes", "k"), TINY)
def test_every_register_of_a_tiny_town(sizes: list[int], k: int) -> None:
    registers = every_register(sum(sizes), kinds=3)
    figures = published(registers, sizes, k=k)
    assert min(fewest_sure(registers, figures, registers == IN_USE).values()) >= k
    assert min(fewest_sure(registers, figures, registers != NOTHING).values()) >= k
    assert min(fewest_sure(registers, figures, registers == LOST).values()) >= k


@pytest.mark.parametrize(("sizes", "k"), TINY)
def test_without_top_coding_the_referee_finds_single_houses(sizes: list[int], k: int) -> None:
    registers = every_register(sum(sizes), kinds=3)
    figures = published(registers, sizes, k=k, top_coded=False)
    assert min(fewest_sure(registers, figures, registers == IN_USE).values()) == 1


@pytest.mark.parametrize(("sizes", "k"), TINY)
def test_the_integer_programme_agrees_with_enumeration(sizes: list[int], k: int) -> None:
    registers = every_register(sum(sizes), kinds=2)
    figures = published(registers, sizes, k=k)
    for key, fewest in fewest_sure(registers, figures, registers == IN_USE).items():
        bands, total = key[: len(sizes)], key[len(sizes)]
        assert by_programme(sizes, bands, total, k=k) == fewest


def by_programme(sizes: list[int], bands: tuple[int, ...], total: int, *, k: int) -> int:
    """Return the smallest sure set, from the published figures alone."""
    limits = [min(size // 3, size - k + 1) for size in sizes]
    ends = [BANDS[number - 1] if number else (0, 0) for number in bands]
    return smallest_set(
        dict(enumerate(sizes)),
        {g: low for g, (low, _) in enumerate(ends)},
        {
            g: min(high, limit)
            for g, ((_, high), limit) in enumerate(zip(ends, limits, strict=True))
        },
        total,
    )


@given(data=st.data(), k=st.sampled_from([3, 5, 10, 20]))
@settings(max_examples=60, deadline=None)
def test_larger_towns_by_integer_programme(data: st.DataObject, k: int) -> None:
    sizes = data.draw(st.lists(st.integers(k, 4 * k + 40), min_size=1, max_size=8))
    nests = [data.draw(st.integers(0, size)) for size in sizes]
    counts = capped(np.array(nests), np.array(sizes), k=k)
    bands = tuple(band_number(counts).tolist())
    assert by_programme(sizes, bands, int(counts.sum()), k=k) >= k


def test_the_referees_rule_is_the_gates(tmp_path: Path) -> None:
    """What is released of random registers is what the referee's own copy of the rule says."""
    rng = np.random.default_rng(11)
    quiet = scene(tmp_path / "quiet").stranger
    region_of = quiet.region_of
    regions = [region["id"] for region in quiet.release["regions"]]
    by_region = [[h for h in quiet.houses if region_of[h.square] == name] for name in regions]
    houses = [house for own in by_region for house in own]
    sizes = [len(own) for own in by_region]
    flats = {h.number for h in houses if h.number.startswith("Flat")}
    for density in (0.02, 0.2, 0.6):
        register = rng.choice(
            [NOTHING, IN_USE, LOST], len(houses), p=[1 - density, density * 0.7, density * 0.3]
        )
        rows = [
            nest(house, status="in use" if state == IN_USE else "lost")
            for house, state in zip(houses, register, strict=True)
            if state != NOTHING and house.number not in flats
        ]
        register[[h.number in flats for h in houses]] = NOTHING
        release = scene(tmp_path / str(density), rows).stranger.release
        told = published(register[None, :], sizes, k=K)[0]
        figures = release["layers"]["nest_sites"]["swift"]["2026"]
        lows = [BANDS[number - 1][0] if number else None for number in told[: len(sizes)]]
        assert [figures[name]["low"] for name in regions] == lows
        season = release["town_seasons"][-1]
        assert season["nest_sites_at_least"]["swift"] == told[-2]
        assert season["lost_at_least"] == told[-1]
