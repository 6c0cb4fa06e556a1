"""Tells which sightings are about a nest box rather than a nest in the building."""

from __future__ import annotations

import pandas as pd

from eaveline.errors import Problem
from eaveline.private.merge.sightings import is_nest_evidence
from eaveline.private.merge.sites import AssignBuilding

_BOX_WORDS = (
    r"\b(?:nest|bird|swift)? ?box(?:es)?\b"
    r"|\b(?:swift|nest|nesting) ?bricks?\b"
    r"|\b(?:artificial|nest|nesting|martin) ?cups?\b"
)
_OTHER_BOXES = (
    r"\b(?:letter|post|pillar|phone|telephone|fuse|meter|junction|signal|soffit|alarm|flower|"
    r"window) ?box(?:es)?\b|\bbox (?:hedge|room|gutter|bush|tree|end)s?\b"
)
"""Usual British phrases, no source."""


def speak_of_boxes(sightings: pd.DataFrame) -> pd.Series:
    """Return which sightings are evidence for birds in a nest box, by their notes.

    They are evidence for no nest in the building, whether or not the list has the box: anyone can
    see it on the wall, and a nest that left the map on the day on which the box was typed in would
    be the one seen going into it.

    Parameters
    ----------
    sightings
        Merged, with notes and atlas_code.
    """
    notes = sightings["notes"].astype("string")
    other = notes.str.replace(_OTHER_BOXES, " ", case=False, regex=True)
    speaks = other.str.contains(_BOX_WORDS, case=False, regex=True, na=False)
    found: pd.Series = is_nest_evidence(sightings) & speaks.to_numpy(dtype=bool)
    return found


def boxes_seen(
    sightings: pd.DataFrame, boxes: pd.DataFrame, assign_building: AssignBuilding
) -> pd.Series:
    """Return for each sighting the title of the box it is about, or None.

    It is one that stood that day on the building the sighting is joined to.

    Parameters
    ----------
    sightings
        Merged.
    boxes
        See `MergedBoxes`.
    assign_building
        See `sites.AssignBuilding`.
    """
    candidates = sightings[speak_of_boxes(sightings).to_numpy()]
    found = pd.Series([None] * len(sightings), index=sightings.index, dtype=object)
    if not len(candidates) or not len(boxes):
        return found
    place = [
        candidates[name].to_numpy(dtype=float) for name in ("easting", "northing", "uncertainty_m")
    ]
    building = assign_building(*place)
    seen = pd.DataFrame(
        {"row_id": candidates.index, "building": building, "date": candidates["date"].to_numpy()}
    )
    there = seen[seen["building"] >= 0].merge(
        boxes.sort_values(["title", "standing"])[["building", "title", "fixed_on", "removed_on"]],
        on="building",
    )
    standing = (there["fixed_on"].isna() | (there["fixed_on"] <= there["date"])) & (
        there["removed_on"].isna() | (there["removed_on"] >= there["date"])
    )
    first = there[standing].drop_duplicates("row_id").set_index("row_id")["title"]
    found.loc[first.index] = first
    return found


def of_no_box(sightings: pd.DataFrame) -> tuple[Problem, ...]:
    """Say how many sightings speak of a box where the list has none.

    Parameters
    ----------
    sightings
        A register's, with about_box and box.
    """
    many = int((sightings["about_box"] & sightings["box"].isna().to_numpy()).sum())
    if not many:
        return ()
    return (
        Problem(
            "sightings-of-unknown-box",
            f"Sightings that speak of a nest box, though no box in boxes/ stood there that day: "
            f"{many}. They count for no box, and for no nest in the building.",
            "Add the box, with the date it was fitted. Where the nest is in the building itself, "
            "take the box out of the sighting's notes.",
            file="sightings",
        ),
    )
