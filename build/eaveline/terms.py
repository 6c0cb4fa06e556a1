"""The words in which records hold their kinds, states and evidence, for those who read a paper.

The records and the columns of files for spreadsheets keep the English words, which other
programs rely on.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from gettext import NullTranslations

from eaveline.messages import gettext as _
from eaveline.messages import language, pgettext


def term(text: str) -> str:
    """Return a word of the records in the language in use; other texts as they are.

    >>> term("house martin"), term("12 Mill Lane")
    ('house martin', '12 Mill Lane')
    """
    return _terms(language().translations).get(text, text)


def column(name: str) -> str:
    """Return what heads a column of a table: its name in plain words of the language in use.

    >>> column("last_confirmed")
    'last confirmed'
    """
    plain = name.replace("_", " ")
    return _columns(language().translations).get(plain, plain)


@lru_cache(maxsize=2)
def _terms(_translations: NullTranslations) -> Mapping[str, str]:
    """Return the words of the language in use, whose translations these are."""
    return {
        # What there is.
        "swift": _("swift"),
        "house martin": _("house martin"),
        "house sparrow": _("house sparrow"),
        "starling": _("starling"),
        "tit": _("tit"),
        "other": _("other"),
        "nest site": _("nest site"),
        "box": _("box"),
        "screaming party": _("screaming party"),
        # Evidence and states.
        "seen or heard": _("seen or heard"),
        "possible": _("possible"),
        "probable": _("probable"),
        "confirmed": _("confirmed"),
        "in use": _("in use"),
        "quiet this season": _("quiet this season"),
        "lost": _("lost"),
        "blocked": _("blocked"),
        "not checked": _("not checked"),
        "used": _("used"),
        "used by swifts": _("used by swifts"),
        "no use recorded": _("no use recorded"),
        "empty": _("empty"),
        "not said": _("not said"),
        "yes": _("yes"),
        "no": _("no"),
        # What is new of an application.
        "new": _("new"),
        "more recorded near it": _("more recorded near it"),
        # Weather.
        "dry": _("dry"),
        "wet": _("wet"),
        # Distances and heights.
        "on the site": _("on the site"),
        "within 25 m": _("within 25 m"),
        "25 to 100 m": _("25 to 100 m"),
        "100 to 500 m": _("100 to 500 m"),
        "500 m to 1 km": _("500 m to 1 km"),
        "within 100 m": _("within 100 m"),
        "beyond 500 m or none known": _("beyond 500 m or none known"),
        "below 5 m": _("below 5 m"),
        "5 to 6.9 m": _("5 to 6.9 m"),
        "7 to 9.9 m": _("7 to 9.9 m"),
        "10 m and higher": _("10 m and higher"),
        "3 or 4": _("3 or 4"),
        "5 or more": _("5 or more"),
        # Ages.
        "under 12 months": _("under 12 months"),
        "12 to 18 months": _("12 to 18 months"),
        "18 months to 3 years": _("18 months to 3 years"),
        "over 3 years": _("over 3 years"),
        # Directions.
        "N": _("N"),
        "NE": _("NE"),
        "E": _("E"),
        "SE": _("SE"),
        "S": _("S"),
        "SW": _("SW"),
        "W": _("W"),
        "NW": _("NW"),
        "north": _("north"),
        "east": _("east"),
        "south": _("south"),
        "west": _("west"),
        "front": _("front"),
        "back": _("back"),
        "side": _("side"),
        # Nations.
        "England": _("England"),
        "Scotland": _("Scotland"),
        "Wales": _("Wales"),
        "Northern Ireland": _("Northern Ireland"),
        # What became of a row; "used" is above.
        "merged into another": _("merged into another"),
        "replaced by a correction": _("replaced by a correction"),
        "forgotten on request": _("forgotten on request"),
        "held back": _("held back"),
        # Plans of offers.
        "the best plan": _("the best plan"),
        "most for a box first": _("most for a box first"),
        "nearest to nests first": _("nearest to nests first"),
        "spread evenly": _("spread evenly"),
        # What is set apart or added up.
        "kind": _("kind"),
        "facing": _("facing"),
        "height": _("height"),
        "boxes on the building": _("boxes on the building"),
        "box used by swifts": _("box used by swifts"),
        "young fledged": _("young fledged"),
        # What a comparison came to.
        "no clear difference": _("no clear difference"),
        "sooner with calls": _("sooner with calls"),
        "later with calls": _("later with calls"),
    }


@lru_cache(maxsize=2)
def _columns(_translations: NullTranslations) -> Mapping[str, str]:
    """Return the headings in the language in use, whose translations these are."""
    return {
        "band": pgettext("column", "band"),
        "birds": pgettext("column", "birds"),
        "box": pgettext("column", "box"),
        "boxes": pgettext("column", "boxes"),
        "boxes waiting": pgettext("column", "boxes waiting"),
        "broods counted": pgettext("column", "broods counted"),
        "buildings": pgettext("column", "buildings"),
        "checked": pgettext("column", "checked"),
        "checked in": pgettext("column", "checked in"),
        "date": pgettext("column", "date"),
        "days before": pgettext("column", "days before"),
        "days with records": pgettext("column", "days with records"),
        "address": pgettext("column", "address"),
        "cause": pgettext("column", "cause"),
        "easting": pgettext("column", "easting"),
        "elevation": pgettext("column", "elevation"),
        "elevations": pgettext("column", "elevations"),
        "evidence": pgettext("column", "evidence"),
        "facing": pgettext("column", "facing"),
        "first": pgettext("column", "first"),
        "first season": pgettext("column", "first season"),
        "first used": pgettext("column", "first used"),
        "fixed on": pgettext("column", "fixed on"),
        "fledged": pgettext("column", "fledged"),
        "height m": pgettext("column", "height m"),
        "high": pgettext("column", "high"),
        "highest code": pgettext("column", "highest code"),
        "hours watched": pgettext("column", "hours watched"),
        "job": pgettext("column", "job"),
        "kind": pgettext("column", "kind"),
        "last": pgettext("column", "last"),
        "last confirmed": pgettext("column", "last confirmed"),
        "last occupied": pgettext("column", "last occupied"),
        "lost in": pgettext("column", "lost in"),
        "low": pgettext("column", "low"),
        "minutes": pgettext("column", "minutes"),
        "monday": pgettext("column", "monday"),
        "most birds": pgettext("column", "most birds"),
        "name": pgettext("column", "name"),
        "northing": pgettext("column", "northing"),
        "notes": pgettext("column", "notes"),
        "number": pgettext("column", "number"),
        "other species": pgettext("column", "other species"),
        "parties": pgettext("column", "parties"),
        "pounds each": pgettext("column", "pounds each"),
        "removed on": pgettext("column", "removed on"),
        "season": pgettext("column", "season"),
        "season of the box": pgettext("column", "season of the box"),
        "seasons": pgettext("column", "seasons"),
        "share": pgettext("column", "share"),
        "site": pgettext("column", "site"),
        "species": pgettext("column", "species"),
        "standing": pgettext("column", "standing"),
        "status": pgettext("column", "status"),
        "street": pgettext("column", "street"),
        "streets": pgettext("column", "streets"),
        "swifts first": pgettext("column", "swifts first"),
        "temp c": pgettext("column", "temp c"),
        "used": pgettext("column", "used"),
        "used so far": pgettext("column", "used so far"),
        "value": pgettext("column", "value"),
        "visits": pgettext("column", "visits"),
        "watches": pgettext("column", "watches"),
        "weather": pgettext("column", "weather"),
        "weight": pgettext("column", "weight"),
        "what": pgettext("column", "what"),
        "why": pgettext("column", "why"),
        "why not": pgettext("column", "why not"),
        "wind bft": pgettext("column", "wind bft"),
        "with calls": pgettext("column", "with calls"),
        "year": pgettext("column", "year"),
    }
