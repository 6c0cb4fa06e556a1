"""Colours of the map: in order, apart and readable, with any colour vision."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from eaveline.public.maps import palette
from eaveline.public.maps.layers import MapLayer

LAYERS = list(MapLayer)
# Machado, Oliveira & Fernandes 2009, A physiologically-based model for simulation of color
# vision deficiency, table of severity 1.0, for linear RGB.
DEFICIENCIES = {
    "protanopia": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deuteranopia": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritanopia": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}


def linear(colour: str) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Linear RGB, by the formula in WCAG 2.2, written again here."""
    channels = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    return np.array([c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels])


def luminance(rgb: np.ndarray[tuple[int], np.dtype[np.float64]]) -> float:
    return float(rgb @ np.array([0.2126, 0.7152, 0.0722]))


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, contrast ratio."""
    dark, light = sorted((luminance(linear(one)), luminance(linear(other))))
    return (light + 0.05) / (dark + 0.05)


def lightness(rgb: np.ndarray[tuple[int], np.dtype[np.float64]]) -> float:
    """CIE 1976 L*, from relative luminance."""
    y = max(luminance(np.clip(rgb, 0, 1)), 0.0)
    return 116 * y ** (1 / 3) - 16 if y > 0.008856 else 903.3 * y


def test_the_formula_agrees_with_published_contrasts() -> None:
    # WCAG 2.2: black on white is 21:1; #767676 is the palest grey of 4.5:1 (4.54) on white.
    assert math.isclose(contrast("#000000", "#ffffff"), 21.0)
    assert round(contrast("#767676", "#ffffff"), 2) == 4.54
    for colour in ("#000000", "#767676", "#ffffff", "#b4471a"):
        assert math.isclose(palette.relative_luminance(colour), luminance(linear(colour)))


@pytest.mark.parametrize("layer", LAYERS)
@pytest.mark.parametrize("steps", [2, 3, 4, 5, 6])
def test_a_ramp_darkens_by_equal_ratios(layer: MapLayer, steps: int) -> None:
    colours = palette.ramp(layer, steps)
    ratios = [contrast(a, b) for a, b in pairwise(colours)]
    assert all(luminance(linear(a)) > luminance(linear(b)) for a, b in pairwise(colours))
    assert max(ratios) - min(ratios) < 0.1 * max(ratios)
    assert contrast(colours[0], colours[-1]) > 8


@pytest.mark.parametrize("layer", LAYERS)
@pytest.mark.parametrize("deficiency", DEFICIENCIES)
def test_steps_stay_apart_and_in_order_whatever_the_colour_vision(
    layer: MapLayer, deficiency: str
) -> None:
    matrix = np.array(DEFICIENCIES[deficiency])
    seen = [lightness(matrix @ linear(colour)) for colour in palette.ramp(layer, 5)]
    # Ten units of lightness alone are far above the two or so that can just be told apart.
    assert all(a - b > 10 for a, b in pairwise(seen)), seen


@pytest.mark.parametrize("layer", LAYERS)
def test_every_kind_of_square_shows_on_the_paper(layer: MapLayer) -> None:
    """WCAG 2.2, 1.4.11: what is needed to understand a graphic has 3:1 against its neighbours."""
    edge = palette.outline(layer)
    assert contrast(edge, palette.GROUND) >= 3
    assert contrast(edge, palette.LOOKED) >= 3
    assert contrast(palette.HATCH, palette.GROUND) >= 3
    for colour in palette.ramp(layer, 5):
        # Pale squares are held by their outline, dark ones by themselves.
        assert contrast(edge, colour) >= 3 or contrast(colour, palette.GROUND) >= 3


@pytest.mark.parametrize("layer", LAYERS)
def test_figures_in_squares_can_be_read(layer: MapLayer) -> None:
    for steps in range(1, 7):
        for colour in palette.ramp(layer, steps):
            assert contrast(palette.text_on(colour), colour) >= 4.5


def test_quiet_lines_are_still_lines() -> None:
    for line in (palette.STREETS, palette.WATER_EDGE, palette.BOUNDARY):
        assert contrast(line, palette.GROUND) >= 3
    assert contrast(palette.INK, palette.GROUND) >= 7


def test_a_ramp_of_one_step_and_of_none() -> None:
    assert len(palette.ramp(MapLayer.BOXES, 1)) == 1
    with pytest.raises(ValueError, match="at least one"):
        palette.ramp(MapLayer.BOXES, 0)
