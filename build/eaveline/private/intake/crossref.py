"""Checks that need several rows: boxes that are checked exist, sites named have a place."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping

import numpy as np
import pandas as pd

from eaveline.private.intake.cells import key_from_text
from eaveline.private.intake.schema import plain

MOVED_M = 30.0
"""Beyond both uncertainties and this, one box id is in two places (common practice, no source)."""


def cross_reference(
    usable: Mapping[str, pd.DataFrame],
    everything: Mapping[str, pd.DataFrame],
    *,
    find_street: StreetFinder | None = None,
) -> pd.DataFrame:
    """Return the faults that come to light when tables are laid side by side.

    Parameters
    ----------
    usable
        For each kind the rows that are in use so far.
    everything
        For each kind all rows. What names a box that is itself held back is held for that, not
        as if nobody knew the box.
    find_street
        Finds a street of the town by its name, for the streets a watch covered.
    """
    parts = [
        _street_faults(usable, find_street),
        *_decision_faults(usable, everything),
        *_box_faults(usable, everything),
        *_site_faults(usable),
    ]
    lines = [line for part in parts for line in part]
    return pd.DataFrame(lines, columns=["row_id", "column", "code", "suggestion"]).astype(
        {"row_id": np.int64}
    )


Line = tuple[int, str, str, str]

StreetFinder = Callable[[str], str | None]
"""Returns the slug of the street that a text names for certain, or None."""


def streets_named(text: str, find_street: StreetFinder) -> list[str | None]:
    """Return the slug of each street in a cell such as ``Albert Road; Mill Lane``, in order.

    A street that is not known for certain gives None.
    """
    whole = find_street(text)
    if whole is not None:
        return [whole]
    parts = re.split(r"[;,/&+\n]|\band\b", text)
    return [find_street(part) for part in parts if part.strip()]


def _street_faults(
    usable: Mapping[str, pd.DataFrame], find_street: StreetFinder | None
) -> list[Line]:
    watches = usable.get("watches")
    if watches is None or find_street is None or not len(watches):
        return []
    cells = pd.Categorical(watches["streets"])
    unknown = np.array(
        [None in streets_named(str(text), find_street) for text in cells.categories] + [False]
    )
    return [
        (int(row_id), "streets", "street-unknown", "")
        for row_id in watches.index[unknown[np.asarray(cells.codes, dtype=np.int64)]]
    ]


def names(column: pd.Series) -> pd.Series:
    """Return a text column in plain form, missing where it is blank."""
    cells = pd.Categorical(column)
    forms = np.array(
        [plain(str(text)) or str(text) for text in cells.categories] + [None], dtype=object
    )
    return pd.Series(
        forms[np.asarray(cells.codes, dtype=np.int64)], index=column.index, dtype=object
    )


def _box_faults(
    usable: Mapping[str, pd.DataFrame], everything: Mapping[str, pd.DataFrame]
) -> Iterable[list[Line]]:
    boxes = usable.get("boxes")
    checks = usable.get("checks")
    held: set[int] = set()
    if boxes is not None and len(boxes):
        for found in (_boxes_in_two_places(boxes), _boxes_without_place(boxes)):
            held |= {row_id for row_id, *_ in found}
            yield found
    if checks is None or not len(checks):
        return
    known = set(names(everything["boxes"]["box"]).dropna()) if "boxes" in everything else set()
    asked = names(checks["box"])
    used = set(names(boxes["box"].drop(list(held))).dropna()) if boxes is not None else set()
    for missing, code in (
        (~asked.isin(known), "box-unknown"),
        (asked.isin(known - used), "box-held"),
    ):
        yield [(int(row_id), "box", code, "") for row_id in checks.index[missing.to_numpy()]]
    if boxes is None or not len(boxes):
        return
    ids = names(boxes["box"])
    first = boxes.groupby(ids)["fixed_on"].min()
    standing = boxes["removed_on"].isna().groupby(ids).any()
    last = boxes.groupby(ids)["removed_on"].max().where(~standing)
    dates = checks["date"]
    # A check in the year a box went up may carry a date a little before the one on the list.
    early = dates < asked.map(first) - pd.Timedelta(days=31)
    late = dates > asked.map(last) + pd.Timedelta(days=31)
    yield [
        (int(row_id), "date", "check-before-box", "")
        for row_id in checks.index[early.to_numpy(dtype=bool)]
    ]
    yield [
        (int(row_id), "date", "check-after-removal", "")
        for row_id in checks.index[late.to_numpy(dtype=bool)]
    ]


def _boxes_in_two_places(boxes: pd.DataFrame) -> list[Line]:
    placed = boxes[boxes["easting"].notna()].assign(id=names(boxes["box"]))
    found: list[Line] = []
    for _, group in placed.groupby("id", sort=True):
        if len(group) == 1:
            continue
        east, north = group["easting"].to_numpy(), group["northing"].to_numpy()
        reach = group["uncertainty_m"].to_numpy()
        apart = (
            np.hypot(east[:, None] - east, north[:, None] - north)
            > reach[:, None] + reach + MOVED_M
        )
        # A box taken down before it went up elsewhere was moved; that is no contradiction.
        down, up = group["removed_on"].to_numpy(), group["fixed_on"].to_numpy()
        moved = (down[:, None] <= up) | (down[None, :] <= up[:, None])
        found += [
            (int(row_id), "box", "box-in-two-places", "")
            for row_id in group.index[(apart & ~moved).any(axis=1)]
        ]
    return found


def _boxes_without_place(boxes: pd.DataFrame) -> list[Line]:
    ids = names(boxes["box"])
    placed = set(ids[boxes["easting"].notna()])
    lost = boxes.index[(~ids.isin(placed)).to_numpy()]
    return [(int(row_id), "place", "place-missing", "") for row_id in lost]


def _site_faults(usable: Mapping[str, pd.DataFrame]) -> Iterable[list[Line]]:
    sites = usable.get("nest_sites")
    if sites is None or not len(sites):
        return
    ids = names(sites["site"])
    placed = set(ids[sites["easting"].notna()].dropna())
    lost = sites.index[(sites["easting"].isna() & ~ids.isin(placed)).to_numpy()]
    yield [(int(row_id), "site", "site-place-unknown", "") for row_id in lost]


def _decision_faults(
    usable: Mapping[str, pd.DataFrame], everything: Mapping[str, pd.DataFrame]
) -> Iterable[list[Line]]:
    decisions = usable.get("decisions")
    if decisions is None or not len(decisions):
        return
    known = {
        int(key)
        for folder, table in everything.items()
        if folder != "decisions"
        for key in table["key"]
    }
    unknown: list[Line] = []
    verdicts: dict[tuple[int, int], set[str]] = {}
    pairs: dict[int, tuple[int, int]] = {}
    for row_id, first_text, second_text, verdict in zip(
        decisions.index.tolist(),
        decisions["first"].tolist(),
        decisions["second"].tolist(),
        decisions["decision"].tolist(),
        strict=True,
    ):
        first, second = key_from_text(str(first_text)), key_from_text(str(second_text))
        bad = (
            "first"
            if first is None or first not in known
            else "second"
            if second is None or second not in known
            else ""
        )
        if bad or first is None or second is None:
            unknown.append((row_id, bad, "decision-row-unknown", ""))
            continue
        pair = (min(first, second), max(first, second))
        verdicts.setdefault(pair, set()).add(str(verdict))
        pairs[row_id] = pair
    yield unknown
    yield [
        (row_id, "decision", "decision-contradicted", "")
        for row_id, pair in pairs.items()
        if len(verdicts[pair]) > 1
    ]
