"""Grid references of the British National Grid or the Irish Grid, read to squares.

A reference names a square, not a point: `TG 501 304` is every place from easting 650100
up to 650200 and from northing 330400 up to 330500. References are therefore truncated,
never rounded. The point that stands for the square is its centre, with half the square's
diagonal as its uncertainty (Chapman & Wieczorek 2020, Georeferencing Best Practices).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

GridSystem = Literal["GB", "IE"]

HALF_DIAGONAL: Final = math.sqrt(2) / 2
"""Uncertainty of a square's centre, per metre of side: 70.71 m for 100 m."""

_LETTERS: Final = "ABCDEFGHJKLMNOPQRSTUVWXYZ"
"""The 25 grid letters: I is not used; five rows of five, A in the north-west."""
_TETRAD_LETTERS: Final = "ABCDEFGHIJKLMNPQRSTUVWXYZ"
"""The 25 tetrad letters of a 10 km square (DINTY): O is not used; columns from the south-west."""
_QUADRANTS: Final = MappingProxyType(
    {"SW": (0, 0), "NW": (0, 5_000), "SE": (5_000, 0), "NE": (5_000, 5_000)}
)
_LARGEST_SQUARE_M: Final = 100_000
_MAX_FIGURES: Final = 10
_DIGITS_OF_TETRAD: Final = 2
_TETRAD_SIDE_M: Final = 2_000
_QUADRANT_SIDE_M: Final = 5_000


def _british_squares() -> dict[str, tuple[int, int]]:
    """SW corner of each 100 km square between the false origin and 700 km E, 1300 km N."""
    squares = {}
    for first in "HJNOST":
        row, column = divmod(_LETTERS.index(first), 5)
        # S stands at the false origin's 500 km square; A lies two squares west, three north.
        east_500, north_500 = (column - 2) * 500_000, (3 - row) * 500_000
        for place, second in enumerate(_LETTERS):
            easting = east_500 + place % 5 * _LARGEST_SQUARE_M
            northing = north_500 + (4 - place // 5) * _LARGEST_SQUARE_M
            if easting < 700_000 and northing < 1_300_000:  # noqa: PLR2004 - the grid's own limits
                squares[first + second] = (easting, northing)
    return squares


def _irish_squares() -> dict[str, tuple[int, int]]:
    return {
        letter: (place % 5 * _LARGEST_SQUARE_M, (4 - place // 5) * _LARGEST_SQUARE_M)
        for place, letter in enumerate(_LETTERS)
    }


SQUARES: Final = MappingProxyType({**_british_squares(), **_irish_squares()})
"""SW corner (easting, northing) of every 100 km square; two letters British, one Irish."""
_LETTERS_OF: Final = MappingProxyType(
    {(2 - len(letters), corner): letters for letters, corner in SQUARES.items()}
)


@dataclass(frozen=True, slots=True)
class GridSquare:
    """The square a grid reference names.

    Parameters
    ----------
    easting, northing
        The south-west corner, in metres of its own grid.
    size_m
        Side of the square.
    system
        "GB" for the British National Grid, "IE" for the Irish Grid.
    """

    easting: float
    northing: float
    size_m: float
    system: GridSystem

    @property
    def centre(self) -> tuple[float, float]:
        """Easting and northing of the centre, the point that stands for the square."""
        return self.easting + self.size_m / 2, self.northing + self.size_m / 2

    @property
    def uncertainty_m(self) -> float:
        """Half the diagonal: 70.71 m for a square of 100 m."""
        return self.size_m * HALF_DIAGONAL


@dataclass(frozen=True, slots=True)
class GridFault:
    """Why a text is no grid reference; `code` is a key of `place_problems.PLACE_PROBLEMS`."""

    code: Literal[
        "grid-ref-unreadable",
        "grid-ref-odd-figures",
        "grid-ref-too-long",
        "grid-ref-letters-missing",
        "grid-ref-letters-unknown",
    ]


_LABEL = re.compile(r"^(?:OS\s*)?(?:GRID\s*REF(?:ERENCE)?|NGR|OSGR|GR|MAP\s*REF)\b[\s:.=]*")
_SEPARATORS = re.compile(r"[\s.,;:/\\_\-\u2010-\u2015]+")
_DECIMAL_METRES = re.compile(r"([A-HJ-Z]{1,2})\s*(\d{5})\.\d+[\s,;/]+(\d{5})\.\d+")
# Possessive repeats (++): figures cut up in every possible way would cost exponential time.
_SHAPE = re.compile(r"([A-Z]{0,2})((?: ?\d++)*+) ?(SW|NW|SE|NE|[A-Z])?")


def parse_grid_ref(text: str) -> GridSquare | GridFault:
    """Read one grid reference in any usual typing.

    Two letters are British, one is Irish. Figures may number 0 to 10 (100 km to 1 m), and a
    10 km square may carry a tetrad letter (`TG53A`) or a quadrant (`TG53NE`). Spaces, dots,
    commas, dashes or lower case make no difference; fractions of a metre are cut off.

    Returns
    -------
    GridSquare or GridFault
        The square, or the code of what is wrong.

    Examples
    --------
    >>> parse_grid_ref("tg 501 304")
    GridSquare(easting=650100, northing=330400, size_m=100, system='GB')
    >>> parse_grid_ref("TG 501 30")
    GridFault(code='grid-ref-odd-figures')
    """
    cell = _LABEL.sub("", text.strip().upper().strip("\"'()[] "))
    if decimals := _DECIMAL_METRES.fullmatch(cell):
        cell = " ".join(decimals.groups())
    tidy = _SEPARATORS.sub(" ", cell).strip()
    tidy = re.sub(r"^([A-Z]) ([A-Z])(?=$| ?\d)", r"\1\2", tidy)
    match = _SHAPE.fullmatch(tidy)
    if match is None:
        return GridFault("grid-ref-unreadable")
    letters, figures, suffix = match.group(1), match.group(2).split(), match.group(3)
    digits = "".join(figures)
    if not letters:
        return GridFault("grid-ref-letters-missing" if digits else "grid-ref-unreadable")
    fault = _figures_fault(figures, digits)
    if fault is None and letters not in SQUARES:
        # A word such as "at" is no reference with wrong letters; figures make it one.
        fault = GridFault("grid-ref-letters-unknown" if digits else "grid-ref-unreadable")
    return fault or _square(letters, digits, suffix)


def _figures_fault(figures: list[str], digits: str) -> GridFault | None:
    if len(digits) > _MAX_FIGURES:
        return GridFault("grid-ref-too-long")
    unequal = len(figures) == 2 and len(figures[0]) != len(figures[1])  # noqa: PLR2004 - E and N
    if len(digits) % 2 or unequal:
        return GridFault("grid-ref-odd-figures")
    return None


def _square(letters: str, digits: str, suffix: str | None) -> GridSquare | GridFault:
    half = len(digits) // 2
    size_m = 10 ** (5 - half)
    corner_e, corner_n = SQUARES[letters]
    easting = corner_e + int(digits[:half] or 0) * size_m
    northing = corner_n + int(digits[half:] or 0) * size_m
    if suffix:
        if len(digits) != _DIGITS_OF_TETRAD:
            return GridFault("grid-ref-unreadable")
        if suffix in _QUADRANTS:
            offset_e, offset_n = _QUADRANTS[suffix]
            size_m = _QUADRANT_SIDE_M
        elif suffix in _TETRAD_LETTERS:
            column, row = divmod(_TETRAD_LETTERS.index(suffix), 5)
            offset_e, offset_n = column * _TETRAD_SIDE_M, row * _TETRAD_SIDE_M
            size_m = _TETRAD_SIDE_M
        else:
            return GridFault("grid-ref-unreadable")
        easting, northing = easting + offset_e, northing + offset_n
    system: GridSystem = "GB" if len(letters) == 2 else "IE"  # noqa: PLR2004 - two letters
    return GridSquare(easting, northing, size_m, system)


def format_grid_ref(
    easting: float,
    northing: float,
    *,
    figures: int | None = None,
    size_m: int | None = None,
    system: GridSystem = "GB",
) -> str:
    """Write the reference of the square that holds a point; truncates, never rounds.

    Parameters
    ----------
    easting, northing
        Metres of the grid `system`.
    figures, size_m
        One of the two: 0, 2, 4, 6, 8 or 10 figures; or a side of 100 000, 10 000, 2 000
        (tetrad), 1 000, 100, 10 or 1 m.
    system
        "GB" or "IE".

    Raises
    ------
    ValueError
        If the point lies outside the grid, or the precision is none of those.

    Examples
    --------
    >>> format_grid_ref(650199.9, 330400, figures=6)
    'TG 501 304'
    >>> format_grid_ref(650199.9, 330400, size_m=2000)
    'TG53A'
    """
    if (figures is None) == (size_m is None):
        raise ValueError("give figures or size_m, and not both")
    tetrad = size_m == _TETRAD_SIDE_M
    sizes = {10 ** (5 - half): 2 * half for half in range(6)}
    if tetrad:
        figures = _DIGITS_OF_TETRAD
    elif size_m is not None:
        figures = sizes.get(size_m)
    if figures not in sizes.values():
        raise ValueError("a grid reference has 0, 2, 4, 6, 8 or 10 figures, or names a tetrad")
    if not (math.isfinite(easting) and math.isfinite(northing)):
        raise ValueError("the point lies outside the grid")
    corner = (
        math.floor(easting) // _LARGEST_SQUARE_M * _LARGEST_SQUARE_M,
        math.floor(northing) // _LARGEST_SQUARE_M * _LARGEST_SQUARE_M,
    )
    letters = _LETTERS_OF.get((0 if system == "GB" else 1, corner))
    if letters is None:
        raise ValueError("the point lies outside the grid")
    half = (figures or 0) // 2
    east = f"{math.floor(easting) - corner[0]:05d}"
    north = f"{math.floor(northing) - corner[1]:05d}"
    if tetrad:
        place = int(east[1]) // 2 * 5 + int(north[1]) // 2
        return f"{letters}{east[0]}{north[0]}{_TETRAD_LETTERS[place]}"
    return " ".join(part for part in (letters, east[:half], north[:half]) if part)


_GB_CORNERS: Final = np.full((26 * 26, 2), -1, dtype=np.int64)
for _letters, _corner in SQUARES.items():
    if len(_letters) == 2:  # noqa: PLR2004 - British
        _GB_CORNERS[(ord(_letters[0]) - 65) * 26 + ord(_letters[1]) - 65] = _corner
_GB_CORNERS.flags.writeable = False


def parse_grid_refs(texts: pd.Series[str]) -> pd.DataFrame:
    """Read many references; a plain British one costs no Python call.

    Parameters
    ----------
    texts
        Texts, best distinct; none missing.

    Returns
    -------
    pandas.DataFrame
        On the same index: easting, northing (centre, metres of its own grid, NaN if
        unreadable), size_m, system ("GB", "IE", or None) and problem (code, or None).
    """
    count = len(texts)
    size = np.full(count, np.nan)
    east, north = np.full(count, np.nan), np.full(count, np.nan)
    system = np.full(count, None, dtype=object)
    problem = np.full(count, None, dtype=object)
    plain = _parse_plain(texts, east, north, size)
    system[plain] = "GB"
    for at in np.flatnonzero(~plain):
        read = parse_grid_ref(str(texts.iloc[at]))
        if isinstance(read, GridFault):
            problem[at] = read.code
        else:
            east[at], north[at] = read.centre
            size[at], system[at] = read.size_m, read.system
    return pd.DataFrame(
        {"easting": east, "northing": north, "size_m": size, "system": system, "problem": problem},
        index=texts.index,
    )


def _parse_plain(
    texts: pd.Series[str],
    east: npt.NDArray[np.float64],
    north: npt.NDArray[np.float64],
    size: npt.NDArray[np.float64],
) -> npt.NDArray[np.bool_]:
    """Fill in the texts of the plain form, two letters and even figures, by array arithmetic.

    Works on the matrix of character codes: one row a text, after taking out single spaces.
    """
    done = np.zeros(len(texts), dtype=bool)
    joined = texts.str.replace(" ", "", regex=False)
    lengths = joined.str.len().to_numpy()
    for half in range(1, 6):
        rows = np.flatnonzero(lengths == 2 + 2 * half)
        if not rows.size:
            continue
        # Unequal groups ("TG 50 304") must not slip through: spaces may stand only between
        # letters, easting and northing, so the original is one of these three lengths.
        width = 2 + 2 * half
        chosen = joined.iloc[rows].to_numpy(dtype=f"U{width}")
        codes = chosen.view(np.uint32).reshape(-1, width)
        letters = codes[:, :2].astype(np.int64)
        letters = np.where((letters >= 97) & (letters <= 122), letters - 32, letters) - 65  # noqa: PLR2004 - a-z
        figures = codes[:, 2:].astype(np.int64) - 48
        good = ((letters >= 0) & (letters < 26)).all(axis=1)  # noqa: PLR2004 - A-Z
        good &= ((figures >= 0) & (figures <= 9)).all(axis=1)  # noqa: PLR2004 - 0-9
        good &= _evenly_spaced(texts.iloc[rows], half)
        corner = _GB_CORNERS[np.where(good, letters[:, 0] * 26 + letters[:, 1], 0)]
        good &= corner[:, 0] >= 0
        powers = 10 ** np.arange(half - 1, -1, -1)
        side = 10 ** (5 - half)
        at = rows[good]
        east[at] = corner[good, 0] + (figures[good, :half] @ powers + 0.5) * side
        north[at] = corner[good, 1] + (figures[good, half:] @ powers + 0.5) * side
        size[at] = side
        done[at] = True
    return done


def _evenly_spaced(texts: pd.Series[str], half: int) -> npt.NDArray[np.bool_]:
    """Whether spaces stand only after the letters or between easting and northing."""
    lengths = texts.str.len().to_numpy()
    compact = lengths == 2 + 2 * half
    lettered = texts.str.slice(2, 3).eq(" ").to_numpy()
    one = (lengths == 3 + 2 * half) & lettered
    two = (
        (lengths == 4 + 2 * half)
        & lettered
        & texts.str.slice(3 + half, 4 + half).eq(" ").to_numpy()
    )
    return np.asarray(compact | one | two, dtype=bool)
