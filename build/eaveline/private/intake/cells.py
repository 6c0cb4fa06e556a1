"""Columns of text as codes into their distinct values, so that each distinct cell is read once.

A town's million rows hold a few thousand distinct dates, times and words. Every stage that
reads text works on the distinct values and takes the answers by code.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

_BLANKS = " \t\r\n\v\f\u00a0\u2007\u202f\u200b\ufeff"


def trimmed(text: str) -> str:
    """Return `text` without white space at its ends, hard spaces and byte-order marks too."""
    return text.strip(_BLANKS)


def text_column(distinct: Sequence[str], codes: npt.NDArray[np.integer]) -> pd.Categorical:
    """Return a categorical of trimmed texts; blank cells are missing.

    Parameters
    ----------
    distinct
        Texts, not necessarily trimmed or different.
    codes
        For each row an index into `distinct`; -1 is a blank cell.
    """
    clean = [text.strip(_BLANKS) for text in distinct]
    kept = dict.fromkeys(clean)
    kept.pop("", None)
    numbers = np.asarray(codes, dtype=np.int32)
    if len(kept) < len(clean):
        position = {text: index for index, text in enumerate(kept)}
        remap = np.array([*(position.get(text, -1) for text in clean), -1], dtype=np.int32)
        numbers = remap[numbers]
    return pd.Categorical.from_codes(numbers, categories=pd.Index(list(kept), dtype=object))


def text_column_of(cells: Iterable[str]) -> pd.Categorical:
    """Return a categorical of trimmed texts from one text a row."""
    position: dict[str, int] = {}
    codes = np.fromiter(
        (position.setdefault(cell, len(position)) for cell in cells), dtype=np.int32
    )
    return text_column(list(position), codes)


def blank_column(rows: int) -> pd.Categorical:
    """Return a column of blank cells."""
    return pd.Categorical.from_codes(
        np.full(rows, -1, dtype=np.int8), categories=pd.Index([], dtype=object)
    )


def _digest(text: str) -> int:
    return int.from_bytes(hashlib.blake2b(text.encode(), digest_size=8).digest(), "little")


_MULTIPLIER = np.uint64(0x9E3779B97F4A7C15)


def content_keys(columns: dict[str, pd.Categorical], *, kind: str) -> npt.NDArray[np.uint64]:
    """Return a 64-bit key for each row, made from its kind and filled cells alone.

    The key does not depend on the file's name, the order of rows or columns, or blank
    columns, so a decision or a correction that names it survives new files. White space
    and case are ignored. At a million rows the chance that any two differing rows share a
    key is below one in ten million (birthday bound).
    """
    rows = len(next(iter(columns.values()))) if columns else 0
    total = np.full(rows, _digest(kind), dtype=np.uint64)
    for name in sorted(columns):
        cells = columns[name]
        digests = np.array(
            [
                _digest(f"{name}\x1f{' '.join(str(text).split()).casefold()}")
                for text in cells.categories
            ]
            + [0],
            dtype=np.uint64,
        )
        total += digests[cells.codes]  # a sum, so that the columns' order does not matter
    with np.errstate(over="ignore"):
        total ^= total >> np.uint64(31)
        total *= _MULTIPLIER
        total ^= total >> np.uint64(29)
    return total


_KEY_LENGTH = 14
_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"


def key_text(key: int) -> str:
    """Return a key as people see it: a letter first, or a spreadsheet took it for a number."""
    letters = []
    number = int(key)
    for _ in range(_KEY_LENGTH - 1):
        number, digit = divmod(number, len(_LETTERS))
        letters.append(_LETTERS[digit])
    return "r" + "".join(letters)


def key_texts(keys: npt.NDArray[np.uint64]) -> npt.NDArray[np.object_]:
    """Return what `key_text` writes for each of many keys."""
    letters = np.array(list(_LETTERS), dtype="U1")
    written = np.empty((len(keys), _KEY_LENGTH), dtype="U1")
    written[:, 0] = "r"
    rest = keys.astype(np.uint64)
    for place in range(1, _KEY_LENGTH):
        rest, digit = np.divmod(rest, np.uint64(len(_LETTERS)))
        written[:, place] = letters[digit.astype(np.int64)]
    return written.view(f"U{_KEY_LENGTH}").ravel().astype(object)


def key_from_text(text: str) -> int | None:
    """Return the key that `key_text` wrote, or None."""
    body = text.strip().casefold()
    if (
        len(body) != _KEY_LENGTH
        or not body.startswith("r")
        or any(c not in _LETTERS for c in body[1:])
    ):
        return None
    number = 0
    for letter in reversed(body[1:]):
        number = number * len(_LETTERS) + _LETTERS.index(letter)
    return number if number < 2**64 else None
