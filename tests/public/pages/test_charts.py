"""Charts are fit for a page: no styles, no common ids, the same bytes every time."""

from __future__ import annotations

import re
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from markupsafe import Markup

from eaveline.public.pages import charts

WORDS: dict[str, Any] = {
    "title": "Parties & peaks",
    "about": "Most in <June>",
    "across": "Week",
    "up": "Parties",
}


def drawn(name: str = "a") -> dict[str, Markup]:
    return {
        "bars": charts.bars(name, ["1 June", "8 June"], [3, 7], **WORDS),
        "no bars": charts.bars(name, [], [], **WORDS),
        "zero bars": charts.bars(name, ["1 June"], [0], **WORDS),
        "points": charts.points(name, ["2025", "2026", "2027"], [3, None, 4], **WORDS),
        "shares": charts.points(
            name, ["2025", "2026"], [0.5, 0.0], intervals=[(0.2, 0.8), None], percent=True, **WORDS
        ),
        "steps": charts.steps(name, [0, 0.2], low=[0, 0.1], high=[0, 0.5], **WORDS),
    }


@pytest.mark.parametrize("kind", list(drawn()))
def test_fit_for_a_page(kind: str) -> None:
    svg = drawn()[kind]
    root = ET.fromstring(svg)  # noqa: S314 - our own drawing
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "a-title a-about"
    assert root.get("width") is None
    title, about = root[0], root[1]
    assert (title.text, about.text) == (WORDS["title"], WORDS["about"])
    for element in root.iter():
        assert "style" not in element.attrib
        assert not element.tag.endswith(("}style", "}metadata"))
        assert element.get("id", "a-").startswith("a-")
        for value in element.attrib.values():
            for target in re.findall(r"url\(#([^)]+)\)", value):
                assert root.find(f".//*[@id='{target}']") is not None
        if element.tag.endswith("}use"):
            assert root.find(f".//*[@id='{element.get('href', '')[1:]}']") is not None


def test_the_same_bytes_every_time() -> None:
    assert drawn() == drawn()
    assert drawn("a")["bars"] != drawn("b")["bars"]


def test_bars_are_as_high_as_their_values() -> None:
    """Read from the drawing itself: 3 and 7 stand in the ratio 3 to 7."""
    root = ET.fromstring(drawn()["bars"])  # noqa: S314 - our own drawing
    heights = []
    for path in root.iter("{http://www.w3.org/2000/svg}path"):
        if path.get("class") == "chart-mark":
            ups = [float(y) for _, y in re.findall(r"([-\d.]+) ([-\d.]+)", path.get("d", ""))]
            heights.append(max(ups) - min(ups))
    assert len(heights) == 2
    assert heights[1] / heights[0] == pytest.approx(7 / 3, rel=1e-3)


def test_labels_do_not_run_into_each_other() -> None:
    weeks = [f"{number} September" for number in range(1, 31)]
    svg = charts.bars("a", weeks, [1] * 30, **WORDS)
    shown = [week for week in weeks if f">{week}<" in svg]
    assert shown[0] == weeks[0]
    assert 4 <= len(shown) <= 8


def test_a_page_sets_the_colours() -> None:
    for name, part in (("bars", "chart-mark"), ("steps", "chart-line"), ("steps", "chart-band")):
        assert part in drawn()[name]
    assert "currentColor" in drawn()["bars"]
