"""Every record's place, from whatever the row gives, as one point in the town's grid."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.private.intake.schema import PLACE_COLUMNS
from eaveline.private.places.addresses import AddressBook
from eaveline.private.places.frame import TownFrame
from eaveline.private.places.place_address import AddressReadings, place_addresses
from eaveline.private.places.place_anywhere import METHODS, place_anywhere
from eaveline.private.places.place_degrees import place_degree_cells
from eaveline.private.places.place_gridref import is_shaped_like_grid_ref, place_grid_refs
from eaveline.private.places.place_metres import place_metre_cells
from eaveline.private.places.readings import Floats, Mask, Objects, Readings, given
from eaveline.private.places.street_lines import StreetLines
from eaveline.private.places.streets import StreetMatcher

AGREEMENT_TOLERANCE_M: Final = 25.0
"""Beyond the sum of both uncertainties, how far two places of one row may lie apart."""
STREET_TOLERANCE_M: Final = 60.0
"""How far from the middle of its street a building may stand, back gardens and yards included.

Both tolerances are common practice, no source.
"""
_SAYS_NOTHING: Final = frozenset(
    {"", "?", "??", "-", "--", "n/a", "na", "n/k", "nk", "none", "unknown"}
)
_FIGURES: Final = (("latitude", "longitude"), ("easting", "northing"))
_POINT_COLUMNS: Final = ("grid_ref", "latitude", "easting")
"""The column each of `METHODS` is named by in a problem."""


BY_ADDRESS = "address"
"""The method of a place found by street and house."""


def locate(
    places: pd.DataFrame,
    *,
    town: TownFrame,
    streets: StreetMatcher,
    addresses: AddressBook | None,
    lines: StreetLines | None,
    slugs: Mapping[str, str],
) -> pd.DataFrame:
    """Place every row, or say why it cannot be placed.

    Parameters
    ----------
    places
        Any of the columns grid_ref, latitude, longitude, easting, northing, street, house;
        texts or categories of texts, missing where nothing was typed.
    town
        Where places must lie, and in which grid.
    streets, addresses, lines
        The town's street names, its addresses and the lines of its streets; the last two
        None where there is no such file.
    slugs
        The slug of each of the town's street names.

    Returns
    -------
    pandas.DataFrame
        On the same index:

        easting, northing, uncertainty_m
            Metres in the town's grid; NaN where there is a problem.
        method
            "address", "grid reference", "latitude and longitude", "easting and northing"
            or "street".
        problem, problem_column, suggestion
            A code of `PLACE_PROBLEMS`, the column at fault, and the cell probably meant.
        repair
            A code of `PLACE_REPAIRS`; `problem_column` then tells where.
        street_slug, house_name
            The street if one was named, and the house as the address list writes it.
        building
            Row number in `addresses.buildings`, missing where none was named.

    Notes
    -----
    Where a row gives several places they must agree within the sum of their uncertainties
    and 25 m, or lie within their own uncertainty and 60 m of the street named; then the
    building named is taken, else the most precise. Work is done once for each distinct place.
    """
    cells, inverse = _distinct(places)
    points = [_grid_refs(cells, town), _degrees(cells, town), _metres(cells, town)]
    address = place_addresses(
        cells["street"], cells["house"], streets=streets, addresses=addresses, lines=lines
    )
    _whole_places_in_street_cells(cells, points, address, town)
    outcome = _Outcome.combine(points, address, lines)
    return _table(outcome, inverse, places.index, addresses, slugs)


def _distinct(places: pd.DataFrame) -> tuple[dict[str, Objects], npt.NDArray[np.intp]]:
    """Return the distinct rows as a column of texts each, and which of them each row is."""
    code = np.zeros(len(places), dtype=np.int64)
    distinct_count = 1
    columns: dict[str, tuple[npt.NDArray[np.int64], Objects]] = {}
    for name in PLACE_COLUMNS:
        if name not in places or not places[name].notna().any():
            continue
        numbers, texts = pd.factorize(places[name])
        kept = np.array([*map(_said, texts), None], dtype=object)
        columns[name] = numbers.astype(np.int64), kept
        code, uniques = pd.factorize(code * (len(texts) + 1) + numbers + 1)
        distinct_count = len(uniques)
    first = np.zeros(distinct_count, dtype=np.intp)
    first[code[::-1]] = np.arange(len(places) - 1, -1, -1)
    nothing = np.full(distinct_count if len(places) else 0, None, dtype=object)
    cells = dict.fromkeys(PLACE_COLUMNS, nothing)
    if len(places):
        cells |= {name: kept[numbers[first]] for name, (numbers, kept) in columns.items()}
    return cells, code.astype(np.intp)


def _said(text: object) -> str | None:
    said = str(text).strip()
    return None if said.casefold() in _SAYS_NOTHING else said


def _grid_refs(cells: Mapping[str, Objects], town: TownFrame) -> Readings:
    """Read the grid references; one that is none may be another kind of place."""
    readings = place_grid_refs(cells["grid_ref"], town=town)
    rows = np.flatnonzero(readings.failed)
    other, _ = place_anywhere(cells["grid_ref"][rows], town=town)
    _move(readings, rows, other, "grid_ref")
    return readings


def _degrees(cells: Mapping[str, Objects], town: TownFrame) -> Readings:
    """Read latitudes and longitudes, in two cells or one; columns may really hold metres."""
    readings = place_degree_cells(cells["latitude"], cells["longitude"], town=town)
    rows = np.flatnonzero(readings.failed)
    other = place_metre_cells(cells["longitude"][rows], cells["latitude"][rows], town=town)
    _mend_as(readings, rows, other, "metres-among-degrees", "latitude")
    _lone_cells(readings, cells, *_FIGURES[0], own_method=METHODS[1], town=town)
    return readings


def _metres(cells: Mapping[str, Objects], town: TownFrame) -> Readings:
    """Read eastings and northings, in two cells or one; columns may really hold degrees."""
    readings = place_metre_cells(cells["easting"], cells["northing"], town=town)
    rows = np.flatnonzero(readings.failed)
    other = place_degree_cells(cells["northing"][rows], cells["easting"][rows], town=town)
    _mend_as(readings, rows, other, "degrees-among-metres", "easting")
    _lone_cells(readings, cells, *_FIGURES[1], own_method=METHODS[2], town=town)
    return readings


def _mend_as(
    readings: Readings, rows: npt.NDArray[np.intp], other: Readings, repair: str, column: str
) -> None:
    hits = np.flatnonzero(other.found)
    readings.take_over(rows[hits], other.rows(hits))
    readings.mend(rows[hits], repair, column)


def _move(readings: Readings, rows: npt.NDArray[np.intp], other: Readings, column: str) -> None:
    _mend_as(readings, rows, other, "place-in-another-column", column)


def _lone_cells(
    readings: Readings,
    cells: Mapping[str, Objects],
    first: str,
    second: str,
    *,
    own_method: str,
    town: TownFrame,
) -> None:
    """Read rows that fill in one cell of two: it may hold both halves, or a whole place."""
    for name, empty in ((first, second), (second, first)):
        rows = np.flatnonzero(given(cells[name]) & ~given(cells[empty]))
        if not rows.size:
            continue
        readings.fail(rows, "coordinate-half-missing", empty)
        other, method = place_anywhere(cells[name][rows], town=town)
        foreign = np.flatnonzero(other.found & (method != own_method))
        other.mend(foreign, "place-in-another-column", name)
        hits = np.flatnonzero(other.found)
        readings.take_over(rows[hits], other.rows(hits))


def _whole_places_in_street_cells(
    cells: Mapping[str, Objects], points: list[Readings], address: AddressReadings, town: TownFrame
) -> None:
    """Take a grid reference or coordinates out of a street's cell, if the row has no other.

    A grid reference that cannot be right is held as one, not as a street nobody knows.
    """
    pointless = ~np.logical_or.reduce([reading.found | reading.failed for reading in points])
    rows = np.flatnonzero(address.readings.failed & pointless & given(cells["street"]))
    other, _ = place_anywhere(cells["street"][rows], town=town)
    hits = np.flatnonzero(other.found)
    _move(points[0], rows, other, "street")
    address.readings.clear(rows[hits])
    shaped = np.array([is_shaped_like_grid_ref(text, town=town) for text in cells["street"][rows]])
    wrong = rows[~other.found & shaped.astype(bool)]
    held = place_grid_refs(cells["street"][wrong], town=town)
    held.column[held.failed] = "street"
    points[0].take_over(wrong, held)
    address.readings.clear(wrong)


@dataclass(frozen=True, slots=True, repr=False)
class _Outcome:
    """The one answer for each distinct place."""

    readings: Readings
    method: Objects
    street: Objects
    building: npt.NDArray[np.int64]

    @classmethod
    def combine(
        cls, points: list[Readings], address: AddressReadings, lines: StreetLines | None
    ) -> _Outcome:
        """Choose the most precise point, then weigh the street and house against it."""
        rows = len(address.street)
        chosen, method = Readings.blank(rows), np.full(rows, None, dtype=object)
        for name, reading in zip(METHODS, points, strict=True):
            better = reading.found & ~(chosen.uncertainty_m <= reading.uncertainty_m)
            at = np.flatnonzero(better)
            repair, column = chosen.repair[at], chosen.column[at]
            chosen.take_over(at, reading.rows(at))
            method[at] = name
            _keep_repairs(chosen, at, repair, column)
            worse = np.flatnonzero(reading.found & ~better)
            _keep_repairs(chosen, worse, reading.repair[worse], reading.column[worse])
        outcome = cls(chosen, method, address.street.copy(), address.building.copy())
        outcome._weigh_address(address, lines)
        outcome._hold_disagreeing([*points, address.readings], address)
        outcome._hold_failed(points)
        outcome._hold_placeless()
        return outcome

    def _weigh_address(self, address: AddressReadings, lines: StreetLines | None) -> None:
        """Settle what street and house say beside, or instead of, a point."""
        read, pointed = address.readings, self.readings.found
        alone = np.flatnonzero((read.found | read.failed) & ~pointed)
        self.readings.take_over(alone, read.rows(alone))
        built = read.found & (address.building >= 0)
        self.method[alone[read.found[alone]]] = "street"
        self.method[alone[built[alone]]] = BY_ADDRESS

        off_street = _off_street(self.readings, address.street, lines)
        known = given(address.street)
        both = pointed & (read.found | read.failed)
        # A street alone, or with a house in no list, only has to hold the point.
        street_only = both & known & ~built & (read.found | address.house_unknown)
        self.readings.fail(np.flatnonzero(street_only & off_street), "places-disagree", "street")
        left_out = np.flatnonzero(street_only & ~off_street & address.house_unknown)
        self._note(left_out, "house-not-used", read.column)
        told = np.flatnonzero(street_only & ~off_street & read.found)
        _keep_repairs(self.readings, told, read.repair[told], read.column[told])

        nameless = both & ~known & read.failed
        suggested = given(read.suggestion)
        meant = _only(read.suggestion, nameless & suggested)
        near = nameless & suggested & _on_street(self.readings, meant, lines)
        spelt = near & (read.problem == "street-unknown")
        self.street[spelt] = meant[spelt]
        self._note(np.flatnonzero(spelt), "street-spelling-corrected", read.column)
        ignored = nameless & ~spelt & (~suggested | (read.problem != "street-unknown"))
        self._note(np.flatnonzero(ignored), "street-not-used", read.column)

        settled = street_only | spelt | ignored
        held = np.flatnonzero(both & read.failed & ~settled)
        self.readings.take_over(held, read.rows(held))

        joined = np.flatnonzero(both & built)
        repair, column = self.readings.repair[joined], self.readings.column[joined]
        self.readings.take_over(joined, read.rows(joined))
        _keep_repairs(self.readings, joined, repair, column)
        self.method[joined] = BY_ADDRESS

    def _note(self, rows: npt.NDArray[np.intp], repair: str, columns: Objects) -> None:
        _keep_repairs(self.readings, rows, np.full(len(rows), repair, dtype=object), columns[rows])

    def _hold_disagreeing(self, readings: list[Readings], address: AddressReadings) -> None:
        """Hold rows of which two points lie too far apart; the street alone is weighed before."""
        named = (*_POINT_COLUMNS, "street")
        is_point = [reading.found for reading in readings]
        is_point[-1] = is_point[-1] & (address.building >= 0)
        for later in range(1, len(readings)):
            for earlier in range(later):
                one, other = readings[earlier], readings[later]
                apart = np.hypot(one.easting - other.easting, one.northing - other.northing)
                limit = one.uncertainty_m + other.uncertainty_m + AGREEMENT_TOLERANCE_M
                far = is_point[earlier] & is_point[later] & (apart > limit)
                self.readings.fail(np.flatnonzero(far), "places-disagree", named[earlier])

    def _hold_failed(self, points: list[Readings]) -> None:
        """Hold rows in which figures were given that cannot be right."""
        for reading in reversed(points):
            failed = np.flatnonzero(reading.failed)
            self.readings.take_over(failed, reading.rows(failed))

    def _hold_placeless(self) -> None:
        nothing = np.flatnonzero(~self.readings.found & ~self.readings.failed)
        self.readings.fail(nothing, "place-missing", "place")


def _keep_repairs(
    readings: Readings, rows: npt.NDArray[np.intp], repair: Objects, column: Objects
) -> None:
    """Note further repairs of rows that have a point: the first stays, since one is told."""
    new = given(repair) & ~given(readings.repair[rows]) & ~readings.failed[rows]
    readings.repair[rows[new]], readings.column[rows[new]] = repair[new], column[new]


def _on_street(readings: Readings, names: Objects, lines: StreetLines | None) -> Mask:
    if lines is None:
        return np.zeros(len(names), dtype=bool)
    away = _street_distance_m(readings, names, lines)
    near: Mask = away <= readings.uncertainty_m + STREET_TOLERANCE_M
    return near


def _off_street(readings: Readings, names: Objects, lines: StreetLines | None) -> Mask:
    if lines is None:
        return np.zeros(len(names), dtype=bool)
    away = _street_distance_m(readings, names, lines)
    far: Mask = away > readings.uncertainty_m + STREET_TOLERANCE_M
    return far


def _street_distance_m(readings: Readings, names: Objects, lines: StreetLines) -> Floats:
    away = np.full(len(names), np.nan)
    rows = np.flatnonzero(given(names) & np.isfinite(readings.easting))
    away[rows] = lines.distance_m(names[rows], readings.easting[rows], readings.northing[rows])
    return away


def _table(
    outcome: _Outcome,
    inverse: npt.NDArray[np.intp],
    index: pd.Index,
    addresses: AddressBook | None,
    slugs: Mapping[str, str],
) -> pd.DataFrame:
    readings = outcome.readings
    failed = readings.failed
    building = np.where(failed, -1, outcome.building)
    house = np.full(len(building), None, dtype=object)
    if addresses is not None:
        at = np.flatnonzero(building >= 0)
        house[at] = addresses.buildings["house"].to_numpy(dtype=object)[building[at]]
    which, named = pd.factorize(outcome.street)
    slug = np.array([*(slugs[street] for street in named), None], dtype=object)[which]
    texts = {
        "method": _only(outcome.method, ~failed),
        "problem": readings.problem,
        "problem_column": readings.column,
        "suggestion": readings.suggestion,
        "repair": readings.repair,
        "street_slug": _only(slug, ~failed),
        "house_name": house,
    }
    columns: dict[str, object] = {
        "easting": readings.easting[inverse],
        "northing": readings.northing[inverse],
        "uncertainty_m": readings.uncertainty_m[inverse],
        **{name: _categories(values, inverse) for name, values in texts.items()},
        "building": pd.arrays.IntegerArray(building[inverse], building[inverse] < 0),
    }
    return pd.DataFrame(columns, index=index)


def _only(values: Objects, rows: Mask) -> Objects:
    """Return the values of some rows, and None elsewhere."""
    kept = values.copy()
    kept[~rows] = None
    return kept


def _categories(values: Objects, inverse: npt.NDArray[np.intp]) -> pd.Categorical:
    codes, distinct = pd.factorize(values)
    return pd.Categorical.from_codes(codes[inverse], categories=pd.Index(distinct, dtype=object))
