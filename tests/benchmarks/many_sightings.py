"""Writes any number of clean sightings of the demo town: ten seasons, one file for each.

Seeded: the same arguments give the same bytes on every machine. "Clean" means that every
row can be used; how many of them report a party that others report too is about what a busy
group has (common practice, no source).
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd
import pyarrow as pa
from pyarrow import csv as arrow_csv

SEASONS = tuple(range(2017, 2027))
EVENINGS = 75
"""From 10 May on, a day each."""
RECORDERS = 200
OBSERVERS = np.array([1, 2, 3, 4])
OBSERVERS_SHARE = np.array([0.7, 0.2, 0.07, 0.03])
BEHAVIOURS = np.array(
    [
        "screaming party",
        "low over roofs",
        "high overhead",
        "pair circling",
        "visiting wall or eaves",
        "entering or leaving a nest",
    ],
    dtype=object,
)
BEHAVIOURS_SHARE = np.array([0.55, 0.2, 0.1, 0.07, 0.05, 0.03])
ADDRESS_SHARE = 0.1
"""Rows that give a street and a house; the rest give a grid reference of 10 m."""

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


def write_sightings(survey_data: Path, *, rows: int, addresses: Path, seed: int = 20261125) -> None:
    """Write `rows` sightings below `survey_data`/sightings.

    Parameters
    ----------
    survey_data
        A town's folder of records.
    rows
        How many rows, over all seasons.
    addresses
        The town's addresses.csv: birds are seen about its houses.
    seed
        Of the draw.
    """
    homes = pd.read_csv(addresses, dtype={"street": object, "house": object})
    folder = survey_data / "sightings"
    folder.mkdir(parents=True, exist_ok=True)
    rng = np.random.default_rng(seed)
    per_season = np.diff(np.linspace(0, rows, len(SEASONS) + 1).astype(np.int64))
    for season, count in zip(SEASONS, per_season, strict=True):
        table = _season(rng, season, int(count), homes)
        arrow_csv.write_csv(table, folder / f"season-{season}.csv")


def _season(rng: np.random.Generator, season: int, rows: int, homes: pd.DataFrame) -> pa.Table:
    observers = rng.choice(OBSERVERS, size=rows, p=OBSERVERS_SHARE)
    event = np.repeat(np.arange(rows), observers)[:rows]
    home = rng.integers(0, len(homes), rows)
    east = homes["easting"].to_numpy(dtype=np.float64)[home] + rng.normal(0, 40, rows)
    north = homes["northing"].to_numpy(dtype=np.float64)[home] + rng.normal(0, 40, rows)
    evening = rng.integers(0, EVENINGS, rows)
    minute = rng.integers(19 * 60, 22 * 60 + 15, rows)
    behaviour = rng.choice(len(BEHAVIOURS), size=rows, p=BEHAVIOURS_SHARE)
    birds = rng.geometric(0.15, rows)
    # Each observer stands elsewhere, has a watch of his own and counts anew.
    seen_east, seen_north = (place[event] + rng.normal(0, 25, rows) for place in (east, north))
    seen_minute = minute[event] + np.round(rng.normal(0, 1.5, rows)).astype(np.int64)
    seen_birds = np.maximum(1, birds[event] + rng.integers(-1, 2, rows))
    recorder = (rng.integers(0, RECORDERS, rows)[event] + np.arange(rows) * 37) % RECORDERS
    by_address = rng.random(rows) < ADDRESS_SHARE
    return pa.table(
        {
            "date": _dates(season, evening[event]),
            "time": _clock(seen_minute),
            "grid_ref": pa.array(_grid_refs(seen_east, seen_north), mask=by_address),
            "street": _taken(homes["street"], home[event], by_address),
            "house": _taken(homes["house"], home[event], by_address),
            "species": pa.array(np.where(rng.random(rows) < 0.9, "swift", "house martin")),
            "behaviour": pa.array(BEHAVIOURS[behaviour[event]]),
            "birds": pa.array(seen_birds),
            "seen_by": pa.DictionaryArray.from_arrays(
                pa.array(recorder), pa.array([f"Recorder {n}" for n in range(RECORDERS)])
            ).cast(pa.string()),
        }
    )


def _dates(season: int, evening: Ints) -> pa.Array:
    first = dt.date(season, 5, 10)
    texts = [f"{first + dt.timedelta(days=n):%d/%m/%Y}" for n in range(EVENINGS)]
    return pa.DictionaryArray.from_arrays(pa.array(evening), pa.array(texts)).cast(pa.string())


def _clock(minute: Ints) -> pa.Array:
    texts = [f"{n // 60:02d}:{n % 60:02d}" for n in range(24 * 60)]
    return pa.DictionaryArray.from_arrays(pa.array(minute), pa.array(texts)).cast(pa.string())


def _grid_refs(easting: Floats, northing: Floats) -> npt.NDArray[np.object_]:
    """Return references to 10 m, such as ``TG 5012 3045``; the town lies in TG whole."""
    east = ((easting - 600_000) // 10).astype(np.int64)
    north = ((northing - 300_000) // 10).astype(np.int64)
    code, distinct = pd.factorize(east * 100_000 + north)
    texts = [f"TG {at // 100_000:04d} {at % 100_000:04d}" for at in distinct.tolist()]
    return np.array(texts, dtype=object)[code]


def _taken(column: pd.Series, home: Ints, taken: npt.NDArray[np.bool_]) -> pa.Array:
    texts = column.astype(str).to_numpy(dtype=object)
    return pa.array(texts[home], mask=~taken)
