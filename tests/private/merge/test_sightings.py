"""Sightings of one party become one; everything else stays apart."""

from __future__ import annotations

import random
import zlib

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from eaveline.private.intake.cells import text_column_of
from eaveline.private.intake.vocabulary import CANONICAL
from eaveline.private.merge.decisions import Decisions
from eaveline.private.merge.sightings import MergedSightings, merge_sightings

Row = tuple[str, float, float, float, str, str, float, str]
"""date, minute, easting, northing, species, behaviour, birds, who"""

PARTY: Row = ("2026-06-03", 1300, 650_100, 330_100, "swift", "screaming party", 6, "Ann")


def row(**changes: object) -> Row:
    names = ("date", "minute", "easting", "northing", "species", "behaviour", "birds", "who")
    return tuple(changes.get(name, value) for name, value in zip(names, PARTY, strict=True))  # type: ignore[return-value]


def table(rows: list[Row], *, uncertainty_m: float = 5.0) -> pd.DataFrame:
    columns = list(zip(*rows, strict=True))
    words = {
        name: pd.Categorical(columns[at], categories=list(CANONICAL[name]))
        for name, at in (("species", 4), ("behaviour", 5))
    }
    keys = [zlib.crc32(repr(each).encode()) + 1 for each in rows]
    return pd.DataFrame(
        {
            "key": np.array(keys, dtype=np.uint64),
            "date": pd.to_datetime(pd.Series(columns[0])).astype("datetime64[s]"),
            "time": np.array(columns[1], dtype=float),
            "easting": np.array(columns[2], dtype=float),
            "northing": np.array(columns[3], dtype=float),
            "uncertainty_m": uncertainty_m,
            "method": "grid_ref",
            **words,
            "birds": np.array(columns[6], dtype=float),
            "seen_by": text_column_of(columns[7]),
            "calls_playing": pd.Categorical([None] * len(rows), categories=["yes", "no"]),
            "notes": text_column_of([""] * len(rows)),
        }
    )


def merge(
    rows: list[Row], *, decisions: Decisions | None = None, **options: float
) -> MergedSightings:
    return merge_sightings(
        table(rows, **options), decisions=decisions or Decisions(), distance_m=150, minutes=10
    )


def test_several_people_who_saw_one_party_saw_one() -> None:
    found = merge([PARTY, row(who="Bob", minute=1306, easting=650_200, birds=9)])
    assert len(found.sightings) == 1
    assert found.sightings["birds"].tolist() == [9]  # the largest, never the sum
    assert found.sightings["rows"].tolist() == [2]


@pytest.mark.parametrize(
    "change",
    [
        {"minute": 1311},
        {"easting": 650_261},  # 161 m: 150 m and twice 5 m are allowed
        {"date": "2026-06-04"},
        {"species": "house martin"},
        {"behaviour": "low over roofs"},
        {"who": "Ann", "easting": 650_120},  # one person, two places
        {"minute": np.nan},
    ],
)
def test_what_differs_stays_apart(change: dict[str, object]) -> None:
    assert len(merge([PARTY, row(**({"who": "Bob"} | change))]).sightings) == 2


def test_the_uncertainty_of_both_places_is_allowed_for() -> None:
    pair = [PARTY, row(who="Bob", easting=650_290)]
    assert len(merge(pair).sightings) == 2
    assert len(merge(pair, uncertainty_m=70.71).sightings) == 1


def test_a_row_typed_again_in_another_spelling_is_one() -> None:
    again = row()
    rows = table([PARTY, again])
    rows["key"] = np.array([1, 2], dtype=np.uint64)  # the cells were spelt differently
    found = merge_sightings(rows, decisions=Decisions(), distance_m=150, minutes=10)
    assert len(found.sightings) == 1


def test_decisions_go_before_the_limits() -> None:
    far = [PARTY, row(who="Bob", minute=1400)]
    near = [PARTY, row(who="Bob")]

    def keys(rows: list[Row]) -> tuple[int, int]:
        a, b = sorted(table(rows)["key"].tolist())
        return int(a), int(b)

    assert len(merge(far, decisions=Decisions(same=frozenset({keys(far)}))).sightings) == 1
    assert len(merge(near, decisions=Decisions(different=frozenset({keys(near)}))).sightings) == 2


def test_a_merge_is_explained_and_a_near_miss_is_shown() -> None:
    found = merge([PARTY, row(who="Bob", easting=650_150, minute=1304), row(who="Cy", minute=1314)])
    (line,) = found.joins.to_dict("records")
    assert (line["metres"], line["minutes"], line["limit_m"], line["limit_minutes"]) == (
        50,
        4,
        160,
        10,
    )
    assert len(found.doubtful) >= 1
    assert found.members.keys().isdisjoint(found.sightings.index)


def test_inputs_are_left_alone() -> None:
    rows = table([PARTY, row(who="Bob")])
    before = rows.copy(deep=True)
    merge_sightings(rows, decisions=Decisions(), distance_m=150, minutes=10)
    pd.testing.assert_frame_equal(rows, before)


@given(seed=st.integers(0, 500), count=st.integers(1, 40))
@settings(max_examples=40, deadline=None)
def test_the_order_of_rows_does_not_matter(seed: int, count: int) -> None:
    rng = random.Random(seed)
    rows = [
        row(
            minute=rng.randrange(1290, 1320),
            easting=650_000 + 50 * rng.randrange(8),
            who=rng.choice("ABCDE"),
            birds=rng.randrange(1, 9),
        )
        for _ in range(count)
    ]
    whole = table(rows).drop_duplicates("key")
    turned = whole.sample(frac=1, random_state=seed)
    one, other = (
        merge_sightings(each, decisions=Decisions(), distance_m=150, minutes=10)
        for each in (whole, turned)
    )
    columns = ["key", "minute", "birds", "easting", "rows"]
    assert (
        one.sightings[columns].to_numpy().tolist() == other.sightings[columns].to_numpy().tolist()
    )
    assert len(one.sightings) + len(one.members) == len(whole)
