"""Sentences that tell an estimate together with how sure it is.

Templates call these with parts of the release and hold no number of their own. Every share
stands beside the numbers it comes from, and too few is said to be too few.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from eaveline.estimation.proportion import FEWEST_TO_SAY, wilson
from eaveline.public.records import CallsVerdict
from eaveline.public.wording import amount, day, number

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

TOO_FEW = "too few to say"
_JOINED_DISTRICTS_FROM = 50


def use_share(use: BoxUse | None, rule: Rule) -> str:
    """Return the share of checked buildings whose boxes swifts used, with its 95% interval.

    The interval is Wilson's. Where the count may have been capped, only its lower end is
    known, and only that is given.
    """
    if use is None or use.buildings_checked < FEWEST_TO_SAY:
        return TOO_FEW
    found = wilson(use.used_at_least, use.buildings_checked)
    if may_be_more(use, rule):
        return f"at least {percent(found.low)}"
    share = percent(use.used_at_least / use.buildings_checked)
    return f"{share} ({percent(found.low)} to {percent(found.high)})"


def use_interval(use: BoxUse | None, rule: Rule) -> tuple[float, float] | None:
    """Return the ends of the interval that `use_share` tells, or None."""
    if use is None or use.buildings_checked < FEWEST_TO_SAY:
        return None
    found = wilson(use.used_at_least, use.buildings_checked)
    return found.low, 1.0 if may_be_more(use, rule) else found.high


def may_be_more(use: BoxUse, rule: Rule) -> bool:
    """Return whether a count that the town's figure adds up reached its cap."""
    parts: list[BoxUse | DistrictUse] = [*use.districts.values()] or [use]
    return any(
        part.used_at_least >= min(highest_count(part.buildings_checked, rule), _joined_limit(name))
        for name, part in zip([*use.districts] or [""], parts, strict=True)
    )


def _joined_limit(name: str) -> float:
    """Return 1 for a district joined from several, whose ids are above D50; else no limit."""
    return 1 if name and int(name[1:]) > _JOINED_DISTRICTS_FROM else math.inf


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
        name: f"{int(name[1:]) % _JOINED_DISTRICTS_FROM}, in the {_bearing(i - east, j - north)}"
        for name, (i, j) in middles.items()
    }


def _middle(cells: Sequence[Cell]) -> tuple[float, float]:
    return sum(c.i for c in cells) / len(cells), sum(c.j for c in cells) / len(cells)


_CENTRAL_CELLS = 1.5
"""Nearer to the middle than this, a district is in the centre."""


def _bearing(east: float, north: float) -> str:
    if math.hypot(east, north) < _CENTRAL_CELLS:
        return "centre"
    names = (
        "north",
        "north-east",
        "east",
        "south-east",
        "south",
        "south-west",
        "west",
        "north-west",
    )
    return names[round(math.degrees(math.atan2(east, north)) / 45) % 8]


def highest_count(buildings: int, rule: Rule) -> int:
    """Return the highest count that is published of so many buildings."""
    return max(min(buildings // rule.most_share, buildings - rule.minimum_premises + 1), 0)


def percent(share: float) -> str:
    """Return a share from 0 to 1 as a whole percentage.

    >>> percent(0.3077)
    '31%'
    """
    return f"{100 * share:.0f}%"


def wait(found: BoxWait | None) -> str:
    """Return how soon boxes were used."""
    if found is None:
        return (
            "Too few buildings with boxes have been followed for long enough to say how soon "
            "swifts find them."
        )
    followed = amount(found.buildings, "building", "buildings")
    span = f"within {amount(found.seasons, 'season', 'seasons')}"
    if found.used_at_least == 0:
        return f"Of {followed} whose boxes were followed, none is known to be used {span}."
    return (
        f"Of {followed} whose boxes were followed, swifts used those of at least "
        f"{number(found.used_at_least)} {span}."
    )


def calls(found: BoxCalls) -> str:
    """Return what comparing boxes with and without calls came to."""
    if found.verdict is CallsVerdict.TOO_FEW:
        return (
            "Too few buildings have boxes with calls, or without, to say whether playing swifts’ "
            "calls helps."
        )
    groups = (
        f"{number(found.buildings_with or 0)} buildings with calls and "
        f"{number(found.buildings_without or 0)} without, as far from squares with known nests"
    )
    if found.verdict is CallsVerdict.NO_CLEAR_DIFFERENCE:
        return f"Swifts found boxes about as soon with calls as without: {groups}."
    word = "sooner" if found.verdict is CallsVerdict.SOONER else "later"
    return (
        f"Swifts found boxes {word} where calls were played: {groups}. A difference as large "
        "comes about by chance less than once in twenty times."
    )


def trend(found: Trend | None) -> str:
    """Return whether counts on watches rise or fall, with the interval."""
    if found is None:
        return (
            "Too few squares have been watched in several seasons to say whether numbers are "
            "rising or falling."
        )
    basis = (
        f"From {found.first_season} to {found.last_season}, over "
        f"{amount(found.squares, 'square or group of squares', 'squares and groups of squares')} "
        "watched in more than one season, the most swifts seen at once"
    )
    between = f"between {_change(found.low)} and {_change(found.high)} a year"
    if found.low > 0:
        return f"{basis} rose by about {found.percent}% a year: {between} (95% interval)."
    if found.high < 0:
        return f"{basis} fell by about {-found.percent}% a year: {between} (95% interval)."
    return (
        f"{basis} may have risen, fallen or stayed the same: {between} (95% interval), which is "
        f"{TOO_FEW} which."
    )


def _change(value: int) -> str:
    if value == 0:
        return "no change"
    return f"a rise of {number(value)}%" if value > 0 else f"a fall of {number(-value)}%"


def peak(season: TownSeason) -> str:
    """Return the middle of the daily largest parties, with the number of days."""
    if season.median_daily_peak is None:
        return "no count"
    birds = amount(season.median_daily_peak, "bird", "birds")
    return f"{birds} (on {amount(season.days_with_parties, 'day', 'days')})"


def near_calls(season: TownSeason) -> str:
    """Return how many parties were set apart because calls were played in their square."""
    apart = season.parties_near_calls
    if not apart:
        return f"No party of {season.season} was seen in a square where calls were being played."
    verb = "was" if apart == 1 else "were"
    return (
        f"{amount(apart, 'party', 'parties').capitalize()} of {season.season} {verb} seen in a "
        "square where calls were being played, which draw young birds; such are left out here."
    )


def busiest_week(season: TownSeason) -> str:
    """Return which week had most parties."""
    if not season.weeks:
        return f"No screaming party with a date is known from {season.season}."
    most = max(week.parties for week in season.weeks)
    weeks = [day(week.monday) for week in season.weeks if week.parties == most]
    named = weeks[0] if len(weeks) == 1 else f"{', '.join(weeks[:-1])} and {weeks[-1]}"
    plural = "week" if len(weeks) == 1 else "weeks"
    each = "" if len(weeks) == 1 else " each"
    return (
        f"In {season.season} most were seen in the {plural} beginning {named}: "
        f"{amount(most, 'party', 'parties')}{each}."
    )


def sunset_band(band: SunsetBand) -> str:
    """Return what a band of minutes before sunset is called."""
    if band.from_minutes is None:
        return f"more than {band.to_minutes} minutes before"
    if band.to_minutes is None:
        return "after sunset"
    if band.to_minutes == 0:
        return f"the last {band.from_minutes} minutes before"
    return f"{band.from_minutes} to {band.to_minutes} minutes before"


def last_hour(figures: TownFigures) -> str:
    """Return how many of the parties with a time were seen in the last hour before sunset."""
    timed = sum(band.parties for band in figures.parties_by_sunset)
    if not timed:
        return "No screaming party has a time of day yet."
    late = sum(
        band.parties
        for band in figures.parties_by_sunset
        if band.from_minutes is not None
        and 0 < band.from_minutes <= 60  # noqa: PLR2004 - an hour
        and band.to_minutes is not None
    )
    whole = amount(timed, "party with a time", "parties with a time")
    if not late:
        return f"None of {whole} was seen in the last hour before sunset."
    return f"{number(late)} of {whole} {_verb(late)} seen in the last hour before sunset."


def _verb(count: int) -> str:
    return "was" if count == 1 else "were"
