"""Remembers the buildings that records are about, so that a list that loses one loses no nest.

A house comes down, and its line leaves the list of addresses. If its old nest left the map in the
same week, everyone who saw the house go would know where the nest had been. So each build notes
which buildings have records, in private, and a later one takes those that are gone from the lists
from there: records find them, counts keep them, but they are premises no more. Nor does a record
follow a house whose point in the list is corrected over the edge of a square: anyone can compare
two lists, and a nest that changed its square with the house would be that house's.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
from scipy.spatial import cKDTree

from eaveline.private.places.addresses import AddressBook
from eaveline.private.places.locate import BY_ADDRESS
from eaveline.private.register import GONE, Register
from eaveline.protect.premises import SAME_POINT_M, Premises, assign_building
from eaveline.protect.remembered import read_rows, write_rows

RECORDED_FILE = "private/recorded-buildings.csv"
_POINT = ["easting", "northing"]
_COLUMNS = {"street": str, "house": str, "easting": float, "northing": float}
_MANY = 1_000_000
"""Households of a building that is no more: how many lived there is not known, so that no consent
is all of theirs, and it stays in the counts."""


def recorded_buildings(
    register: Register, premises: Premises | None, book: AddressBook | None
) -> pd.DataFrame:
    """Return the addresses of every building with a nest site or a box, or that a record names.

    Parameters
    ----------
    register
        Everything merged.
    premises, book
        The buildings and addresses that it was joined to, those that are gone among them.

    Returns
    -------
    pandas.DataFrame
        street, house ("" for a building without an address), easting, northing; sorted.
    """
    if premises is None:
        return pd.DataFrame(columns=list(_COLUMNS))
    parts = [t[["method", *_POINT]] for t in (register.sightings, register.watches) if len(t)]
    named = pd.concat(parts) if parts else pd.DataFrame(columns=["method", *_POINT])
    named = named[named["method"] == BY_ADDRESS]
    nowhere = np.zeros(len(named))
    named_at = assign_building(named["easting"], named["northing"], nowhere, premises)
    known = {*register.sites["building"], *register.boxes["building"], *named_at} - {-1}
    own = premises.buildings.iloc[sorted(int(building) for building in known)]
    parts = [own[["easting", "northing"]].assign(street="", house="")]
    if book is not None:
        listed = book.buildings
        nowhere = np.zeros(len(listed))
        building = assign_building(listed["easting"], listed["northing"], nowhere, premises)
        parts = [
            listed.loc[np.isin(building, list(known)), list(_COLUMNS)],
            parts[0][~own.index.isin(building)],
        ]
    rows = pd.concat(parts, ignore_index=True)[list(_COLUMNS)]
    return rows.sort_values(list(_COLUMNS)).reset_index(drop=True)


def save_recorded(path: Path, rows: pd.DataFrame) -> None:
    """Write the file, all or nothing; one that says the same is left alone."""
    write_rows(path, rows[list(_COLUMNS)])


def load_recorded(path: Path) -> pd.DataFrame:
    """Return what was saved; nothing if there is no such file or it is damaged."""
    return read_rows(path, _COLUMNS)


def with_gone(
    premises: Premises,
    book: AddressBook | None,
    recorded: pd.DataFrame,
    *,
    cell_size_m: int = 100,
) -> tuple[Premises, AddressBook | None]:
    """Return the buildings and addresses with those added that only earlier records know.

    A building is gone if its address, or for one without an address its point, is no longer in
    the lists, or if its address is now in another square. Where another address or point stands
    for the same place, only the address is new.

    Parameters
    ----------
    premises, book
        What today's lists hold.
    recorded
        As `recorded_buildings` makes it.
    cell_size_m
        The side of a square.
    """
    recorded = recorded.reset_index(drop=True)
    now = _places_now(recorded, book)
    listed = now["easting"].notna().to_numpy()
    moved = listed & (now // cell_size_m != recorded[_POINT] // cell_size_m).any(axis=1).to_numpy()
    lost = recorded[~listed | moved]
    if lost.empty:
        return premises, book
    home = assign_building(now["easting"], now["northing"], np.zeros(len(now)), premises)
    households = premises.buildings["households"].reindex(home).fillna(_MANY).to_numpy(np.int64)
    each = lost[_POINT].assign(households=households[lost.index])
    gone = each.groupby(_POINT)["households"].max().reset_index()
    if len(premises.members):
        tree = cKDTree(premises.members[_POINT].to_numpy())
        gone = gone[np.asarray(tree.query(gone[_POINT].to_numpy())[0]) > SAME_POINT_M]
    first = len(premises.buildings)
    extended = Premises(
        buildings=pd.concat([premises.buildings, gone.assign(source=GONE)], ignore_index=True),
        members=pd.concat(
            [premises.members, gone[_POINT].assign(building=np.arange(first, first + len(gone)))],
            ignore_index=True,
        ),
    )
    addressed = lost[lost["house"] != ""]
    if book is None or addressed.empty:
        return extended, book
    # An address given twice would be taken for one building halfway between.
    again = pd.MultiIndex.from_frame(_spelt(addressed))
    own = book.buildings[list(_COLUMNS)]
    own = own[~pd.MultiIndex.from_frame(_spelt(own)).isin(again)]
    return extended, AddressBook(pd.concat([own, addressed], ignore_index=True))


def _places_now(recorded: pd.DataFrame, book: AddressBook | None) -> pd.DataFrame:
    """Return easting and northing of each recorded address in today's list, NaN where in none."""
    places = [(np.nan, np.nan)] * len(recorded)
    if book is not None:
        points = book.buildings[_POINT].to_numpy(dtype=np.float64).tolist()
        for row, (street, house) in enumerate(
            zip(recorded["street"], recorded["house"], strict=True)
        ):
            building = book.find(street, house).building if house else None
            if building is not None:
                places[row] = tuple(points[building])
    return pd.DataFrame(places, columns=_POINT, dtype=np.float64)


def _spelt(rows: pd.DataFrame) -> pd.DataFrame:
    return pd.DataFrame(
        {name: rows[name].str.strip().str.casefold() for name in ("street", "house")}
    )
