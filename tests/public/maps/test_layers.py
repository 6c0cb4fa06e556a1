"""Figures as steps, and steps in words."""

from __future__ import annotations

import pytest

from eaveline.public.maps.layers import (
    NONE,
    NOT_LOOKED,
    MapLayer,
    layer_bands,
    region_name,
    seasons_shown,
    step_cell,
    step_label,
    step_of,
    step_words,
    steps,
)
from eaveline.public.records import BandedCount, Finding, PublicRelease, State

BANDS = ((1, 2), (3, 5), (6, 10), (11, None))


def test_the_three_answers_have_three_steps() -> None:
    assert step_of(Finding(state=State.NOT_LOOKED), BANDS) == NOT_LOOKED
    assert step_of(Finding(state=State.LOOKED), BANDS) == NONE
    assert step_of(Finding(state=State.SOME, low=3, high=5), BANDS) == 2


@pytest.mark.parametrize(
    ("low", "step"), [(1, 1), (2, 1), (3, 2), (5, 2), (6, 3), (11, 4), (90, 4)]
)
def test_a_figure_belongs_to_the_band_it_lies_in(low: int, step: int) -> None:
    assert step_of(BandedCount(low=low), BANDS) == step


def test_no_box_known_is_none_and_not_unknown() -> None:
    assert step_of(BandedCount(), BANDS) == NONE


def test_steps_of_a_release(release: PublicRelease) -> None:
    assert steps(release, MapLayer.SWIFT_NESTS, season="2026") == {
        "R001": 2,
        "R002": 1,
        "R003": NONE,
        "R004": NOT_LOOKED,
        "R005": NOT_LOOKED,
        "R006": 1,
        "R007": NOT_LOOKED,
        "R008": NOT_LOOKED,
    }
    assert steps(release, MapLayer.WATCHING, season="2024")["R001"] == 1
    assert steps(release, MapLayer.WATCHING, season="2024")["R002"] == NONE


@pytest.mark.parametrize(
    ("layer", "step", "words", "cell", "label"),
    [
        (MapLayer.SWIFT_NESTS, NOT_LOOKED, "Not watched enough to say", "not known", ""),
        (MapLayer.SWIFT_NESTS, NONE, "Watched, no swift nest site found", "none found", ""),
        (MapLayer.SWIFT_NESTS, 1, "At least 1 swift nest site", "at least 1", "1+"),
        (MapLayer.MARTIN_NESTS, 2, "At least 3 house martin nest sites", "at least 3", "3+"),
        (MapLayer.PARTIES, 4, "At least 11 screaming parties", "at least 11", "11+"),
        (MapLayer.BOXES, NONE, "No nest box known", "none known", ""),
        (MapLayer.BOXES, 1, "1 or 2 nest boxes", "1 or 2", "1–2"),
        (MapLayer.BOXES, 4, "11 or more nest boxes", "11 or more", "11+"),
        (MapLayer.WATCHING, NONE, "Not watched", "none", ""),
        (MapLayer.WATCHING, 1, "Watched for 1 hour", "1", "1"),
        (MapLayer.WATCHING, 3, "Watched for 6 to 15 hours", "6 to 15", "6–15"),
    ],
)
def test_words(
    release: PublicRelease, layer: MapLayer, step: int, words: str, cell: str, label: str
) -> None:
    assert step_words(release, layer, step) == words
    assert step_cell(release, layer, step) == cell
    assert step_label(release, layer, step) == label


def test_a_band_for_none_is_no_step(release: PublicRelease) -> None:
    rule = release.rule.model_copy(update={"hour_bands": ((0, 0), (1, 5), (6, None))})
    odd = release.model_copy(update={"rule": rule})
    assert layer_bands(odd, MapLayer.WATCHING) == ((1, 5), (6, None))


def test_names_and_seasons(release: PublicRelease) -> None:
    assert region_name("R017", cells=1) == "Square 17"
    assert region_name("R017", cells=3) == "Group of squares 17"
    assert seasons_shown(release) == ("all", "2026", "2025", "2024")
