"""Sentences that tell an estimate together with how sure it is.

Templates call these with parts of the release and hold no number of their own. Every share
stands beside the numbers it comes from, and too few is said to be too few.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from eaveline.estimation.proportion import FEWEST_TO_SAY, wilson
from eaveline.messages import gettext as _
from eaveline.messages import ngettext, together
from eaveline.public.records import CallsVerdict
from eaveline.public.words.wording import birds, buildings, day, number, parties, percentage

if TYPE_CHECKING:
    from collections.abc import Sequence

    from eaveline.public.records import (
        BoxCalls,
        BoxUse,
        BoxWait,
        Cell,
        DistrictUse,
        PublicRelease,
        Rule,
        SunsetBand,
        TownFigures,
        TownSeason,
        Trend,
    )

_JOINED_DISTRICTS_FROM = 500


def use_share(use: BoxUse | None, rule: Rule) -> str:
    """Return the share of checked buildings whose boxes swifts used, with its 95% interval.

    The interval is Wilson's. Where the count may have been capped, only its lower end is
    known, and only that is given.
    """
    if use is None or use.buildings_checked < FEWEST_TO_SAY:
        return _("too few to say")
    found = wilson(use.used_at_least, use.buildings_checked)
    if may_be_more(use, rule):
        return _("at least %(share)s", share=percentage(found.low))
    return _(
        "%(share)s (%(low)s to %(high)s)",
        share=percentage(use.used_at_least / use.buildings_checked),
        low=percentage(found.low),
        high=percentage(found.high),
    )


def use_interval(use: BoxUse | None, rule: Rule) -> tuple[float, float] | None:
    """Return the ends of the interval that `use_share` tells, or None."""
    if use is None or use.buildings_checked < FEWEST_TO_SAY:
        return None
    found = wilson(use.used_at_least, use.buildings_checked)
    return found.low, 1.0 if may_be_more(use, rule) else found.high


def may_be_more(use: BoxUse, rule: Rule) -> bool:
    """Return whether a count that the town's figure adds up reached its cap."""
    parts: list[BoxUse | DistrictUse] = [*use.districts.values()] or [use]
    return use.may_be_more or any(
        part.used_at_least >= highest_count(part.buildings_checked, rule) for part in parts
    )


def district_names(release: PublicRelease) -> dict[str, str]:
    """Return what readers call each district: its number, and where in the town it lies."""
    cells = {region.id: region.cells for region in release.regions}
    middles = {
        district.id: _middle([cell for region in district.regions for cell in cells[region]])
        for district in release.districts
    }
    if not middles:
        return {}
    east, north = _middle([cell for own in cells.values() for cell in own])
    return {
        name: _placed(str(int(name[1:]) % _JOINED_DISTRICTS_FROM), i - east, j - north)
        for name, (i, j) in middles.items()
    }


def _middle(cells: Sequence[Cell]) -> tuple[float, float]:
    return sum(c.i for c in cells) / len(cells), sum(c.j for c in cells) / len(cells)


_CENTRAL_CELLS = 1.5
"""Nearer to the middle than this, a district is in the centre."""


def _placed(number: str, east: float, north: float) -> str:
    """Return a district's number with where it lies, seen from the middle of the town."""
    if math.hypot(east, north) < _CENTRAL_CELLS:
        return _("%(number)s, in the centre", number=number)
    names = (
        _("%(number)s, in the north", number=number),
        _("%(number)s, in the north-east", number=number),
        _("%(number)s, in the east", number=number),
        _("%(number)s, in the south-east", number=number),
        _("%(number)s, in the south", number=number),
        _("%(number)s, in the south-west", number=number),
        _("%(number)s, in the west", number=number),
        _("%(number)s, in the north-west", number=number),
    )
    return names[round(math.degrees(math.atan2(east, north)) / 45) % 8]


def highest_count(buildings: int, rule: Rule) -> int:
    """Return the highest count that is published of so many buildings."""
    return max(min(buildings // rule.most_share, buildings - rule.minimum_premises + 1), 0)


def smallest_lot(rule: Rule) -> int:
    """Return the fewest buildings with boxes that are told of at once.

    It is the smallest number of which a count may reach the greatest share.
    """
    size = rule.minimum_premises
    while highest_count(size, rule) < size // rule.most_share:
        size += 1
    return size


def wait(found: BoxWait | None) -> str:
    """Return how soon boxes were used."""
    if found is None:
        return _(
            "Too few buildings with boxes have been followed for long enough to say how soon "
            "swifts find them."
        )
    values = {"buildings": buildings(found.buildings), "seasons": _seasons(found.seasons)}
    if found.used_at_least == 0:
        return _(
            "Of %(buildings)s whose boxes were followed, none is known to be used within "
            "%(seasons)s.",
            **values,
        )
    return _(
        "Of %(buildings)s whose boxes were followed, swifts used those of at least %(used)s within "
        "%(seasons)s.",
        used=number(found.used_at_least),
        **values,
    )


def calls(found: BoxCalls) -> str:
    """Return what comparing boxes with and without calls came to."""
    values = {
        "with_calls": number(found.buildings_with or 0),
        "without": number(found.buildings_without or 0),
    }
    match found.verdict:
        case CallsVerdict.TOO_FEW:
            return _(
                "Too few buildings have boxes with calls, or without, to say whether playing "
                "swifts’ calls helps."
            )
        case CallsVerdict.NO_CLEAR_DIFFERENCE:
            return _(
                "Swifts found boxes about as soon with calls as without: %(with_calls)s buildings "
                "with calls and %(without)s without, at like distances from known nests.",
                **values,
            )
        case CallsVerdict.SOONER:
            return _(
                "Swifts found boxes sooner where calls were played: %(with_calls)s buildings with "
                "calls and %(without)s without, at like distances from known nests. A difference "
                "as large comes about by chance less than once in twenty times.",
                **values,
            )
        case CallsVerdict.LATER:
            return _(
                "Swifts found boxes later where calls were played: %(with_calls)s buildings with "
                "calls and %(without)s without, at like distances from known nests. A difference "
                "as large comes about by chance less than once in twenty times.",
                **values,
            )


def trend(found: Trend | None) -> str:
    """Return whether counts on watches rise or fall, with the interval."""
    if found is None:
        return _(
            "Too few squares have been watched in several seasons to say whether numbers are "
            "rising or falling."
        )
    values = {
        "first": found.first_season,
        "last": found.last_season,
        "squares": ngettext(
            "%(num)s square or group of squares",
            "%(num)s squares and groups of squares",
            found.squares,
        ),
        "low": _change(found.low),
        "high": _change(found.high),
    }
    if found.low > 0:
        return _(
            "From %(first)s to %(last)s, over %(squares)s watched in more than one season, the "
            "most swifts seen at once rose by about %(change)s a year: between %(low)s and "
            "%(high)s a year (95%% interval).",
            change=percentage(found.percent / 100),
            **values,
        )
    if found.high < 0:
        return _(
            "From %(first)s to %(last)s, over %(squares)s watched in more than one season, the "
            "most swifts seen at once fell by about %(change)s a year: between %(low)s and "
            "%(high)s a year (95%% interval).",
            change=percentage(-found.percent / 100),
            **values,
        )
    return _(
        "From %(first)s to %(last)s, over %(squares)s watched in more than one season, the most "
        "swifts seen at once may have risen, fallen or stayed the same: between %(low)s and "
        "%(high)s a year (95%% interval), which is too few to say which.",
        **values,
    )


def _change(value: int) -> str:
    if value == 0:
        return _("no change")
    if value > 0:
        return _("a rise of %(change)s", change=percentage(value / 100))
    return _("a fall of %(change)s", change=percentage(-value / 100))


def peak(season: TownSeason) -> str:
    """Return the middle of the daily largest parties, with the number of days."""
    if season.median_daily_peak is None:
        return _("no count")
    return _(
        "%(birds)s (on %(days)s)",
        birds=birds(season.median_daily_peak),
        days=_days(season.days_with_parties),
    )


def _days(count: int) -> str:
    return ngettext("%(num)s day", "%(num)s days", count) if count else _("no days")


def _seasons(count: int) -> str:
    return ngettext("%(num)s season", "%(num)s seasons", count) if count else _("no seasons")


def near_calls(season: TownSeason) -> str:
    """Return how many parties were set apart because calls were played in their square."""
    apart = season.parties_near_calls
    if not apart:
        return _(
            "No party of %(season)s was seen in a square where calls were being played.",
            season=season.season,
        )
    return ngettext(
        "%(num)s party of %(season)s was seen in a square where calls were being played, which "
        "draw young birds; those are left out here.",
        "%(num)s parties of %(season)s were seen in a square where calls were being played, which "
        "draw young birds; those are left out here.",
        apart,
        season=season.season,
    )


def busiest_week(season: TownSeason) -> str:
    """Return which week had most parties."""
    if not season.weeks:
        return _("No screaming party with a date is known from %(season)s.", season=season.season)
    most = max(week.parties for week in season.weeks)
    weeks = [day(week.monday) for week in season.weeks if week.parties == most]
    return ngettext(
        "In %(season)s most were seen in the week beginning %(weeks)s: %(parties)s.",
        "In %(season)s most were seen in the weeks beginning %(weeks)s: %(parties)s each.",
        len(weeks),
        season=season.season,
        weeks=together(weeks),
        parties=parties(most),
    )


def sunset_band(band: SunsetBand) -> str:
    """Return what a band of minutes before sunset is called."""
    if band.from_minutes is None:
        return ngettext(
            "more than %(num)s minute before",
            "more than %(num)s minutes before",
            band.to_minutes or 0,
        )
    if band.to_minutes is None:
        return _("after sunset")
    if band.to_minutes == 0:
        return ngettext(
            "the last %(num)s minute before", "the last %(num)s minutes before", band.from_minutes
        )
    return ngettext(
        "%(num)s to %(until)s minute before",
        "%(num)s to %(until)s minutes before",
        band.from_minutes,
        until=number(band.to_minutes),
    )


def last_hour(figures: TownFigures) -> str:
    """Return how many of the parties with a time were seen in the last hour before sunset."""
    timed = sum(band.parties for band in figures.parties_by_sunset)
    if not timed:
        return _("No screaming party has a time of day yet.")
    late = sum(
        band.parties
        for band in figures.parties_by_sunset
        if band.from_minutes is not None
        and 0 < band.from_minutes <= 60  # noqa: PLR2004 - an hour
        and band.to_minutes is not None
    )
    whole = ngettext("%(num)s party with a time", "%(num)s parties with a time", timed)
    if not late:
        return _("None of %(parties)s was seen in the last hour before sunset.", parties=whole)
    return ngettext(
        "%(num)s of %(parties)s was seen in the last hour before sunset.",
        "%(num)s of %(parties)s were seen in the last hour before sunset.",
        late,
        parties=whole,
    )
