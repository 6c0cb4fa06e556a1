"""Remembers the buildings that records are about, so that a list that loses one loses no nest.

A house comes down, and its line leaves the list of addresses. If its old nest left the map in the
same week, everyone who saw the house go would know where the nest had been. So each build notes
which buildings have nests or boxes, in private, and a later one takes those that are gone from the
lists from there: records find them, counts keep them, but they are premises no more.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.spatial import cKDTree

from eaveline.private.places.addresses import AddressBook
from eaveline.private.register import GONE, Register
from eaveline.protect.frozen import write_whole
from eaveline.protect.premises import SAME_POINT_M, Premises, assign_building

RECORDED_FILE = "private/recorded-buildings.csv"
_COLUMNS = ("street", "house", "easting", "northing")


def recorded_buildings(
    register: Register, premises: Premises | None, book: AddressBook | None
) -> pd.DataFrame:
    """Return the addresses of every building with a nest site or a box.

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
    known = {*register.sites["building"], *register.boxes["building"]} - {-1}
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
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(_COLUMNS)
    writer.writerows(
        (street, house, f"{east:.2f}", f"{north:.2f}")
        for street, house, east, north in rows[list(_COLUMNS)].itertuples(index=False)
    )
    write_whole(path, out.getvalue())


def load_recorded(path: Path) -> pd.DataFrame:
    """Return what was saved; nothing if there is no such file or it is damaged."""
    try:
        with path.open(encoding="utf-8", newline="") as file:
            rows = [
                (row["street"], row["house"], float(row["easting"]), float(row["northing"]))
                for row in csv.DictReader(file)
            ]
    except (OSError, ValueError, KeyError, TypeError):
        rows = []
    return pd.DataFrame(rows, columns=list(_COLUMNS))


def with_gone(
    premises: Premises, book: AddressBook | None, recorded: pd.DataFrame
) -> tuple[Premises, AddressBook | None]:
    """Return the buildings and addresses with those added that only earlier records know.

    A building is gone if its address, or for one without an address its point, is no longer in
    the lists. Where another address or point stands for the same place, only the address is new.
    """
    lost = recorded[
        [
            not house or book is None or book.find(street, house).building is None
            for street, house in zip(recorded["street"], recorded["house"], strict=True)
        ]
    ]
    if lost.empty:
        return premises, book
    points = np.unique(lost[["easting", "northing"]].to_numpy(dtype=np.float64), axis=0)
    if len(premises.members):
        tree = cKDTree(premises.members[["easting", "northing"]].to_numpy())
        points = points[np.asarray(tree.query(points)[0]) > SAME_POINT_M]
    gone = pd.DataFrame({"easting": points[:, 0], "northing": points[:, 1]})
    first = len(premises.buildings)
    extended = Premises(
        buildings=pd.concat(
            [premises.buildings, gone.assign(households=1, source=GONE)], ignore_index=True
        ),
        members=pd.concat(
            [premises.members, gone.assign(building=np.arange(first, first + len(gone)))],
            ignore_index=True,
        ),
    )
    addressed = lost[lost["house"] != ""]
    if book is None or addressed.empty:
        return extended, book
    return extended, AddressBook(
        pd.concat([book.buildings[list(_COLUMNS)], addressed], ignore_index=True)
    )
