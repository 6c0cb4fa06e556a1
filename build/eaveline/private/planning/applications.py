"""Joins the rows of one planning application: council lists repeat a reference as it moves on."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np
import pandas as pd
import shapely
from shapely.geometry.base import BaseGeometry

from eaveline.private.intake.crossref import names
from eaveline.private.planning.outline import read_outline

TEXTS: Final = ("proposal", "work", "outcome", "conditions")
DATES: Final = ("received", "comments_due", "decided_on", "fitted_on")
COUNTS: Final = ("dwellings", "boxes_asked", "boxes_granted", "boxes_drawn", "boxes_fitted")


def merge_applications(
    table: pd.DataFrame, *, crs: Literal["EPSG:27700", "EPSG:29903"]
) -> tuple[pd.DataFrame, dict[int, int]]:
    """Join rows of one reference.

    A filled cell goes before an empty one; where two differ, the row with the later decision
    speaks, then that with the later date of receipt, then the row's key, so that the order
    of rows and files does not matter.

    Parameters
    ----------
    table
        The usable rows of planning/, indexed by row id.
    crs
        The town's grid; outlines in degrees are turned into it.

    Returns
    -------
    applications
        One row for each: reference, received, comments_due, proposal, work, dwellings, outcome,
        decided_on, conditions, boxes_asked, boxes_granted, boxes_drawn, boxes_fitted, fitted_on,
        photographed (bool), address (the site in words, or None), shape (a geometry in
        metres: the outline, else the point), uncertainty_m (0 for an outline). Index: the row
        id that speaks. In order of the references.
    members
        For each row merged away, the row it went into.
    """
    rows = table.assign(identity=names(table["reference"]), row_id=table.index).sort_values(
        ["identity", "decided_on", "received", "key"],
        ascending=[True, False, False, True],
        na_position="last",
        kind="stable",
    )
    head = rows.groupby("identity", sort=False)["row_id"].transform("first")
    away = rows.index[(head != rows["row_id"]).to_numpy()]
    members = dict(zip(away.tolist(), head[away].tolist(), strict=True))
    plain = rows.assign(
        **{name: rows[name].astype(object) for name in (*TEXTS, "reference", "site_wkt")},
        address=_addresses(rows),
        photographed=(rows["photographed"] == "yes"),
        place=_places(rows),
    )
    groups = plain.groupby("identity", sort=False)
    joined = groups[
        ["reference", *DATES, *TEXTS, *COUNTS, "address", "site_wkt", "place", "row_id"]
    ].first()
    joined["photographed"] = groups["photographed"].any()
    shapes, reach = _shapes(joined, crs)
    joined = joined.assign(shape=np.array(shapes, dtype=object), uncertainty_m=reach)
    return joined.drop(columns=["site_wkt", "place"]).set_index("row_id"), members


def _addresses(rows: pd.DataFrame) -> pd.Series:
    """Return house and street as they were written, on one line."""
    house, street = (rows[name].astype(object) for name in ("house", "street"))
    texts = [
        " ".join(", ".join(str(part).split("\n")) for part in parts if isinstance(part, str))
        or None
        for parts in zip(house, street, strict=True)
    ]
    return pd.Series(texts, index=rows.index, dtype=object)


def _places(rows: pd.DataFrame) -> pd.Series:
    places = [
        (east, north, reach) if np.isfinite(east) else None
        for east, north, reach in zip(
            rows["easting"], rows["northing"], rows["uncertainty_m"], strict=True
        )
    ]
    return pd.Series(places, index=rows.index, dtype=object)


def _shapes(
    joined: pd.DataFrame, crs: Literal["EPSG:27700", "EPSG:29903"]
) -> tuple[list[BaseGeometry | None], list[float]]:
    shapes: list[BaseGeometry | None] = []
    reach: list[float] = []
    for text, place in zip(joined["site_wkt"], joined["place"], strict=True):
        outline = read_outline(text, crs=crs) if isinstance(text, str) else None
        if outline is not None:
            shapes.append(outline)
            reach.append(0.0)
        elif isinstance(place, tuple):
            shapes.append(shapely.Point(place[0], place[1]))
            reach.append(float(place[2]))
        else:
            shapes.append(None)
            reach.append(np.nan)
    return shapes, reach
