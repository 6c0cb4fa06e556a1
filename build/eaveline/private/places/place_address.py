"""Streets and houses placed through the town's list of addresses and its map of streets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from eaveline.private.places.addresses import ADDRESS_UNCERTAINTY_M, AddressBook
from eaveline.private.places.houses import read_house
from eaveline.private.places.readings import Mask, Objects, Readings, given
from eaveline.private.places.street_lines import StreetLines
from eaveline.private.places.streets import StreetMatcher, StreetReading

_HOUSE_LEFT_OUT: Final = frozenset(
    {"house-not-listed", "street-without-addresses", "address-list-missing"}
)
"""Faults after which the rest of a place may still be used: the house alone is unknown."""


@dataclass(frozen=True, slots=True, repr=False)
class AddressReadings:
    """Readings of street and house, and what they were read from.

    `street` is the town's own name, None where none is certain; `building` the row number
    in `AddressBook.buildings`, -1 where none is meant. `house_unknown` marks a known street
    whose house is in no list: other places in the row may still do.
    """

    readings: Readings
    street: Objects
    building: npt.NDArray[np.int64]
    house_unknown: Mask


def place_addresses(
    street_cells: Objects,
    house_cells: Objects,
    *,
    streets: StreetMatcher,
    addresses: AddressBook | None,
    lines: StreetLines | None,
) -> AddressReadings:
    """Read rows that give a street, a house or both; each distinct pair once.

    A house finds its building. A street alone is placed at its middle, with an uncertainty
    that reaches its ends. A bare name before a street (a shop, a church) that is in no list
    leaves the street.
    """
    rows = len(street_cells)
    result = AddressReadings(
        Readings.blank(rows),
        np.full(rows, None, dtype=object),
        np.full(rows, -1, dtype=np.int64),
        np.zeros(rows, dtype=bool),
    )
    # A whole address may stand in the house's cell when the street's cell is empty.
    lone = given(house_cells) & ~given(street_cells)
    texts = np.where(lone, house_cells, street_cells)
    distinct = sorted({text for text in texts if text is not None})
    read = dict(zip(distinct, streets.read(distinct), strict=True))
    seen: dict[tuple[str, str | None], _Place] = {}
    for at in np.flatnonzero(given(texts)):
        text, house = texts[at], None if lone[at] else house_cells[at]
        place = seen.get((text, house))
        if place is None:
            place = _place(text, read[text], house, addresses=addresses, lines=lines)
            seen[text, house] = place
        _write(result, at, place, alone_in_house=bool(lone[at]))
    return result


@dataclass(frozen=True, slots=True)
class _Place:
    point: tuple[float, float, float] | None = None
    street: str | None = None
    building: int = -1
    problem: str | None = None
    column: str = "street"
    suggestion: str | None = None
    repair: str | None = None
    house_unknown: bool = False


def _place(
    text: str,
    reading: StreetReading,
    house_cell: str | None,
    *,
    addresses: AddressBook | None,
    lines: StreetLines | None,
) -> _Place:
    if reading.street is None:
        suggestion = reading.suggestion
        building = addresses.named(text) if addresses is not None else None
        if addresses is not None and building is not None:
            suggestion = addresses.label(building)
        return _Place(problem=reading.problem, suggestion=suggestion)
    house, house_is_name, column = reading.house, reading.house_is_name, "street"
    if house_cell is not None:
        if house and not house_is_name and read_house(house).keys != read_house(house_cell).keys:
            return _Place(street=reading.street, problem="house-given-twice", column="house")
        house, house_is_name, column = house_cell, False, "house"
    if not house:
        return _on_street(reading.street, lines, repair=reading.repair)
    found = _find(reading.street, house, addresses)
    if isinstance(found, int) and addresses is not None:
        easting, northing = addresses.point(found)
        point = (easting, northing, ADDRESS_UNCERTAINTY_M)
        return _Place(point, reading.street, found, repair=reading.repair)
    problem, suggestion = found if isinstance(found, tuple) else ("address-list-missing", None)
    if house_is_name and problem in _HOUSE_LEFT_OUT:
        return _on_street(reading.street, lines, repair="house-not-used")
    if suggestion and column == "street":
        suggestion = f"{suggestion} {reading.street}"
    return _Place(
        street=reading.street, problem=problem, column=column, suggestion=suggestion,
        house_unknown=problem in _HOUSE_LEFT_OUT and suggestion is None,
    )  # fmt: skip


def _find(street: str, house: str, addresses: AddressBook | None) -> int | tuple[str, str | None]:
    """Return the building's number, or a problem with its suggestion."""
    if addresses is None:
        return "address-list-missing", None
    match = addresses.find(street, house)
    if match.building is not None:
        return match.building
    return match.problem or "house-not-listed", match.suggestion


def _on_street(street: str, lines: StreetLines | None, *, repair: str | None) -> _Place:
    place = lines.place(street) if lines is not None else None
    if place is None:
        return _Place(street=street, problem="street-not-on-map")
    return _Place(place, street, repair=repair)


def _write(result: AddressReadings, at: np.intp, place: _Place, *, alone_in_house: bool) -> None:
    readings, row = result.readings, np.array([at])
    column = "house" if alone_in_house else place.column
    if place.point is not None:
        readings.easting[at], readings.northing[at], readings.uncertainty_m[at] = place.point
        repair = place.repair or ("place-in-another-column" if alone_in_house else None)
        if repair is not None:
            readings.mend(row, repair, column)
    elif place.problem is not None:
        missing = alone_in_house and place.street is None
        readings.fail(
            row,
            "street-missing" if missing else place.problem,
            "street" if missing else column,
            None if missing else place.suggestion,
        )
    result.street[at] = place.street
    result.building[at] = place.building
    result.house_unknown[at] = place.house_unknown
