"""Remembers the buildings that records are about, so that a list that loses one loses no nest.

A house comes down, and its line leaves the list of addresses. If its old nest left the map in the
same week, everyone who saw the house go would know where the nest had been. So each build notes
which buildings have records, in private, and a later one takes those that are gone from the lists
from there: records find them, counts keep them, but they are premises no more. Nor does a record
follow a house whose point in the list is corrected over the edge of a square, and two recorded
houses that a new list draws as one are counted as two: anyone can compare two lists, and a nest
that changed its square with the house, or left the count with it, would be that house's.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.spatial import cKDTree

from eaveline.private.merge.sites import AssignBuilding
from eaveline.private.places.addresses import ADDRESS_UNCERTAINTY_M, AddressBook
from eaveline.private.places.locate import BY_ADDRESS
from eaveline.private.register import GONE, Register
from eaveline.protect.buildings.premises import SAME_POINT_M, Premises, assign_building
from eaveline.protect.remembered.tables import read_rows, write_rows

_POINT = ["easting", "northing"]
_HOME = ["building_easting", "building_northing"]
_ADDRESS = ("street", "house", *_POINT)
_COLUMNS = {"street": str, "house": str} | dict.fromkeys((*_POINT, *_HOME), float)
_MANY = 1_000_000
"""Households of a building that is no more: how many lived there is not known, so that no consent
is all of theirs, and it stays in the counts."""


def recorded_buildings(
    register: Register,
    premises: Premises | None,
    book: AddressBook | None,
    *,
    assign_building: AssignBuilding,
) -> pd.DataFrame:
    """Return the addresses of every building with a nest site or a box, or that a record names.

    Parameters
    ----------
    register
        Everything merged.
    premises, book
        The buildings and addresses that it was joined to, those that are gone among them.
    assign_building
        What joined it.

    Returns
    -------
    pandas.DataFrame
        street, house ("" for a building without an address), easting, northing, and the point of
        the building; sorted.
    """
    if premises is None:
        return pd.DataFrame(columns=list(_COLUMNS))

    def homes_of(places: pd.DataFrame) -> npt.NDArray[np.int64]:
        east, north = places[_POINT].to_numpy(dtype=np.float64).T
        return assign_building(east, north, np.full(len(places), ADDRESS_UNCERTAINTY_M))

    parts = [t[["method", *_POINT]] for t in (register.sightings, register.watches) if len(t)]
    named = pd.concat(parts) if parts else pd.DataFrame(columns=["method", *_POINT])
    named_at = homes_of(named[named["method"] == BY_ADDRESS])
    known = {*register.sites["building"], *register.boxes["building"], *named_at} - {-1}
    own = premises.buildings.iloc[sorted(int(building) for building in known)]
    rows = own[_POINT].assign(street="", house="", building=own.index)
    if book is not None:
        listed = book.buildings.assign(building=homes_of(book.buildings))
        listed = listed[listed["building"].isin(known)]
        rows = pd.concat([listed, rows[~rows["building"].isin(listed["building"])]])
    points = premises.buildings[_POINT].to_numpy(dtype=np.float64)[rows["building"].to_numpy(int)]
    rows = rows.assign(**dict(zip(_HOME, points.T, strict=True)))
    return rows[list(_COLUMNS)].sort_values(list(_COLUMNS), ignore_index=True)


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
) -> tuple[Premises, AddressBook | None, pd.DataFrame]:
    """Return the buildings and addresses with those added that only earlier records know.

    Every recorded building stays one building in its square: today's with its address or at its
    point (see `_todays`), else one that is gone. Its addresses lead to it still.

    Parameters
    ----------
    premises, book
        What today's lists hold.
    recorded
        As `recorded_buildings` makes it.
    cell_size_m
        The side of a square.

    Returns
    -------
    Premises, AddressBook
        The parameters themselves where nothing is recorded.
    pandas.DataFrame
        building_easting, building_northing (of each recorded building), easting, northing (today).
    """
    recorded = recorded.reset_index(drop=True)
    homes = recorded[_HOME].astype(np.float64).drop_duplicates(ignore_index=True)
    if recorded.empty:
        return premises, book, homes.assign(easting=np.nan, northing=np.nan)
    now = _places_now(recorded, book)
    rows = recorded.assign(
        home=pd.MultiIndex.from_frame(homes).get_indexer(pd.MultiIndex.from_frame(recorded[_HOME])),
        building=assign_building(now["easting"], now["northing"], np.zeros(len(now)), premises),
    )
    rows["households"] = (
        premises.buildings["households"].reindex(rows["building"]).fillna(_MANY).to_numpy(np.int64)
    )
    building = _todays(homes.to_numpy(), rows, premises, cell_size_m=cell_size_m)
    lost = building < 0
    gone = homes.loc[lost, _HOME].set_axis(_POINT, axis=1)
    gone["households"] = rows.groupby("home")["households"].max()[lost].to_numpy()
    building[lost] = len(premises.buildings) + np.arange(len(gone))
    extended = Premises(
        buildings=pd.concat([premises.buildings, gone.assign(source=GONE)], ignore_index=True),
        members=pd.concat(
            [premises.members, gone[_POINT].assign(building=building[lost])], ignore_index=True
        ),
    )
    homes[_POINT] = extended.buildings[_POINT].to_numpy()[building]
    stays = (rows["building"] == building[rows["home"]]).to_numpy() & (
        now // cell_size_m == rows[_POINT] // cell_size_m
    ).all(axis=1).to_numpy()
    addressed = recorded.loc[~stays & (recorded["house"] != "").to_numpy(), list(_ADDRESS)]
    if book is None or addressed.empty:
        return extended, book, homes
    # An address given twice would be taken for one building halfway between.
    again = pd.MultiIndex.from_frame(_spelt(addressed))
    own = book.buildings[list(_ADDRESS)]
    own = own[~pd.MultiIndex.from_frame(_spelt(own)).isin(again)]
    return extended, AddressBook(pd.concat([own, addressed], ignore_index=True)), homes


def _todays(
    homes: npt.NDArray[np.float64], rows: pd.DataFrame, premises: Premises, *, cell_size_m: int
) -> npt.NDArray[np.int64]:
    """Return the building of today's lists that each recorded one is, -1 where it is none.

    One with its address, else one at its point, if it lies in the same square; no two recorded
    buildings are one. So a list that draws two houses as one, or splits one, or puts a house into
    another square, changes no count: anyone can compare two lists.

    Parameters
    ----------
    homes
        Points of the recorded buildings, shape (n, 2).
    rows
        home (number of its recorded building) and building (today's, -1) of each address.
    """
    todays = np.full(len(homes), -1, dtype=np.int64)
    spots = premises.buildings[_POINT].to_numpy(dtype=np.float64)
    if not len(spots):
        return todays
    away, nearest = cKDTree(spots).query(homes)
    at_point = np.flatnonzero(np.asarray(away) <= SAME_POINT_M)
    listed = rows.loc[rows["building"] >= 0, ["home", "building"]]
    fits = pd.concat(
        [
            listed.assign(choice=1),
            pd.DataFrame(
                {"home": at_point, "building": np.asarray(nearest)[at_point], "choice": 2}
            ),
        ]
    )
    was, now = homes[fits["home"]], spots[fits["building"]]
    fits["metres"] = np.hypot(*(now - was).T)
    fits = fits[(was // cell_size_m == now // cell_size_m).all(axis=1)]
    fits = fits.sort_values(["choice", "metres", "home", "building"])
    for home, building in zip(fits["home"], fits["building"], strict=True):
        if todays[home] < 0 and building not in todays:
            todays[home] = building
    return todays


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
