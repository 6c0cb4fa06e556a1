"""Caps and bands the counts of a region (top-coding).

If a region with n premises is known to hold at least c occupied buildings, any n - c + 1 of its
buildings must contain one. The cap keeps that number at the minimum count or above, and
c at a third of the premises at most, so that a region full of nests does not say so of each house.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import numpy.typing as npt

Bands = Sequence[tuple[int, int | None]]
MOST_SHARE: Final = 3
"""A published count is at most one premises in so many (our choice, no source)."""
COUNT_BANDS: tuple[tuple[int, int | None], ...] = (
    (1, 2),
    (3, 5),
    (6, 10),
    (11, 20),
    (21, 50),
    (51, None),
)
HOUR_BANDS: tuple[tuple[int, int | None], ...] = ((1, 3), (4, 8), (9, 20), (21, 50), (51, None))


def cap(
    occupied: npt.ArrayLike, premises: npt.ArrayLike, *, minimum_premises: int
) -> npt.NDArray[np.int64]:
    """Return the count of occupied buildings that may be published.

    Parameters
    ----------
    occupied
        Buildings with a nest, L: the sum over classes that exclude each other.
    premises
        Premises of the region, n, less those listed by consent; the published count or
        today's, whichever is smaller.
    minimum_premises
        The minimum count k.

    Returns
    -------
    ndarray of int
        floor(min(L, n / 3, n - k + 1)), never below 0; the inputs broadcast. A region with
        fewer than k premises gives 0.

    Examples
    --------
    >>> cap([0, 1, 9, 9], [40, 10, 10, 40], minimum_premises=10).tolist()
    [0, 1, 1, 9]
    """
    count = np.asarray(occupied, dtype=np.int64)
    total = np.asarray(premises, dtype=np.int64)
    limit = np.minimum(total // MOST_SHARE, total - minimum_premises + 1)
    capped: npt.NDArray[np.int64] = np.maximum(np.minimum(count, limit), 0)
    return capped


def band(count: int, bands: Bands) -> tuple[int, int | None] | None:
    """Return the band that holds a count, both ends included; None below the lowest.

    Parameters
    ----------
    count
        A whole number, already capped.
    bands
        Lower and upper ends, lowest band first; the last may have no upper end.

    Raises
    ------
    ValueError
        If bands leave a gap, overlap, or end below the count.

    Examples
    --------
    >>> band(4, [(1, 2), (3, 5), (6, None)])
    (3, 5)
    """
    check_bands(bands)
    for low, high in bands:
        if count >= low and (high is None or count <= high):
            return low, high
    if count < bands[0][0]:
        return None
    msg = "the count lies above the highest band"
    raise ValueError(msg)


def check_bands(bands: Bands) -> None:
    """Raise ValueError unless the bands follow each other without gap or overlap."""
    if not bands:
        msg = "there must be at least one band"
        raise ValueError(msg)
    expected = bands[0][0]
    for position, (low, high) in enumerate(bands):
        last = position == len(bands) - 1
        if low != expected or (high is None and not last) or (high is not None and high < low):
            msg = "bands must follow each other without gap or overlap"
            raise ValueError(msg)
        expected = low if high is None else high + 1
