"""One sequential ramp of colour per layer of the map.

The steps of a ramp stand at equal ratios of contrast (WCAG 2.2's relative luminance), from
pale to dark, so that they stay in order and apart for readers with any kind of colour
vision, on grey paper, and on a poor screen. Hue only tells the layers apart. It is never
the sole carrier of meaning: squares are outlined, numbered and described in words as well.
"""

from __future__ import annotations

import math
from functools import lru_cache

from eaveline.public.maps.layers import MapLayer

GROUND = "#f6f3eb"
"""The paper the map is drawn on."""
INK = "#2b2a26"
"""Letters, and the street in question."""
STREETS = "#6b675c"
WATER = "#bcd4de"
WATER_EDGE = "#5d8799"
GREENS = "#e0e6d2"
BOUNDARY = "#77705f"
LOOKED = "#ffffff"
"""A square that was watched and where none were found."""
HATCH = "#8d8776"
"""Lines across a square that nobody has watched enough."""

_PALEST, _DARKEST = 0.76, 0.045
"""Relative luminances at the two ends of every ramp."""
_CURVE_STARTS = 0.0031308
_GREY = 0.001
_HUES = {
    MapLayer.SWIFT_NESTS: (38.0, 0.13),
    MapLayer.MARTIN_NESTS: (288.0, 0.13),
    MapLayer.PARTIES: (355.0, 0.13),
    MapLayer.BOXES: (150.0, 0.10),
    MapLayer.WATCHING: (245.0, 0.06),
}
"""Oklch hue in degrees, and the largest chroma."""


@lru_cache(maxsize=64)
def ramp(layer: MapLayer, steps: int) -> tuple[str, ...]:
    """Return `steps` colours for a layer as ``#rrggbb``, palest first.

    Raises
    ------
    ValueError
        If `steps` is below 1.
    """
    if steps < 1:
        msg = "a ramp needs at least one step"
        raise ValueError(msg)
    hue, chroma = _HUES[layer]
    if steps == 1:
        luminances = [math.sqrt((_PALEST + 0.05) * (_DARKEST + 0.05)) - 0.05]
    else:
        ratio = (_DARKEST + 0.05) / (_PALEST + 0.05)
        luminances = [(_PALEST + 0.05) * ratio ** (n / (steps - 1)) - 0.05 for n in range(steps)]
    return tuple(_colour(luminance, hue=hue, chroma=chroma) for luminance in luminances)


def outline(layer: MapLayer) -> str:
    """Return the colour of a layer's outlines: the dark end of its ramp."""
    return ramp(layer, 2)[-1]


def text_on(colour: str) -> str:
    """Return black or white, whichever can be read better on a colour.

    One of the two has a contrast of 4.5 or more with any colour there is; a softer ink has not.
    """
    light = relative_luminance(colour) + 0.05
    return "#000000" if light / 0.05 >= 1.05 / light else "#ffffff"


def relative_luminance(colour: str) -> float:
    """Return WCAG 2.2's relative luminance of ``#rrggbb``: 0 for black, 1 for white."""
    channels = (int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5))
    red, green, blue = map(_to_linear, channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _colour(luminance: float, *, hue: float, chroma: float) -> str:
    """Return the colour of a hue and luminance, with all of the chroma that sRGB can show."""
    while True:
        low, high = 0.0, 1.0
        for _ in range(40):
            lightness = (low + high) / 2
            linear = _oklch_to_linear_rgb(lightness, chroma, hue)
            # Out of gamut, luminance still rises with lightness, so the search stays sound.
            if 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2] < luminance:
                low = lightness
            else:
                high = lightness
        if all(0 <= channel <= 1 for channel in linear) or chroma < _GREY:
            return "#" + "".join(f"{_to_byte(channel):02x}" for channel in linear)
        chroma *= 0.95


def _oklch_to_linear_rgb(lightness: float, chroma: float, hue: float) -> tuple[float, float, float]:
    """Björn Ottosson's Oklab (2020), polar form, to linear sRGB."""
    a = chroma * math.cos(math.radians(hue))
    b = chroma * math.sin(math.radians(hue))
    long = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3
    medium = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3
    short = (lightness - 0.0894841775 * a - 1.2914855480 * b) ** 3
    return (
        4.0767416621 * long - 3.3077115913 * medium + 0.2309699292 * short,
        -1.2684380046 * long + 2.6097574011 * medium - 0.3413193965 * short,
        -0.0041960863 * long - 0.7034186147 * medium + 1.7076147010 * short,
    )


def _to_linear(encoded: float) -> float:
    """Undo sRGB's transfer curve (IEC 61966-2-1)."""
    if encoded <= _CURVE_STARTS * 12.92:
        return encoded / 12.92
    return float(((encoded + 0.055) / 1.055) ** 2.4)


def _to_byte(linear: float) -> int:
    linear = min(max(linear, 0.0), 1.0)
    straight = linear <= _CURVE_STARTS
    encoded = 12.92 * linear if straight else 1.055 * linear ** (1 / 2.4) - 0.055
    return round(encoded * 255)
