"""Says messages, dates and numbers in the language in use.

The language is a context variable, so that functions deep inside need no argument for it and two
threads cannot disturb each other. Without one it is British English, whose words stand in the
code itself.
"""

from __future__ import annotations

import datetime as dt
import gettext as _catalogues
import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Literal

from babel import Locale, dates, numbers
from babel.lists import format_list

DayStyle = Literal["date", "day", "weekday", "short"]
_SKELETONS = {"day": "MMMMd", "weekday": "MMMMEEEEd", "short": "MMMd"}
"""Fields of a date, in whatever order and with whatever marks the locale has (CLDR)."""


@dataclass(frozen=True, slots=True)
class Language:
    """A language with its messages.

    Attributes
    ----------
    tag
        As town.toml names it (BCP 47).
    locale
        Rules for dates, numbers, plurals and lists (CLDR, through Babel).
    translations
        Looks a message up; gives back the English one if there is no other.
    """

    tag: str
    locale: Locale
    translations: _catalogues.NullTranslations = field(
        default_factory=_catalogues.NullTranslations, compare=False
    )

    @property
    def html(self) -> str:
        """The value of HTML's ``lang``: ``en-GB``, ``cy``."""
        return str(self.locale).replace("_", "-")


ENGLISH = Language("en", Locale("en", "GB"))
_in_use: ContextVar[Language] = ContextVar("language", default=ENGLISH)


def language() -> Language:
    """Return the language in use."""
    return _in_use.get()


@contextmanager
def speaking(chosen: Language) -> Iterator[None]:
    """Use a language for a while.

    >>> with speaking(Language("de", Locale("de"))):
    ...     number(3512)
    '3.512'
    >>> number(3512)
    '3,512'
    """
    token = _in_use.set(chosen)
    try:
        yield
    finally:
        _in_use.reset(token)


def gettext(message: str, **values: object) -> str:
    """Return a message in the language in use, its ``%(name)s`` filled in.

    Parameters
    ----------
    message
        The English words, literally, so that they can be found in the code. A percent sign is
        written ``%%``.
    values
        One for each name in the message.

    >>> gettext("Boxes fitted in %(season)s", season=2026)
    'Boxes fitted in 2026'
    """
    return _in_use.get().translations.gettext(message) % values


def pgettext(context: str, message: str, **values: object) -> str:
    """Return a message that has several meanings in English, as `gettext` does.

    Parameters
    ----------
    context
        Says which meaning, for the translator alone.
    message, values
        As for `gettext`.

    >>> pgettext("hours of watching", "none")
    'none'
    """
    return _in_use.get().translations.pgettext(context, message) % values


def ngettext(one: str, many: str, count: int, **values: object) -> str:
    """Return a message that depends on a number, in the form the language has for that number.

    Parameters
    ----------
    one, many
        The English words for one and for any other number. ``%(num)s`` is the count, with the
        language's own marks.
    count
        Not negative.
    values
        One for each other name.

    >>> ngettext("%(num)s box", "%(num)s boxes", 1234)
    '1,234 boxes'
    """
    found = _in_use.get().translations.ngettext(one, many, count)
    return found % {"num": number(count), **values}


def number(value: float, *, decimals: int | None = None) -> str:
    """Return a number with the language's marks. Years and seasons are no such numbers.

    Parameters
    ----------
    value
        Any number.
    decimals
        Decimal places to show; by default none for a whole number, and at most three else.

    >>> number(3512), number(2.5, decimals=2)
    ('3,512', '2.50')
    """
    return _number(value, decimals, _in_use.get().locale)


@lru_cache(maxsize=4096)
def _number(value: float, decimals: int | None, locale: Locale) -> str:
    if decimals is None:
        return numbers.format_decimal(value, locale=locale)
    pattern = "#,##0" + ("." + "0" * decimals if decimals else "")
    return numbers.format_decimal(value, format=pattern, locale=locale)


@lru_cache(maxsize=512)
def _percent(value: float, decimals: int, locale: Locale) -> str:
    mark = locale.percent_formats[None].pattern
    whole = mark.replace("#,##0", "#,##0." + "0" * decimals) if decimals else mark
    return numbers.format_percent(value, format=whole, locale=locale)


def percent(share: float, *, decimals: int = 0) -> str:
    """Return a share from 0 to 1 as a percentage.

    >>> percent(0.75), percent(0.125, decimals=1)
    ('75%', '12.5%')
    """
    return _percent(share, decimals, _in_use.get().locale)


def day(value: dt.date, style: DayStyle = "date") -> str:
    """Return a date.

    Parameters
    ----------
    value
        A date, or a time whose date is meant.
    style
        ``date`` is in full, ``day`` leaves out the year, ``weekday`` has the day of the week as
        well, ``short`` is for a narrow cell.

    >>> for style in ("date", "day", "weekday", "short"):
    ...     day(dt.date(2026, 8, 14), style)
    '14 August 2026'
    '14 August'
    'Friday 14 August'
    '14 Aug'
    """
    return _day(value, style, _in_use.get().locale)


@lru_cache(maxsize=2048)
def _day(value: dt.date, style: DayStyle, locale: Locale) -> str:
    if style == "date":
        return dates.format_date(value, format="long", locale=locale)
    said = dates.format_date(value, format=_pattern(_SKELETONS[style], locale), locale=locale)
    # Our house has no comma after the day of the week; CLDR has changed its mind about it.
    return said.replace(",", "") if locale.language == "en" else said


def _pattern(skeleton: str, locale: Locale) -> str:
    """Return the locale's pattern for some fields, as wide as they were asked for.

    Babel finds the nearest that the locale has; to widen its fields is the second half of
    CLDR's matching (Unicode Technical Standard 35, part 4).
    """
    known = locale.datetime_skeletons
    pattern = str(known[dates.match_skeleton(skeleton, known)].pattern)
    parts = pattern.split("'")  # every second part is quoted
    for letter in ("E", "M"):
        asked = letter * skeleton.count(letter)
        wide = re.compile(f"{letter}{{{3 if letter == 'M' else 1},}}")
        parts[::2] = [wide.sub(asked, part) if asked else part for part in parts[::2]]
    return "'".join(parts)


def clock(value: dt.time | dt.datetime) -> str:
    """Return a time of day.

    >>> clock(dt.time(9, 5)), clock(dt.time(21, 30)), clock(dt.time(0, 0))
    ('9.05 am', '9.30 pm', '12.00 am')
    """
    return _clock(value.hour, value.minute, _in_use.get().locale)


@lru_cache(maxsize=2048)
def _clock(hour: int, minute: int, locale: Locale) -> str:
    # Our house says times as people in the street do; CLDR has 24 hours for Britain.
    pattern = "h.mm a" if locale.language == "en" else "short"
    return dates.format_time(dt.time(hour, minute), format=pattern, locale=locale)


def month_name(month: int, *, width: Literal["wide", "abbreviated"] = "wide") -> str:
    """Return the name of a month, from 1, as it stands alone.

    >>> month_name(8), month_name(8, width="abbreviated")
    ('August', 'Aug')
    """
    names = dates.get_month_names(width, context="stand-alone", locale=_in_use.get().locale)
    return str(names[month])


def weekday_name(weekday: int, *, width: Literal["wide", "abbreviated"] = "wide") -> str:
    """Return the name of a day of the week, from 0 for Monday, as it stands alone.

    >>> weekday_name(0), weekday_name(6, width="abbreviated")
    ('Monday', 'Sun')
    """
    names = dates.get_day_names(width, context="stand-alone", locale=_in_use.get().locale)
    return str(names[weekday])


def together(items: Iterable[str], *, style: Literal["standard", "or"] = "standard") -> str:
    """Return a list in words.

    >>> together(["5 May", "12 May", "19 May"]), together(["a", "b"], style="or"), together([])
    ('5 May, 12 May and 19 May', 'a or b', '')
    """
    return format_list(list(items), style=style, locale=_in_use.get().locale)
