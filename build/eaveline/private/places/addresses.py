"""The list of addresses, indexed so that a street and a house find their building."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
import pandas as pd
from rapidfuzz import fuzz, process

from eaveline.errors import InputError, Problem
from eaveline.private.intake.headings import find_headings
from eaveline.private.intake.schema import plain
from eaveline.private.intake.text_grids import decode, text_grid
from eaveline.private.places.houses import numbers_within, read_house
from eaveline.private.places.street_names import street_key

ADDRESS_FILE: Final = "map/addresses.csv"
ADDRESS_UNCERTAINTY_M: Final = 10.0
"""From a list's point for a house to the eaves where birds go in (common practice, no source)."""
SAME_BUILDING_M: Final = 25.0
"""Points of one address further apart are two buildings, one of them mislabelled."""
MOST_FAULTS_SHOWN: Final = 50

_ALIASES: Final = {
    "street": ("street", "streetname", "road", "roadname", "thoroughfare", "streetdescriptor"),
    "house": ("house", "housenumber", "houseno", "number", "no", "housename", "name", "paon",
              "addresslabel", "numberorname", "houseornumber"),
    "easting": ("easting", "eastings", "x", "xcoordinate", "east"),
    "northing": ("northing", "northings", "y", "ycoordinate", "north"),
}  # fmt: skip
_HEADINGS: Final = {alias: name for name, aliases in _ALIASES.items() for alias in aliases}
_NAME_SCORE: Final = 80.0
"""Likeness (rapidfuzz ratio) from which a house name is worth suggesting; never accepted."""


@dataclass(frozen=True, slots=True)
class HouseMatch:
    """What the list says of one house.

    Exactly one of `building` and `problem` is set. `suggestion` is the cell a person may
    have meant.
    """

    building: int | None = None
    problem: str | None = None
    suggestion: str | None = None


class AddressBook:
    """Buildings by street and house.

    Parameters
    ----------
    addresses
        street, house (as text), easting, northing (metres): a row for each address, the
        flats of one building among them. Rows of one building are joined; its point is the
        median of theirs.

    Attributes
    ----------
    buildings : pandas.DataFrame
        street, house, easting, northing, addresses (how many were joined), sorted by street
        and house; the row number is the building's number here.
    """

    def __init__(self, addresses: pd.DataFrame) -> None:
        """Join the flats, then index the buildings."""
        self.buildings = _join_flats(addresses)
        self._by_house: dict[tuple[str, str], int] = {}
        self._by_street: dict[str, list[int]] = {}
        self._by_name: dict[str, list[int]] = {}
        ranges: dict[tuple[str, str], set[int]] = {}
        streets = self.buildings["street"].map(street_key)
        for building, (street, house) in enumerate(
            zip(streets, self.buildings["house"], strict=True)
        ):
            read = read_house(house)
            self._by_street.setdefault(street, []).append(building)
            if read.name:
                self._by_name.setdefault(read.name, []).append(building)
            for key in read.keys:
                self._by_house.setdefault((street, key), building)
            if "-" in read.number:
                for number in numbers_within(read.number):
                    ranges.setdefault((street, number), set()).add(building)
        for at, found in ranges.items():
            if len(found) == 1 and at not in self._by_house:
                self._by_house[at] = found.pop()

    def __repr__(self) -> str:
        """Show a count only: addresses stay out of logs."""
        return f"<AddressBook of {len(self.buildings)} buildings>"

    def __len__(self) -> int:
        """Return the number of buildings."""
        return len(self.buildings)

    def find(self, street: str, house: str) -> HouseMatch:
        """Find one house in a street of the list.

        A flat finds its building, a number the range that holds it. A range in the question
        that is two buildings in the list is not guessed at.
        """
        key, read = street_key(street), read_house(house)
        if not read:
            return HouseMatch(problem="house-unreadable")
        for part in read.keys:
            building = self._by_house.get((key, part))
            if building is not None:
                return HouseMatch(building)
        if key not in self._by_street:
            return HouseMatch(problem="street-without-addresses")
        if "-" in read.number:
            within = (self._by_house.get((key, number)) for number in numbers_within(read.number))
            found = sorted({building for building in within if building is not None})
            if len(found) == 1:
                return HouseMatch(found[0])
            if found:
                return HouseMatch(
                    problem="house-several-buildings",
                    suggestion=str(self.buildings["house"].iloc[found[0]]),
                )
        return HouseMatch(problem="house-not-listed", suggestion=self._suggest(key, house))

    def named(self, house: str) -> int | None:
        """Return the one building of the town with that name, whatever its street."""
        found = self._by_name.get(read_house(house).name, ())
        return found[0] if len(found) == 1 else None

    def point(self, building: int) -> tuple[float, float]:
        """Return a building's easting and northing, in metres."""
        row = self.buildings.iloc[building]
        return float(row["easting"]), float(row["northing"])

    def label(self, building: int) -> str:
        """Return a building's house and street as a cell may hold them."""
        row = self.buildings.iloc[building]
        return f"{row['house']}, {row['street']}"

    def _suggest(self, key: str, house: str) -> str | None:
        """Suggest 12 for 12z, or a name spelt much the same; never a neighbouring number."""
        read = read_house(house)
        without_letter = read.number.rstrip("abcdefghijklmnopqrstuvwxyz")
        building = self._by_house.get((key, without_letter)) if without_letter else None
        if building is None and read.name:
            listed = {
                at: read_house(str(self.buildings["house"].iloc[at])).name
                for at in self._by_street[key]
            }
            best = process.extractOne(
                read.name, listed, scorer=fuzz.ratio, score_cutoff=_NAME_SCORE
            )
            building = best[2] if best else None
        return None if building is None else str(self.buildings["house"].iloc[building])


def _join_flats(addresses: pd.DataFrame) -> pd.DataFrame:
    reads = [read_house(house) for house in addresses["house"]]
    keyed = addresses.assign(
        street_key=[street_key(street) for street in addresses["street"]],
        house_key=[read.number or read.name for read in reads],
        # A row that is itself the building gives it its name; else a flat's own row does.
        is_flat=[bool(read.unit) for read in reads],
    )
    ordered = keyed.sort_values(["street_key", "house_key", "is_flat", "street", "house"])
    grouped = ordered.groupby(["street_key", "house_key"], sort=False)
    joined = grouped.agg(
        street=("street", "first"),
        house=("house", "first"),
        easting=("easting", "median"),
        northing=("northing", "median"),
        addresses=("house", "size"),
        is_flat=("is_flat", "first"),
    ).reset_index()
    names = [
        _building_name(house, key) if flat else house
        for house, key, flat in zip(
            joined["house"], joined["house_key"], joined["is_flat"], strict=True
        )
    ]
    return joined.assign(house=names)[["street", "house", "easting", "northing", "addresses"]]


def _building_name(house: str, key: str) -> str:
    """Return `house` without its flat: the part after the comma if that says the same."""
    tail = house.rpartition(",")[2].strip()
    read = read_house(tail)
    return tail if (read.number or read.name) == key and not read.unit else key


def load_addresses(survey_data: Path) -> AddressBook | None:
    """Read ``map/addresses.csv``; None if there is no such file.

    Raises
    ------
    InputError
        With every fault at once (the first 50 of many): missing headings, cells that are
        empty or no numbers, one address at two places.
    """
    path = survey_data / ADDRESS_FILE
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise InputError(
            _problem(
                "addresses-unreadable",
                f"The file cannot be read ({type(error).__name__}).",
                "Close it in other programs and check that you may open it.",
            )
        ) from None
    text, _ = decode(data, name=ADDRESS_FILE)
    grid, _ = text_grid(text, _HEADINGS, name=ADDRESS_FILE)
    header = find_headings(grid, _HEADINGS)
    found = [_HEADINGS.get(plain(cell)) for cell in grid[header]] if header is not None else []
    missing = [name for name in _ALIASES if name not in found]
    if header is None or missing:
        raise InputError(
            _problem(
                "addresses-column-missing",
                f"There is no column {name}.",
                "Give the list the headings street, house, easting and northing.",
                column=name,
            )
            for name in missing
        )
    place = {name: found.index(name) for name in _ALIASES}
    cells = pd.DataFrame(
        [
            [row[at].strip() if at < len(row) else "" for at in place.values()]
            for row in grid[header + 1 :]
        ],
        columns=list(place),
        index=pd.RangeIndex(header + 2, len(grid) + 1),
        dtype=object,
    )
    cells = cells[(cells != "").any(axis=1)]
    addresses, problems = _check(cells)
    if problems:
        raise InputError(_shown(problems))
    return AddressBook(addresses)


def _check(cells: pd.DataFrame) -> tuple[pd.DataFrame, list[Problem]]:
    """Return the addresses with numbers for coordinates, then what is wrong with them.

    The index is the row in the file.
    """
    problems = [
        _problem("addresses-cell-missing", "This cell is empty.", "Fill it in, or remove the row.",
                 row=int(row), column=column)
        for column in _ALIASES
        for row in cells.index[cells[column] == ""]
    ]  # fmt: skip
    numbers = {
        column: pd.to_numeric(
            cells[column].str.replace(r"[,\s](?=\d{3}\b)", "", regex=True), errors="coerce"
        )
        for column in ("easting", "northing")
    }
    problems += [
        _problem("addresses-not-a-number", "This is not a number of metres.",
                 "Write the coordinate as a plain number.", row=int(row), column=column)
        for column, values in numbers.items()
        for row in cells.index[values.isna() & (cells[column] != "")]
    ]  # fmt: skip
    addresses = cells.assign(**numbers)
    whole = addresses.dropna()
    whole = whole[(whole["street"] != "") & (whole["house"] != "")]
    problems += [
        _problem("addresses-house-unreadable", "This is neither a house number nor a name.",
                 "Write it like 12, 12a or The Old Forge.", row=int(row), column="house")
        for row in whole.index[[not read_house(house) for house in whole["house"]]]
    ]  # fmt: skip
    return addresses, sorted(
        [*problems, *_at_two_places(whole)], key=lambda problem: problem.row or 0
    )


def _at_two_places(whole: pd.DataFrame) -> list[Problem]:
    reads = [read_house(house) for house in whole["house"]]
    key = [
        (street_key(street), read.number or read.name, read.unit)
        for street, read in zip(whole["street"], reads, strict=True)
    ]
    first = whole.groupby(pd.Index(key, tupleize_cols=False))[["easting", "northing"]].transform(
        "first"
    )
    away = np.hypot(whole["easting"] - first["easting"], whole["northing"] - first["northing"])
    return [
        _problem(
            "addresses-at-two-places",
            "An earlier row gives the same address at another place.",
            "Remove one of the two, or mend its street or house.",
            row=int(row),
            column="house",
        )
        for row in whole.index[away > SAME_BUILDING_M]
    ]


def _shown(problems: list[Problem]) -> Iterable[Problem]:
    shown = problems[:MOST_FAULTS_SHOWN]
    if len(problems) > len(shown):
        rest = len(problems) - len(shown)
        shown.append(
            _problem(
                "addresses-more-faults", f"The list has {rest} more faults.", "Mend these first."
            )
        )
    return shown


def _problem(
    code: str, what: str, next_step: str, *, row: int | None = None, column: str | None = None
) -> Problem:
    return Problem(
        code, what, next_step, file=f"survey_data/{ADDRESS_FILE}", row=row, column=column
    )
