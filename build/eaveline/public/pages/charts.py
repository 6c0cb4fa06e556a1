"""Charts as SVG to set into a page.

matplotlib draws them; its drawing is then made fit for a page: no style attributes (a strict
content security policy forbids them), the page's own letters and colours, ids that are unique
on the page, a title and a description for those who hear it. The same figures give the same
bytes. Every chart stands above a table that says the same, which is the caller's to write.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

from markupsafe import Markup

from eaveline.messages import number, percent

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MARK = "#8a4300"
"""Bars, points and steps. A style sheet may set another through `.chart-mark` and `.chart-line`."""
INK = "#22233b"
"""Letters and axes; they take the page's text colour."""
BAND = "#d9b48a"
"""The band of an interval around a line; `.chart-band`."""

_SVG = "http://www.w3.org/2000/svg"
_XLINK = "{http://www.w3.org/1999/xlink}href"
_SIZE_INCHES = (7.2, 3.0)
_DROPPED = {"font-family", "font", "font-style", "font-variant", "font-weight", "font-stretch"}
_ROOM_FOR_LABELS = 78
"""Letters that fit along the foot of a chart."""


def bars(
    name: str,
    labels: Sequence[str],
    values: Sequence[float],
    *,
    title: str,
    about: str,
    across: str,
    up: str,
) -> Markup:
    """Return a bar chart.

    Parameters
    ----------
    name
        Of this chart, unique on the page: small letters and hyphens.
    labels, values
        One for each bar; values are not negative.
    title, about
        What it shows, and what it comes to, for those who hear the page.
    across, up
        What the axes mean.
    """
    with _chart(name, title=title, about=about, across=across, up=up) as (axes, drawn):
        axes.bar(range(len(values)), list(values), color=MARK, width=0.75)
        _label_across(axes, labels)
        _whole_numbers_up(axes, max(values, default=0))
    return drawn()


def points(
    name: str,
    labels: Sequence[str],
    values: Sequence[float | None],
    *,
    title: str,
    about: str,
    across: str,
    up: str,
    intervals: Sequence[tuple[float, float] | None] | None = None,
    percent: bool = False,
) -> Markup:
    """Return a chart of points, with intervals as upright lines where they are given.

    Parameters
    ----------
    name, labels, title, about, across, up
        As for `bars`.
    values
        One for each label; None leaves a gap.
    intervals
        Low and high for each.
    percent
        Values are shares from 0 to 1.
    """
    at = [place for place, value in enumerate(values) if value is not None]
    known = [value for value in values if value is not None]
    with _chart(name, title=title, about=about, across=across, up=up) as (axes, drawn):
        for place in at if intervals is not None else ():
            interval = intervals[place] if intervals is not None else None
            if interval is not None:
                axes.plot([place, place], interval, color=MARK, linewidth=1.6)
        # No line joins them: it would cross seasons nobody knows of.
        axes.plot(at, known, color=MARK, marker="o", markersize=6, linestyle="none")
        _label_across(axes, labels)
        if percent:
            _percent_up(axes)
        else:
            _whole_numbers_up(axes, max(known, default=0))
    return drawn()


def steps(
    name: str,
    values: Sequence[float],
    *,
    low: Sequence[float],
    high: Sequence[float],
    title: str,
    about: str,
    across: str,
    up: str,
) -> Markup:
    """Return a step chart of shares that starts at 0 with the first value, and its band.

    Parameters
    ----------
    name, title, about, across, up
        As for `bars`.
    values, low, high
        Shares from 0 to 1 at 0, 1, 2, ...
    """
    at = list(range(len(values)))
    with _chart(name, title=title, about=about, across=across, up=up) as (axes, drawn):
        axes.fill_between(at, list(low), list(high), step="post", color=BAND, linewidth=0)
        axes.step(at, list(values), where="post", color=MARK, linewidth=1.8)
        axes.set_xticks(at)
        _percent_up(axes)
    return drawn()


@contextmanager
def _chart(
    name: str, *, title: str, about: str, across: str, up: str
) -> Iterator[tuple[Axes, _Drawn]]:
    """Give axes to draw on, and what returns the drawing afterwards."""
    # Loaded here: a page without charts, and a check of records, need none of it.
    from matplotlib import rc_context  # noqa: PLC0415
    from matplotlib.figure import Figure  # noqa: PLC0415

    settings: dict[Any, Any] = {
        "svg.fonttype": "none",
        "svg.hashsalt": name,
        "font.size": 11,
        "text.color": INK,
        "axes.labelcolor": INK,
        "axes.edgecolor": INK,
        "xtick.color": INK,
        "ytick.color": INK,
        "axes.spines.top": False,
        "axes.spines.right": False,
    }
    drawn = _Drawn()
    with rc_context(settings):
        figure = Figure(figsize=_SIZE_INCHES, layout="constrained", facecolor="none")
        axes = figure.subplots()
        axes.set_facecolor("none")
        axes.set_xlabel(across)
        axes.set_ylabel(up)
        yield axes, drawn
        out = io.StringIO()
        figure.savefig(
            out,
            format="svg",
            metadata={"Date": None, "Creator": None, "Format": None, "Type": None},
        )
    drawn.svg = _for_a_page(out.getvalue(), name=name, title=title, about=about)


class _Drawn:
    """Holds a chart once it is drawn."""

    svg = Markup("")

    def __call__(self) -> Markup:
        """Return the drawing."""
        return self.svg


def _label_across(axes: Axes, labels: Sequence[str]) -> None:
    longest = max((len(label) for label in labels), default=0) + 2
    every = -(-len(labels) * longest // _ROOM_FOR_LABELS)
    shown = range(0, len(labels), max(every, 1))
    axes.set_xticks(list(shown), [labels[place] for place in shown])
    axes.set_xlim(-0.6, max(len(labels), 1) - 0.4)


def _whole_numbers_up(axes: Axes, most: float) -> None:
    from matplotlib.ticker import FuncFormatter, MaxNLocator  # noqa: PLC0415 - see `_chart`

    axes.yaxis.set_major_locator(MaxNLocator(integer=True))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _place: number(round(value))))
    axes.set_ylim(0, max(most, 1) * 1.08)


def _percent_up(axes: Axes) -> None:
    axes.set_ylim(0, 1)
    quarters = [0, 0.25, 0.5, 0.75, 1]
    axes.set_yticks(quarters, [percent(share) for share in quarters])


def _for_a_page(drawing: str, *, name: str, title: str, about: str) -> Markup:
    """Return matplotlib's SVG without its document parts, styles and common ids."""
    ET.register_namespace("", _SVG)
    root = ET.fromstring(drawing)  # noqa: S314 - matplotlib wrote it a moment ago
    for parent in list(root.iter()):
        for child in list(parent):
            if child.tag in (f"{{{_SVG}}}metadata", f"{{{_SVG}}}style"):
                parent.remove(child)
    for element in root.iter():
        _restyle(element)
        _rename(element, prefix=f"{name}-")
    width, height = (float(root.get(side, "0").removesuffix("pt")) for side in ("width", "height"))
    for side in ("width", "height"):
        del root.attrib[side]
    root.attrib |= {
        "class": "chart",
        "viewBox": f"0 0 {width:g} {height:g}",
        "role": "img",
        "aria-labelledby": f"{name}-title {name}-about",
        "stroke-linejoin": "round",
    }
    heading = ET.Element(f"{{{_SVG}}}title", {"id": f"{name}-title"})
    heading.text = title
    description = ET.Element(f"{{{_SVG}}}desc", {"id": f"{name}-about"})
    description.text = about
    root[:0] = [heading, description]
    text = ET.tostring(root, encoding="unicode")
    return Markup(re.sub(r"\s*\n\s*", "\n", text))  # noqa: S704 - escaped by the XML writer


_CLASSES = {MARK: "mark", BAND: "band"}


def _restyle(element: ET.Element) -> None:
    """Turn a style attribute into presentation attributes, which any policy allows."""
    style = element.attrib.pop("style", "")
    classes = []
    for part in filter(None, (each.strip() for each in style.split(";"))):
        key, _, value = (piece.strip() for piece in part.partition(":"))
        if key in _DROPPED:
            continue
        element.set(key, "currentColor" if value == INK else value)
        if value in _CLASSES:
            kind = "line" if key == "stroke" and value == MARK else _CLASSES[value]
            classes.append(f"chart-{kind}")
    if classes:
        element.set("class", " ".join(dict.fromkeys(classes)))
    if element.tag == f"{{{_SVG}}}text" and "fill" not in element.attrib:
        element.set("fill", "currentColor")


def _rename(element: ET.Element, *, prefix: str) -> None:
    """Make ids the chart's own, and what points at them."""
    if "id" in element.attrib:
        element.set("id", prefix + element.attrib["id"])
    if _XLINK in element.attrib:
        element.set("href", "#" + prefix + element.attrib.pop(_XLINK).removeprefix("#"))
    for key, value in list(element.attrib.items()):
        if "url(#" in value:
            element.set(key, value.replace("url(#", f"url(#{prefix}"))
