"""What the group asks a planning authority for, in words that do not depend on any nest.

They follow from what is proposed and from nothing in the register: a request that changed
with the records would tell where a nest is.
"""

from __future__ import annotations

from eaveline.messages import gettext as _
from eaveline.messages import ngettext, number
from eaveline.public.words.law import standards

LEAST_PER_BUILDING = 2
"""Boxes for a building that is worked on without new dwellings (common practice, no source)."""


def asks(*, dwellings: int | None) -> tuple[str, ...]:
    """Return the requests.

    Parameters
    ----------
    dwellings
        New dwellings proposed, or None if the council's list does not say.
    """
    return (
        _(
            "Before the decision, or by a condition before works start: have every roof edge, "
            "gable and eave that the works touch watched for nest entrances by somebody "
            "experienced, on two or more dry, calm evenings at least a week apart between mid-May "
            "and mid-July. Records alone cannot show that there is no nest."
        ),
        _(
            "Keep every entrance that is found open and in its place; where that cannot be, put a "
            "new one in the same place before the next May."
        ),
        _(
            "Works to roof edges, gables and eaves, and scaffold or netting in front of them, "
            "outside the nesting season: swifts from May into September, house martins into early "
            "October."
        ),
        _numbers(dwellings),
        _(
            "Each box shown on the elevation drawings before the decision: high under the eaves, "
            "at least 5 m up with a clear drop below it, not above a door or window, north to "
            "east or shaded by the eaves."
        ),
        _("Each box fitted and photographed in place before the building is lived in, and kept."),
    )


def _numbers(dwellings: int | None) -> str:
    common = standards()
    rule, grouping = common.boxes_per_dwelling, common.grouping
    if dwellings is None:
        return _(
            "Integral nest boxes for swifts secured by a condition: %(rule)s (%(source)s); for "
            "works without new dwellings at least %(least)s for each building.",
            rule=rule.text,
            source=rule.source,
            least=number(LEAST_PER_BUILDING),
        )
    if dwellings == 0:
        return _(
            "At least %(least)s integral nest boxes for swifts in each building that is worked "
            "on, secured by a condition.",
            least=number(LEAST_PER_BUILDING),
        )
    return ngettext(
        "At least %(num)s integral nest box for swifts, secured by a condition: %(rule)s "
        "(%(source)s). They may be grouped: %(grouping)s (%(grouping_source)s).",
        "At least %(num)s integral nest boxes for swifts, secured by a condition: %(rule)s "
        "(%(source)s). They may be grouped: %(grouping)s (%(grouping_source)s).",
        dwellings,
        rule=rule.text,
        source=rule.source,
        grouping=grouping.text,
        grouping_source=grouping.source,
    )
