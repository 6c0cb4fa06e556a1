"""Pairwise precision, recall and F1 of a grouping against the truth.

A pair counts as found if both its rows are in one group, and as true if both are of one party
(Menestrina et al. 2010, Evaluating entity resolution results, PVLDB 3:208-219).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt


class Score(NamedTuple):
    """How good a grouping is."""

    precision: float
    recall: float

    @property
    def f1(self) -> float:
        """The harmonic mean of precision and recall."""
        both = self.precision + self.recall
        return 2 * self.precision * self.recall / both if both else 0.0


def _pairs(labels: npt.NDArray[np.int64]) -> int:
    sizes = np.unique(labels, return_counts=True)[1].astype(np.int64)
    return int((sizes * (sizes - 1) // 2).sum())


def score(found: npt.ArrayLike, truth: npt.ArrayLike) -> Score:
    """Return the score of found labels against true ones, a label a row.

    >>> score([0, 0, 1, 1], [0, 0, 0, 1])  # one right of two found, one of three true pairs
    Score(precision=0.5, recall=0.3333333333333333)
    """
    one = np.unique(np.asarray(found), return_inverse=True)[1].astype(np.int64)
    other = np.unique(np.asarray(truth), return_inverse=True)[1].astype(np.int64)
    right = _pairs(one * (int(other.max(initial=0)) + 1) + other)
    return Score(right / max(_pairs(one), 1), right / max(_pairs(other), 1))
