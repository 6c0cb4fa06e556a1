"""Street names people typed, matched to the town's own names only where that is certain."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from rapidfuzz.distance import OSA
from rapidfuzz.process import cdist

from eaveline.private.places.street_names import (
    COMMON_STEMS,
    TYPES,
    key_of_misspelt,
    other_key,
    same_but_for_doubling,
    stem_of,
    street_key,
    street_words,
)
from eaveline.private.places.street_text import (
    StreetPart,
    StreetText,
    split_street_text,
    two_streets,
)

_FAR: Final = 7
"""Edit distances from here on are all alike: nothing is suggested."""
_CELLS_AT_ONCE: Final = 16_000_000
"""Size of one block of the distance matrix, a byte a cell."""
_SUGGESTED_SHARE: Final = 0.4
"""A suggestion may differ in this share of its letters (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class StreetReading:
    """What one cell says.

    Parameters
    ----------
    street
        The town's own name, if it is certain.
    house
        The house as typed in the cell, or empty.
    house_is_name
        Whether that is only a name standing before the street.
    problem
        Code if the cell names no street for certain.
    suggestion
        The street probably meant, if there is a problem.
    repair
        Code if a spelling was put right.
    """

    street: str | None = None
    house: str = ""
    house_is_name: bool = False
    problem: str | None = None
    suggestion: str | None = None
    repair: str | None = None


@dataclass(frozen=True, slots=True)
class _Nearest:
    """The nearest name to one text: its number, whether that is certain, or worth suggesting."""

    name: int
    certain: bool
    likely: bool


class StreetMatcher:
    """Matches typed texts to a town's street names.

    Parameters
    ----------
    names
        The town's street names, as they should be written.
    town
        The town's own name, which people and councils write after a street, with or without a
        comma.

    Notes
    -----
    A text is a name if both are the same without case, spaces, punctuation and
    abbreviations. Otherwise the nearest name by optimal string alignment (an insertion, a
    deletion, another letter or two letters swapped) is taken if no other is as near and the
    distance is small for the name's length; measured on misspelt names, so that fewer than
    one match in a thousand is wrong. Anything else is left to a person, with a suggestion.
    """

    def __init__(self, names: Iterable[str], *, town: str = "") -> None:
        """Index the names."""
        after = rf"(?<=\w)[\s,]+{re.escape(town.strip())}\b(.*)" if town.strip() else r"(?!)"
        self._town = re.compile(after, re.IGNORECASE | re.DOTALL)
        self.names: tuple[str, ...] = tuple(sorted({name.strip() for name in names} - {""}))
        words = [street_words(name) for name in self.names]
        self._keys = ["".join(each) for each in words]
        self._types = [each[-1] if each else "" for each in words]
        self._stems = [stem_of(each) for each in words]
        self._by_key = _only_ones(self._keys)
        others = [(at, other) for at, name in enumerate(self.names) if (other := other_key(name))]
        self._other_owners = np.array([at for at, _ in others], dtype=np.intp)
        self._other_keys = [other for _, other in others]
        self._by_stem = _only_ones(self._stems)
        self._real_words = COMMON_STEMS | frozenset(self._stems)
        self._shared_stems = frozenset(self._stems) - self._by_stem.keys()

    def __repr__(self) -> str:
        """Show the number of names."""
        return f"<StreetMatcher of {len(self.names)} names>"

    def read(self, texts: Sequence[str]) -> list[StreetReading]:
        """Read distinct texts, in their order."""
        readings: list[StreetReading | None] = []
        waiting: dict[int, StreetText] = {}
        for at, text in enumerate(texts):
            reading, parts = self._read_exactly(text)
            if parts is not None and (before := self._before_town(text)):
                reading, shorter = self._read_exactly(before)
                both = (shorter.parts if shorter is not None else ()) + parts.parts
                parts = StreetText(both, parts.problem) if reading is None else None
            readings.append(reading)
            if parts is not None:
                waiting[at] = parts
        streets = {part.street for parts in waiting.values() for part in parts.parts}
        nearest = self._nearest(sorted(street for street in streets if street_key(street)))
        for at, parts in waiting.items():
            readings[at] = self._read_nearly(parts, nearest)
        return [reading or StreetReading(problem="street-unknown") for reading in readings]

    def _read_exactly(self, text: str) -> tuple[StreetReading | None, StreetText | None]:
        """Return the reading if the cell names a street exactly; else its parts to go on with."""
        whole = self._by_key.get(street_key(text))
        if whole is not None:
            return StreetReading(self.names[whole]), None
        parts = split_street_text(text)
        named = [(part, self._by_key.get(street_key(part.street))) for part in parts.parts]
        if parts.problem:
            near = [at for _, at in named if at is not None] + self._halves(parts)
            suggestion = self.names[near[0]] if near else None
            reading = StreetReading(problem=parts.problem, suggestion=suggestion) if near else None
        elif hits := {at: part for part, at in reversed(named) if at is not None}:
            several = len(hits) > 1
            reading = None if several else self._taken(*next(iter(hits.items())))
            reading = reading or StreetReading(problem="street-two-named")
        else:
            pair = any(self._is_pair(part.street) for part in parts.parts)
            reading = StreetReading(problem="street-two-named") if pair else None
        return reading, None if reading else parts

    def _before_town(self, text: str) -> str | None:
        """Return what stands before the town's name, unless that begins a street's name."""
        found = self._town.search(text)
        if found is None:
            return None
        # A county or the rest of an address may follow; "Old Ottersley Road" is not in Old Quay.
        return None if {*street_words(found.group(1))[:1]} & TYPES else text[: found.start()]

    def _halves(self, parts: StreetText) -> list[int]:
        """Return the streets that stand in either half of two joined names."""
        pairs = (two_streets(part.street) for part in parts.parts)
        halves = (half for pair in pairs if pair for half in pair)
        found = (self._by_key.get(street_key(half)) for half in halves)
        return [at for at in found if at is not None]

    def _is_pair(self, text: str) -> bool:
        halves = two_streets(text)
        return halves is not None and all(street_key(half) in self._by_key for half in halves)

    def _read_nearly(self, parts: StreetText, nearest: dict[str, _Nearest]) -> StreetReading:
        likely: list[int] = []
        problem = parts.problem or "street-unknown"
        for part in parts.parts:
            words = street_words(part.street)
            key, stem = "".join(words), stem_of(words)
            bare = self._by_stem.get(key)
            found = nearest.get(part.street)
            if bare is not None and not parts.problem:
                return self._taken(bare, part, repair="street-kind-added")
            if found is not None and found.certain and not parts.problem:
                return self._taken(found.name, part, repair="street-spelling-corrected")
            if parts.problem:
                # "Opposite the church" is about a church; only a street's name is suggested.
                likely += [found.name] if found is not None and found.certain else []
            elif key in self._shared_stems:
                problem = "street-kind-missing"
            elif stem in self._by_stem:
                likely.append(self._by_stem[stem])
            elif found is not None and found.likely:
                likely.append(found.name)
        suggestion = self.names[likely[0]] if likely else None
        return StreetReading(problem=problem, suggestion=suggestion)

    def _taken(self, at: int, part: StreetPart, *, repair: str | None = None) -> StreetReading:
        return StreetReading(self.names[at], part.house, part.house_is_name, repair=repair)

    def _nearest(self, texts: list[str]) -> dict[str, _Nearest]:
        """Find the nearest name of every text by its distances to all names."""
        found: dict[str, _Nearest] = {}
        if not self.names:
            return found
        keys = [key_of_misspelt(text) for text in texts]
        block = max(1, _CELLS_AT_ONCE // len(self.names))
        for start in range(0, len(keys), block):
            some = slice(start, start + block)
            distances = self._distances(keys[some])
            best = distances.argmin(axis=1)
            least = distances[np.arange(len(distances)), best]
            ties = (distances == least[:, np.newaxis]).sum(axis=1)
            for text, key, name, distance, as_near in zip(
                texts[some], keys[some], best.tolist(), least.tolist(), ties.tolist(), strict=True
            ):
                if distance < _FAR:
                    found[text] = self._judge(text, key, name, distance, alone=as_near == 1)
        return found

    def _distances(self, keys: list[str]) -> npt.NDArray[np.uint8]:
        """Return the matrix of distances, shape (keys, names); a name's nearer form counts."""
        distances = _edit_distances(keys, self._keys)
        if self._other_keys:
            own = distances[:, self._other_owners]
            distances[:, self._other_owners] = np.minimum(
                own, _edit_distances(keys, self._other_keys)
            )
        return distances

    def _judge(self, text: str, key: str, name: int, distance: int, *, alone: bool) -> _Nearest:
        target, stem = self._keys[name], self._stems[name]
        certain = (
            alone
            and distance <= _most_edits(len(target))
            and (
                distance <= 1
                or stem == target
                or _stem_distance(key, stem) <= _most_edits(len(stem))
            )
            and not self._names_another(street_words(text), name)
        )
        return _Nearest(
            name, certain, certain or distance <= max(2, _SUGGESTED_SHARE * len(target))
        )

    def _names_another(self, words: tuple[str, ...], name: int) -> bool:
        """Whether a text makes sense as a street this town may not have in its list.

        So it does with another word for its kind (Albert Close for Albert Road), or with a
        real word for its stem (Hill Lane for Mill Lane).
        """
        kind, stem = words[-1], stem_of(words)
        if kind in TYPES and self._types[name] in TYPES and kind != self._types[name]:
            return True
        return stem in self._real_words and not same_but_for_doubling(stem, self._stems[name])


def _edit_distances(keys: Sequence[str], names: Sequence[str]) -> npt.NDArray[np.uint8]:
    matrix: npt.NDArray[np.uint8] = cdist(
        keys, names, scorer=OSA.distance, score_cutoff=_FAR - 1, dtype=np.uint8, workers=-1
    )
    return matrix


def _only_ones(keys: Sequence[str]) -> dict[str, int]:
    """Map each key to its place, leaving out keys that stand at several."""
    places: dict[str, list[int]] = {}
    for at, key in enumerate(keys):
        places.setdefault(key, []).append(at)
    return {key: found[0] for key, found in places.items() if key and len(found) == 1}


def _most_edits(length: int) -> int:
    """Edits that leave a name of that length no other name's typo."""
    return 0 if length < 3 else 1 if length < 5 else 2 if length < 12 else 3  # noqa: PLR2004 - the scale


def _stem_distance(key: str, stem: str) -> int:
    """Distance of the name proper, wherever in the key it ends."""
    ends = range(max(1, len(stem) - 2), len(stem) + 3)
    return min(OSA.distance(key[:end], stem) for end in ends)
