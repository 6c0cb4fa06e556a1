"""Phrases of a number or a date, which sentences are filled with.

Nouns come with their count, so that each language may choose the form that belongs to it.
"""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from eaveline.messages import clock as _clock
from eaveline.messages import day as _day
from eaveline.messages import gettext as _
from eaveline.messages import ngettext, number, pgettext
from eaveline.messages import percent as _percent

if TYPE_CHECKING:
    from collections.abc import Sequence


def records(count: int) -> str:
    """Return a count of records: of nests it holds no more than are published.

    >>> records(3512), records(1), records(0)
    ('at least 3,512 records', 'at least 1 record', 'no records')
    """
    if not count:
        return _("no records")
    return ngettext("at least %(num)s record", "at least %(num)s records", count)


def hours(count: int) -> str:
    """Return a count of hours."""
    return ngettext("%(num)s hour", "%(num)s hours", count) if count else _("no hours")


def buildings(count: int) -> str:
    """Return a count of buildings."""
    return ngettext("%(num)s building", "%(num)s buildings", count) if count else _("no buildings")


def parties(count: int) -> str:
    """Return a count of screaming parties, where it is plain what parties are meant."""
    return ngettext("%(num)s party", "%(num)s parties", count) if count else _("no parties")


def birds(count: int) -> str:
    """Return a count of birds."""
    return ngettext("%(num)s bird", "%(num)s birds", count) if count else _("no birds")


def premises(count: int) -> str:
    """Return a count of premises."""
    return ngettext("%(num)s premises", "%(num)s premises", count) if count else _("no premises")


def cells(count: int) -> str:
    """Return a count of the map's cells."""
    return ngettext("%(num)s cell", "%(num)s cells", count) if count else _("no cells")


def date(value: dt.date) -> str:
    """Return a date in full.

    >>> date(dt.date(2026, 8, 14))
    '14 August 2026'
    """
    return _day(value, "date")


def day(value: dt.date) -> str:
    """Return a date without its year.

    >>> day(dt.date(2026, 5, 3))
    '3 May'
    """
    return _day(value, "day")


def day_short(value: dt.date) -> str:
    r"""Return a date without its year, for a narrow cell, in which it stays on one line.

    >>> day_short(dt.date(2026, 8, 14))
    '14\xa0Aug'
    """
    return _day(value, "short").replace(" ", "\N{NO-BREAK SPACE}")


def clock(value: dt.datetime) -> str:
    """Return a time of day.

    >>> clock(dt.datetime(2026, 6, 6, 9, 5))
    '9.05 am'
    """
    return _clock(value)


def weekday(value: dt.date) -> str:
    """Return a date with its day of the week.

    >>> weekday(dt.date(2026, 6, 6))
    'Saturday 6 June'
    """
    return _day(value, "weekday")


def percentage(share: float) -> str:
    """Return a share from 0 to 1 as a whole percentage.

    >>> percentage(0.3077)
    '31%'
    """
    return _percent(round(100 * share) / 100)


def share(part: int, whole: int) -> str:
    """Return a share as a whole percentage; one that is neither all nor nothing never reads so.

    >>> share(3, 4), share(1999, 2000), share(0, 0)
    ('75%', 'over 99%', 'none')
    """
    if part == 0 or whole == 0:
        return pgettext("a share", "none")
    rounded = round(100 * part / whole)
    if rounded == 100 and part < whole:  # noqa: PLR2004 - a percentage
        return _("over %(share)s", share=_percent(0.99))
    return _percent(rounded / 100) if rounded else _("under %(share)s", share=_percent(0.01))


def span(low: int, high: int | None) -> str:
    """Return a band in words.

    >>> span(3, 5), span(2, 2), span(11, None)
    ('3 to 5', '2', '11 or more')
    """
    if high is None:
        return _("%(low)s or more", low=number(low))
    if low == high:
        return number(low)
    return _("%(low)s to %(high)s", low=number(low), high=number(high))


def years(seasons: Sequence[str]) -> str:
    """Return the seasons that records cover.

    >>> years(("2024", "2025", "2026")), years(("2026",)), years(())
    ('2024 to 2026', '2026', 'no season yet')
    """
    if not seasons:
        return _("no season yet")
    if len(seasons) == 1:
        return seasons[0]
    return _("%(first)s to %(last)s", first=seasons[0], last=seasons[-1])


def size(size_bytes: int) -> str:
    """Return a file's size.

    >>> size(900), size(15_300), size(2_400_000)
    ('1 kB', '15 kB', '2.4 MB')
    """
    if size_bytes >= 1_000_000:  # noqa: PLR2004 - bytes in a megabyte
        return _("%(size)s MB", size=number(size_bytes / 1e6, decimals=1))
    return _("%(size)s kB", size=number(max(1, round(size_bytes / 1000))))
