"""What the register holds that no reader of the site may find.

The audit compares the finished site with these values. They never leave memory: the
object's own text shows counts only, so that logs and tracebacks stay clean.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
Bounds = tuple[float, float, float, float]


def _none() -> FloatArray:
    return np.empty(0, dtype=np.float64)


@dataclass(frozen=True, slots=True, repr=False, eq=False, kw_only=True)
class Secrets:
    """The private values to look for, beside the public values that look like them.

    Give every address and building point of the town, not only those with a record:
    then whether a page passes can't tell which houses have one.

    Parameters
    ----------
    bounds_m
        The town's box in `crs`: least easting, least northing, greatest easting,
        greatest northing. Coordinates well outside it concern nobody.
    cell_size_m
        Side of the published cells; anything finer counts as exact.
    crs
        ``EPSG:27700`` or ``EPSG:29903``.
    people
        Names of recorders, hosts, members.
    contacts
        Their e-mail addresses, telephone numbers, postcodes, in any spelling.
    addresses
        Pairs of street, house.
    easting_m, northing_m
        Exact points in `crs`, two arrays of shape (n,).
    street_names
        The public list of streets.
    public_names
        Names that everyone may read: the town, the group, its public buildings.
    public_contacts
        The group's own public address, and the like.
    public_addresses
        Pairs of street, house, for public buildings.

    Raises
    ------
    ValueError
        If the two arrays differ in shape, or the box or cell is empty.
    """

    bounds_m: Bounds
    cell_size_m: float
    crs: str
    people: frozenset[str] = frozenset()
    contacts: frozenset[str] = frozenset()
    addresses: frozenset[tuple[str, str]] = frozenset()
    easting_m: FloatArray = field(default_factory=_none)
    northing_m: FloatArray = field(default_factory=_none)
    street_names: frozenset[str] = frozenset()
    public_names: frozenset[str] = frozenset()
    public_contacts: frozenset[str] = frozenset()
    public_addresses: frozenset[tuple[str, str]] = frozenset()

    def __post_init__(self) -> None:
        """Refuse what would make the audit pass for want of something to look for."""
        if self.easting_m.shape != self.northing_m.shape or self.easting_m.ndim != 1:
            msg = "easting_m and northing_m must be one-dimensional and equally long"
            raise ValueError(msg)
        west, south, east, north = self.bounds_m
        if not (west < east and south < north and self.cell_size_m > 0):
            msg = "the town's box and its cells need a size"
            raise ValueError(msg)

    def __repr__(self) -> str:
        """Return counts, never a value."""
        return (
            f"Secrets({len(self.people)} people, {len(self.contacts)} contacts, "
            f"{len(self.addresses)} addresses, {self.easting_m.size} points)"
        )
