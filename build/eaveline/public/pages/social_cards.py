"""Pictures that stand for a page where its address is passed on: one for each section.

They are drawn from the release and the town's public face alone, in the colours of the theme,
and hold no text chunk, date or camera data. The same release gives the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Final

from PIL import Image, ImageDraw, ImageFont

from eaveline.messages import gettext as _
from eaveline.public.maps import palette
from eaveline.public.maps.layers import NONE, NOT_LOOKED, MapLayer, layer_bands, steps

if TYPE_CHECKING:
    from eaveline.public.records import PublicRelease
    from eaveline.public.town import PublicTown

WIDTH, HEIGHT = 1200, 630
"""Pixels; the shape that programs which show a card ask for (common practice, no source)."""
FOLDER: Final = "cards"
HOME: Final = "home"
DUSK: Final = {
    "sky": "#262850",
    "glow-1": "#8a4a68",
    "glow-2": "#e39a66",
    "bird": "#f6f3eb",
}
"""The theme's own dusk; a test compares it with theme/static/css/variables.css."""
_FINE = 2
"""Shapes are drawn so many times larger, for smooth edges."""
_UNKNOWN: Final = "#c9c3b4"
_MAP_BOX = (660, 60, 1140, 480)
_TEXT_LEFT, _TEXT_TOP = 70, 90
_LARGE, _SMALL, _LEAST = 76, 34, 30
_LINES = 3

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Card:
    """One picture.

    Attributes
    ----------
    name
        Of its file and, but for the home page's, the first part of the addresses it stands for.
    title, line
        What it says.
    """

    name: str
    title: str
    line: str

    @property
    def path(self) -> str:
        """Its place below the site's top."""
        return f"{FOLDER}/{self.name}.png"

    @property
    def alt(self) -> str:
        """What it shows, for those who hear it."""
        return f"{self.title}. {self.line}"


def cards(town: PublicTown) -> dict[str, Card]:
    """Return what every card says, by name."""
    about = _("Swifts and house martins in %(town)s", town=town.name)
    titles = {
        "map": _("The map"),
        "streets": _("Street by street"),
        "seasons": _("Season by season"),
        "boxes": _("Nest boxes"),
        "helping": _("How to help"),
        "news": _("News"),
    }
    made = {name: Card(name, title, about) for name, title in titles.items()}
    return {HOME: Card(HOME, about, town.group), **made}


def card_of(path: str, known: Mapping[str, Card]) -> Card:
    """Return which of the cards stands for a page, by its path below the site's top."""
    return known.get(path.partition("/")[0], known[HOME])


def social_cards(release: PublicRelease, town: PublicTown) -> dict[str, bytes]:
    """Return every card as PNG, by path; none where the site's address is not known.

    A card is loaded by programs that show links, which need its whole address.
    """
    if not town.site_url:
        return {}
    ground = _dusk()
    made = {}
    for card in cards(town).values():
        picture = ground.copy()
        on_map = card.name == "map" and release.has_map
        if on_map:
            _draw_squares(picture, release)
        right = _MAP_BOX[0] - 40 if on_map else WIDTH - _TEXT_LEFT
        _write(picture, card, room=right - _TEXT_LEFT)
        made[card.path] = _png(picture)
    return made


def _png(picture: Image.Image) -> bytes:
    """Return a picture as a file that holds nothing but itself."""
    out = io.BytesIO()
    picture.save(out, format="PNG", compress_level=3)
    return out.getvalue()


def _dusk() -> Image.Image:
    """Return the sky behind the roofs, in flat bands, with birds."""
    wide, high = WIDTH * _FINE, HEIGHT * _FINE
    picture = Image.new("RGB", (wide, high), DUSK["sky"])
    draw = ImageDraw.Draw(picture)
    draw.rectangle((0, high * 0.79, wide, high), fill=DUSK["glow-1"])
    draw.rectangle((0, high * 0.89, wide, high), fill=DUSK["glow-2"])
    draw.polygon(_roofs(wide, high), fill=palette.GROUND)
    for x, y, size in ((0.80, 0.70, 1.0), (0.88, 0.665, 0.62), (0.845, 0.76, 0.5)):
        draw.polygon(_bird(wide * x, high * y, size * 1.5 * _FINE), fill=DUSK["bird"])
    return picture.resize((WIDTH, HEIGHT), Image.Resampling.LANCZOS)


def _roofs(wide: int, high: int) -> list[Point]:
    """Return the outline of a terrace's roofs along the foot of the card."""
    foot, ridge, eaves = high, high * 0.90, high * 0.955
    points: list[Point] = [(0, foot)]
    step = wide / 12
    for house in range(12):
        left = house * step
        tall = ridge - high * (0.02 if house % 5 in (1, 4) else 0)
        points += [(left, eaves), (left + step * 0.5, tall)]
        if house % 3 != 1:  # a chimney on the slope
            top = tall - high * 0.022
            points += [
                (left + step * 0.62, tall + (eaves - tall) * 0.24),
                (left + step * 0.62, top),
                (left + step * 0.74, top),
                (left + step * 0.74, tall + (eaves - tall) * 0.48),
            ]
        points += [(left + step, eaves)]
    return [*points, (wide, foot)]


def _bird(x: float, y: float, size: float) -> list[Point]:
    """Return a swift with its wings spread, as the theme's mark has it, centred at (x, y)."""
    half: list[Point] = [
        *_curve((32, 17), (39, 8), (50, 4), (63, 9)),
        *_curve((63, 9), (52, 10), (44, 15), (38, 24)),
        (36, 28),
        (37, 37),
        (33, 31),
    ]
    mirrored = [(64 - px, py) for px, py in reversed(half)]
    return [(x + (px - 32) * size, y + (py - 18) * size) for px, py in (*half, *mirrored)]


def _curve(start: Point, first: Point, second: Point, end: Point, parts: int = 12) -> list[Point]:
    """Return points of a cubic Bézier curve, without its end."""
    found = []
    for part in range(parts):
        t = part / parts
        weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)
        ends = (start, first, second, end)
        found.append(
            (
                sum(weight * point[0] for weight, point in zip(weights, ends, strict=True)),
                sum(weight * point[1] for weight, point in zip(weights, ends, strict=True)),
            )
        )
    return found


def _draw_squares(picture: Image.Image, release: PublicRelease) -> None:
    """Draw the squares of the map on a sheet of paper, shaded by swift nest sites."""
    left, top, right, bottom = _MAP_BOX
    draw = ImageDraw.Draw(picture)
    draw.rectangle((left - 20, top - 20, right + 20, bottom + 20), fill=palette.GROUND)
    layer = MapLayer.SWIFT_NESTS
    step = steps(release, layer)
    shades = palette.ramp(layer, len(layer_bands(release, layer)))
    cells = [(cell, step[region.id]) for region in release.regions for cell in region.cells]
    columns = [cell.i for cell, _ in cells]
    rows = [cell.j for cell, _ in cells]
    across, up = max(columns) - min(columns) + 1, max(rows) - min(rows) + 1
    size = min((right - left) / across, (bottom - top) / up)
    x0 = left + ((right - left) - size * across) / 2
    y1 = bottom - ((bottom - top) - size * up) / 2
    gap = 1 if size >= 6 else 0  # noqa: PLR2004 - pixels; smaller squares need all their room
    for cell, found in cells:
        x = x0 + (cell.i - min(columns)) * size
        y = y1 - (cell.j - min(rows)) * size
        fill = {NOT_LOOKED: _UNKNOWN, NONE: palette.LOOKED}.get(found) or shades[found - 1]
        draw.rectangle(
            (round(x), round(y - size), round(x + size) - 1 - gap, round(y) - 1 - gap), fill=fill
        )


def _write(picture: Image.Image, card: Card, *, room: int) -> None:
    """Write a card's words into the sky, smaller where they are many."""
    draw = ImageDraw.Draw(picture)
    top = _TEXT_TOP
    for text, size, bold in ((card.title, _LARGE, True), (card.line, _SMALL, False)):
        while True:
            font = _font(size, bold=bold)
            lines = list(_wrapped(text, font, room=room))
            whole = all(font.getlength(word) <= room for word in text.split())
            if (whole and len(lines) <= _LINES) or size <= _LEAST:
                break
            size -= 4  # noqa: PLW2901 - tried again, a little smaller
        for line in lines[:_LINES]:
            draw.text((_TEXT_LEFT, top), line, font=font, fill=DUSK["bird"])
            top += round(size * 1.22)
        top += 24


def _wrapped(text: str, font: ImageFont.FreeTypeFont, *, room: int) -> Iterable[str]:
    line = ""
    for word in _breakable(text, font, room=room):
        longer = f"{line} {word}".strip()
        if line and font.getlength(longer) > room:
            yield line
            longer = word
        line = longer
    yield line


def _breakable(text: str, font: ImageFont.FreeTypeFont, *, room: int) -> Iterable[str]:
    """Yield words, those wider than a line in parts."""
    for word in text.split():
        rest = word
        while font.getlength(rest) > room:
            size = next(
                size for size in range(len(rest) - 1, 0, -1) if font.getlength(rest[:size]) <= room
            )
            yield rest[:size]
            rest = rest[size:]
        yield rest


@cache
def _font(size: int, *, bold: bool) -> ImageFont.FreeTypeFont:
    """Return a serif that comes with matplotlib, the same on every machine."""
    spec = find_spec("matplotlib")  # found, not loaded: only its file is wanted
    if spec is None or spec.origin is None:
        msg = "matplotlib is not installed"
        raise ModuleNotFoundError(msg)
    fonts = Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf"
    name = "DejaVuSerif-Bold.ttf" if bold else "DejaVuSerif.ttf"
    return ImageFont.truetype(fonts / name, size, layout_engine=ImageFont.Layout.BASIC)
