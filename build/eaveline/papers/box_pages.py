"""What the group's own page says of boxes: use, waiting, calls, failures, cost, histories."""

from __future__ import annotations

import numpy as np
import pandas as pd
from markupsafe import Markup

from eaveline.estimation.survival import LifeTable, life_table, median_wait
from eaveline.messages import gettext as _
from eaveline.messages import ngettext, number, percent
from eaveline.papers.sections import Section
from eaveline.private.derive.box_seasons import BoxHistory, first_occupant, first_use
from eaveline.private.derive.box_use import (
    costs,
    failed_boxes,
    occupancy_by_place,
    occupancy_by_season,
)
from eaveline.private.derive.calls import CallsFinding, compare_calls, distance_to_nests
from eaveline.private.register import Register
from eaveline.public.pages import charts
from eaveline.terms import term

SURE = 0.95
"""How often an interval of ours holds the truth."""


def box_sections(register: Register, history: BoxHistory) -> list[Section]:
    """Return the sections on boxes."""
    distance = distance_to_nests(history.units, register.sites, register.evidence)
    return [
        _occupancy(history),
        _by_place(history),
        _waiting(history),
        _calls(compare_calls(history, distance_m=distance)),
        _failed(history),
        _costs(history),
        _histories(history),
    ]


def _occupancy(history: BoxHistory) -> Section:
    table = occupancy_by_season(history)
    known = table[table["share"].notna()]
    drawn: tuple[Markup, ...] = ()
    if len(known):
        newest = known.iloc[-1]
        words = _occupancy_words(newest)
        drawn = (
            charts.points(
                "occupancy",
                [str(season) for season in table["season"]],
                [None if np.isnan(share) else float(share) for share in table["share"]],
                intervals=[
                    None if np.isnan(low) else (float(low), float(high))
                    for low, high in zip(table["low"], table["high"], strict=True)
                ],
                percent=True,
                title=_("Share of checked boxes used by swifts"),
                about=words,
                across=_("Season"),
                up=_("Share used"),
            ),
        )
    else:
        words = _("Too few boxes have been checked to say how many are used.")
    return Section(
        _("Boxes used by season"),
        (words, _("Wilson’s interval, made wider for boxes that share a building.")),
        table,
        "boxes-by-season.csv",
        drawn,
    )


def _occupancy_words(season: pd.Series) -> str:
    checked, standing = int(season["checked"]), int(season["standing"])
    used = ngettext(
        "In %(season)s swifts used %(used)s of %(num)s box checked: %(share)s (%(sure)s interval "
        "%(low)s to %(high)s).",
        "In %(season)s swifts used %(used)s of %(num)s boxes checked: %(share)s (%(sure)s interval "
        "%(low)s to %(high)s).",
        checked,
        season=str(int(season["season"])),
        used=number(int(season["used"])),
        share=percent(season["share"]),
        sure=percent(SURE),
        low=percent(season["low"]),
        high=percent(season["high"]),
    )
    left = ngettext(
        "%(num)s standing box was not checked.",
        "%(num)s standing boxes were not checked.",
        standing - checked,
    )
    return f"{used} {left}"


def _by_place(history: BoxHistory) -> Section:
    words = (
        _(
            "Ever used, of those ever checked. Old boxes have had more time, and places were "
            "not drawn by lot: read this as a hint. No share is given for fewer than five."
        ),
    )
    heading = _("Boxes by kind, height, facing and number")
    return Section(heading, words, occupancy_by_place(history), "boxes-by-place.csv")


def _waiting(history: BoxHistory) -> Section:
    waits, first = first_use(history), first_occupant(history)
    if waits.empty:
        return Section(_("Seasons until first use"), (_("No box has been looked into yet."),))
    cluster = history.units["cluster"]
    alone = life_table(waits["time"], waits["ending"], cluster=cluster.loc[waits.index])
    against = life_table(first["time"], first["ending"], cluster=cluster.loc[first.index])
    return Section(
        _("Seasons until first use"),
        (
            waiting_words(alone),
            _(
                "Boxes not used yet count for as long as they were looked at (Kaplan-Meier). "
                "“Swifts first” is the share where swifts, and not another species, were the first "
                "birds in the box. Boxes are seldom looked at every season, so waits are at most "
                "this long."
            ),
        ),
        _waiting_table(alone, against),
        "seasons-until-first-use.csv",
        (
            charts.steps(
                "first-use",
                [0.0, *(1 - alone.waiting)],
                low=[0.0, *(1 - alone.waiting_high)],
                high=[0.0, *(1 - alone.waiting_low)],
                title=_("Share of boxes used by swifts, by seasons since fitting"),
                about=waiting_words(alone),
                across=_("Seasons since fitting"),
                up=_("Share used"),
            ),
        ),
    )


def waiting_words(table: LifeTable) -> str:
    """Return the life table as a sentence."""
    middle = median_wait(table)
    used = 1 - table.waiting[-1]
    if middle is None:
        return _(
            "Fewer than half of the boxes are used so far: %(share)s by season %(season)s.",
            share=percent(used),
            season=number(int(table.time[-1])),
        )
    return _("Half of the boxes are used by their season %(season)s.", season=number(middle))


def _waiting_table(alone: LifeTable, against: LifeTable) -> pd.DataFrame:
    steps = len(alone.time)
    # The first occupant comes no later than the first swift, so this table may be shorter.
    swifts_first = np.full(steps, against.incidence[-1])
    swifts_first[: len(against.time)] = against.incidence
    return pd.DataFrame(
        {
            "season_of_the_box": alone.time,
            "boxes_waiting": alone.at_risk,
            "first_used": alone.events,
            "used_so_far": (1 - alone.waiting).round(3),
            "low": (1 - alone.waiting_high).round(3),
            "high": (1 - alone.waiting_low).round(3),
            "swifts_first": swifts_first.round(3),
        }
    )


def _calls(found: CallsFinding) -> Section:
    return Section(
        _("Boxes with calls and without"),
        (
            calls_words(found),
            _(
                "Keen owners live near swifts, and keen owners play calls. So buildings are "
                "compared only with buildings as far from known nests, and even so owners who play "
                "calls may differ in other ways. Calls count if they were played in a box’s "
                "first season."
            ),
        ),
        found.table,
        "calls.csv",
    )


def calls_words(found: CallsFinding) -> str:
    """Return what the comparison came to."""
    if found.comparison is None:
        return _("Too few buildings have boxes with calls, or without, to say whether calls help.")
    used = ngettext(
        "%(num)s box with calls was used, where %(expected)s would be if calls made no difference "
        "(p = %(p_value)s, buildings shuffled within bands of distance): %(verdict)s.",
        "%(num)s boxes with calls were used, where %(expected)s would be if calls made no "
        "difference (p = %(p_value)s, buildings shuffled within bands of distance): %(verdict)s.",
        int(found.comparison.observed),
        expected=number(found.comparison.expected, decimals=1),
        p_value=number(found.comparison.p_value, decimals=2),
        verdict=term(found.verdict),
    )
    if found.ratio is None:
        return used
    likely = _(
        "In a season of waiting, a box with calls was %(times)s times as likely to be found "
        "(%(sure)s interval %(low)s to %(high)s).",
        times=number(found.ratio.value, decimals=1),
        sure=percent(SURE),
        low=number(found.ratio.low, decimals=1),
        high=number(found.ratio.high, decimals=1),
    )
    return f"{used} {likely}"


def _failed(history: BoxHistory) -> Section:
    table = failed_boxes(history)
    words = (
        ngettext(
            "%(num)s box has stood three seasons or more without being used by swifts.",
            "%(num)s boxes have stood three seasons or more without being used by swifts.",
            len(table),
        )
        if len(table)
        else _("No box has stood three seasons or more without being used."),
        _("Many boxes take one to five years, and some are never used."),
    )
    return Section(_("Boxes not used, and what may be why"), words, table, "boxes-not-used.csv")


def _costs(history: BoxHistory) -> Section:
    table = costs(history)
    priced = int(table["number"].iloc[0])
    words = (
        ngettext(
            "From the %(num)s box whose cost is known.",
            "From the %(num)s boxes whose cost is known.",
            priced,
        )
        if priced
        else _("No box has a cost in the records."),
    )
    return Section(_("What boxes cost"), words, table, "costs.csv")


def _histories(history: BoxHistory) -> Section:
    rows = history.seasons
    state = np.select(
        [rows["used"], rows["other"] != "", rows["looked"]],
        ["swift", rows["other"], "empty"],
        default="not checked",
    )
    wide = (
        rows.assign(state=state)
        .pivot_table(index="unit", columns="season", values="state", aggfunc="first")
        .reindex(history.units.index)
    )
    wide.columns = [str(season) for season in wide.columns]
    about = ["box", "kind", "height_m", "facing", "easting", "northing", "fixed_on", "removed_on"]
    table = history.units[about].join(wide).sort_values("box")
    words = (_("An empty cell is a season the box did not stand for."),)
    return Section(_("Box by box"), words, table, "box-histories.csv")
