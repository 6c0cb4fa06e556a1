"""Finds the place that a question names."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NamedTuple

import pandas as pd
import shapely
from shapely.geometry.base import BaseGeometry

from eaveline.errors import InputError, Problem
from eaveline.private.intake.schema import PLACE_COLUMNS
from eaveline.private.intake.take_in import Locator
from eaveline.private.places.gridref import GridSquare, parse_grid_ref
from eaveline.private.places.place_problems import PLACE_PROBLEMS

STREET_HALF_M = 15.0
"""From a street's middle to the walls along it (common practice, no source)."""
_TWO_NUMBERS = re.compile(r"^\s*(\d{5,6}(?:\.\d+)?)\s*[,; ]\s*(\d{5,6}(?:\.\d+)?)\s*$")


class Found(NamedTuple):
    """The place that a question names."""

    shape: BaseGeometry
    """A point; for a street without a house the whole street, from wall to wall."""
    uncertainty_m: float
    read_as: tuple[str, str] | None = None
    """House ("" for none) and the street's slug, where the spelling had to be corrected."""


def find_place(text: str, locator: Locator, *, streets: Mapping[str, BaseGeometry]) -> Found:
    """Return the place a text names.

    Parameters
    ----------
    text
        An address, a street, a grid reference, or an easting and a northing.
    locator
        Finds places, as for records.
    streets
        Each street's lines, by slug.

    Raises
    ------
    InputError
        If there is no such place in the town.
    """
    cells: dict[str, str | None] = dict.fromkeys(PLACE_COLUMNS)
    if numbers := _TWO_NUMBERS.match(text):
        cells |= {"easting": numbers[1], "northing": numbers[2]}
    elif isinstance(parse_grid_ref(text), GridSquare):
        cells["grid_ref"] = text
    else:
        cells["street"] = text
    row = pd.DataFrame({name: pd.Categorical([cell]) for name, cell in cells.items()})
    (found,) = locator(row).to_dict("records")
    if isinstance(found["problem"], str):
        what, step = PLACE_PROBLEMS[found["problem"]]
        meant = found["suggestion"]
        if isinstance(meant, str) and meant:
            step = f"{step} Did you mean: {meant}?"
        raise InputError(Problem("place-not-found", what, step))
    slug, house = found["street_slug"], found["house_name"]
    corrected = isinstance(found["repair"], str) and slug in streets
    read_as = (house if isinstance(house, str) else "", str(slug)) if corrected else None
    if slug in streets and not isinstance(house, str) and not cells["grid_ref"]:
        return Found(shapely.buffer(streets[slug], STREET_HALF_M), 0.0, read_as)
    point = shapely.Point(found["easting"], found["northing"])
    return Found(point, float(found["uncertainty_m"]), read_as)
