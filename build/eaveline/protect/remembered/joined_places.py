"""Remembers to which building each place was joined, so that a house added to a list takes none.

A record that names no house is joined to the nearest one. If a new address lay nearer, the nest
would change buildings, perhaps squares, in the week in which anyone can see one house more in the
list: it would be at that house or beside it. So a place that was joined stays joined, and one that
lay near no house stays without: its row may name the house.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.spatial import cKDTree

from eaveline.private.merge.sites import AssignBuilding
from eaveline.protect.buildings.premises import SAME_POINT_M, Premises
from eaveline.protect.remembered.tables import read_rows, write_rows

_PLACE = ["easting", "northing", "uncertainty_m"]
_POINT = ["easting", "northing"]
_HOME = ["building_easting", "building_northing"]

NO_BUILDING = -1
_UNKNOWN = -2

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]


def load_joined(path: Path) -> pd.DataFrame:
    """Return what was saved, in metres; nothing if there is no such file or it is damaged."""
    return read_rows(path, dict.fromkeys((*_PLACE, *_HOME), float))


def save_joined(path: Path, joined: pd.DataFrame) -> None:
    """Write places as `joined_now` returns them, all or nothing, each once and in order."""
    rows = joined.drop_duplicates(_PLACE).sort_values(_PLACE)
    write_rows(path, rows[[*_PLACE, *_HOME]].astype(np.float64))


def joined_now(places: pd.DataFrame, building: Ints, premises: Premises) -> pd.DataFrame:
    """Return the places with the points of their buildings, NaN where they have none.

    Parameters
    ----------
    places
        easting, northing, uncertainty_m; those without a place are left out.
    building
        Ids, -1 for none, shape (n,).
    """
    homes = premises.buildings[_POINT].reindex(building).to_numpy(dtype=np.float64)
    found = _whole_centimetres(places).assign(**dict(zip(_HOME, homes.T, strict=True)))
    return found[found["easting"].notna()]


class Joins:
    """Joins records to buildings, and keeps which place went to which.

    Parameters
    ----------
    assign_building
        Joins places; see `private.merge.sites.AssignBuilding`.
    premises
        The buildings it joins them to.
    """

    def __init__(self, assign_building: AssignBuilding, premises: Premises | None) -> None:
        """Keep nothing yet."""
        self._assign_building = assign_building
        self._premises = premises
        self._tables: list[pd.DataFrame] = []

    def assign_building(self, easting: Floats, northing: Floats, uncertainty_m: Floats) -> Ints:
        """Join places, and keep them."""
        building = self._assign_building(easting, northing, uncertainty_m)
        if self._premises is not None:
            columns = (easting, northing, uncertainty_m)
            places = pd.DataFrame(dict(zip(_PLACE, columns, strict=True)))
            self._tables.append(joined_now(places, building, self._premises))
        return building

    def all_places(self) -> pd.DataFrame:
        """Return every place that was joined, as `joined_now` does."""
        return pd.concat([*self._tables, pd.DataFrame(columns=[*_PLACE, *_HOME])])


def joined_before(
    places: pd.DataFrame, joined: pd.DataFrame, premises: Premises, *, otherwise: Ints
) -> Ints:
    """Return the building each place was joined to, -1 where it was near none.

    Parameters
    ----------
    places
        easting, northing, uncertainty_m.
    joined
        As `load_joined` returns it.
    premises
        Today's buildings, with those that are gone.
    otherwise
        For each place what it is where nothing is remembered, or a building no one knows.
    """
    if joined.empty or premises.buildings.empty:
        return otherwise
    tree = cKDTree(premises.buildings[_POINT].to_numpy(dtype=np.float64))
    near_one = joined[_HOME[0]].notna().to_numpy()
    homes = np.full(len(joined), NO_BUILDING, dtype=np.int64)
    away, nearest = tree.query(joined.loc[near_one, _HOME].to_numpy())
    homes[near_one] = np.where(np.asarray(away) <= SAME_POINT_M, np.asarray(nearest), _UNKNOWN)
    known = _whole_centimetres(joined).assign(home=homes).drop_duplicates(_PLACE)
    known = known[known["home"] != _UNKNOWN]
    found = _whole_centimetres(places).merge(known[[*_PLACE, "home"]], on=_PLACE, how="left")
    remembered = found["home"].notna().to_numpy()
    building: Ints = np.where(remembered, found["home"].fillna(NO_BUILDING), otherwise)
    return building.astype(np.int64)


def _whole_centimetres(places: pd.DataFrame) -> pd.DataFrame:
    """Return places as the file holds them."""
    return places[_PLACE].astype(np.float64).round(2)
