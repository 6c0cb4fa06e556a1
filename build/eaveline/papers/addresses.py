"""Puts street and house beside coordinates in the group's own tables."""

from __future__ import annotations

import pandas as pd

from eaveline.private.offers.candidates import doors
from eaveline.private.register import Register

_PLACE = ["easting", "northing"]


def with_addresses(
    table: pd.DataFrame, register: Register, addresses: pd.DataFrame | None
) -> pd.DataFrame:
    """Return a table with the address of each site or box whose building is known.

    A place that is only near a building, such as the centre of a grid square, gets none: a
    wrong address sends somebody to the wrong door.

    Parameters
    ----------
    table
        Any table; without easting and northing (metres) it is returned as it is.
    register
        Tells which places stand at which building.
    addresses
        street, house, easting, northing; or None.

    Returns
    -------
    pandas.DataFrame
        The same rows and index, with `address` before `easting`.
    """
    if not set(_PLACE) <= set(table.columns) or register.premises is None or addresses is None:
        return table
    known = pd.concat([part[[*_PLACE, "building"]] for part in (register.sites, register.boxes)])
    known = known[known["building"] >= 0].drop_duplicates(_PLACE).astype({"building": "int64"})
    known = known.astype(dict.fromkeys(_PLACE, "float64"))
    door = doors(register.premises, addresses)
    street, house = (known["building"].map(door[name]) for name in ("street", "house"))
    named = known.assign(address=house.astype("string") + " " + street.astype("string"))
    # A table without rows may have lost the type of its columns.
    found = table[_PLACE].astype("float64").merge(named, on=_PLACE, how="left")["address"]
    result = table.copy()
    words = found.astype(object).where(found.notna(), "")
    result.insert(list(result.columns).index("easting"), "address", words.to_numpy())
    return result
