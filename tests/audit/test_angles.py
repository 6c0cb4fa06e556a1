"""Degrees, minutes, seconds in many dresses."""

from __future__ import annotations

import pytest

from eaveline.audit.angles import angle_hits
from eaveline.audit.places import Places
from eaveline.audit.text import plain
from leaks import EAST, LATITUDE, LONGITUDE, NORTH


def _parts(degrees: float) -> tuple[int, int, float]:
    minutes = degrees % 1 * 60
    return int(degrees), int(minutes), minutes % 1 * 60


N, E = _parts(LATITUDE), _parts(LONGITUDE)


@pytest.mark.parametrize(
    "text",
    [
        f"{N[0]}°{N[1]}'{N[2]:.1f}\"N {E[0]}°{E[1]}'{E[2]:.1f}\"E",
        "{}\u00ba {}\u2032 {:.1f}\u2033 N, {}\u00ba {}\u2032 {:.1f}\u2033 E".format(*N, *E),
        f"N{N[0]} {N[1]} {N[2]:.1f}, E{E[0]} {E[1]} {E[2]:.1f}",
        f"{N[0]}:{N[1]}:{N[2]:.1f}N {E[0]}:{E[1]}:{E[2]:.1f}E",
        f"{N[0]} deg {N[1]} min {N[2]:.1f} sec N, {E[0]} deg {E[1]} min {E[2]:.1f} sec E",
        f"{N[0]}d{N[1]}m{N[2]:.1f}s N {E[0]}d{E[1]}m{E[2]:.1f}s E",
        f"{E[0]}°{E[1]}'{E[2]:.1f}\"E {N[0]}°{N[1]}'{N[2]:.1f}\"N",
        f"{N[0]}° {N[1] + N[2] / 60:.3f}' N, {E[0]}° {E[1] + E[2] / 60:.3f}' E",
        f"+{N[0]:02d}{N[1]:02d}{N[2]:04.1f}+{E[0]:03d}{E[1]:02d}{E[2]:04.1f}/",
        f"{N[0]:02d}{N[1] + N[2] / 60:06.3f}N{E[0]:03d}{E[1] + E[2] / 60:06.3f}E",
    ],
)
def test_degrees_minutes_seconds_are_found(places: Places, text: str) -> None:
    hits = angle_hits(plain(text), places)
    assert hits
    _, east, north = hits[0].value.split()
    assert float(east) == pytest.approx(EAST, abs=3)
    assert float(north) == pytest.approx(NORTH, abs=3)
    assert not hits[0].allowable


@pytest.mark.parametrize(
    "text",
    [
        f"{N[0]}°{N[1]}'N {E[0]}°{E[1]}'E",  # a minute is over a kilometre
        f"{N[0]}° {N[1]}.3' N, {E[0]}° {E[1]}.4' E",  # a tenth of a minute is 150 m
        "52:48 on the first lap, 1:42 on the last",
        "53°48'35.2\"N 1°42'29.8\"W",
        f"{N[0]}°{N[1]}'{N[2]:.1f}\"N",
    ],
)
def test_coarse_or_distant_or_single_angles_pass(places: Places, text: str) -> None:
    assert angle_hits(text, places) == []
