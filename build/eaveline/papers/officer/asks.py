"""What the group asks a planning authority for, in words that do not depend on any nest.

They follow from what is proposed and from nothing in the register: a request that changed
with the records would tell where a nest is.
"""

from __future__ import annotations

from eaveline.public.law import standards

LEAST_PER_BUILDING = 2
"""Boxes for a building that is worked on without new dwellings (common practice, no source)."""

_SURVEY = (
    "Before the decision, or by a condition before works start: have every roof edge, gable and "
    "eave that the works touch watched for nest entrances by somebody experienced, on two or more "
    "dry, calm evenings at least a week apart between mid-May and mid-July. Records alone cannot "
    "show that there is no nest."
)
_ENTRANCES = (
    "Keep every entrance that is found open and in its place; where that cannot be, put a new one "
    "in the same place before the next May."
)
_TIMING = (
    "Works to roof edges, gables and eaves, and scaffold or netting in front of them, outside the "
    "nesting season: swifts from May into September, house martins into early October."
)
_DRAWN = (
    "Each box shown on the elevation drawings before the decision: high under the eaves, at least "
    "5 m up with a clear drop below it, not above a door or window, north to east or shaded by "
    "the eaves."
)
_FITTED = "Each box fitted and photographed in place before the building is lived in, and kept."


def asks(*, dwellings: int | None) -> tuple[str, ...]:
    """Return the requests.

    Parameters
    ----------
    dwellings
        New dwellings proposed, or None if the council's list does not say.
    """
    return (_SURVEY, _ENTRANCES, _TIMING, _numbers(dwellings), _DRAWN, _FITTED)


def _numbers(dwellings: int | None) -> str:
    common = standards()
    rule = f"{common.boxes_per_dwelling.text} ({common.boxes_per_dwelling.source})"
    if dwellings is None:
        return (
            f"Integral nest boxes for swifts secured by a condition: {rule}; for works without new "
            f"dwellings at least {LEAST_PER_BUILDING} for each building."
        )
    if dwellings == 0:
        return (
            f"At least {LEAST_PER_BUILDING} integral nest boxes for swifts in each building that "
            "is worked on, secured by a condition."
        )
    boxes = "1 integral nest box" if dwellings == 1 else f"{dwellings} integral nest boxes"
    return (
        f"At least {boxes} for swifts, secured by a condition: {rule}. They may be grouped: "
        f"{common.grouping.text} ({common.grouping.source})."
    )
