"""Words that the pages' scripts say, handed to them with their data.

A script fills ``%(name)s`` in by itself. Where words depend on a number, it is given one form for
each of the language's kinds of numbers (CLDR's ``one``, ``few``, ``other`` ...), and chooses by the
browser's `Intl.PluralRules`.
"""

from __future__ import annotations

from eaveline.messages import gettext as _
from eaveline.messages import language, ngettext

_COUNTED_TO = 200
"""Every kind of whole number that a language has occurs below this."""
_KEPT = {
    name: f"%({name})s"
    for name in ("num", "name", "premises", "answer", "evidence", "watching", "season", "layer")
}
"""Leaves a message's names for the script."""


def map_words() -> dict[str, object]:
    """Return the words of the moving map."""
    return {
        "squares": _("Squares"),
        "in": _("Zoom in"),
        "out": _("Zoom out"),
        "square": _("%(name)s, %(premises)s. %(answer)s.", **_KEPT),
        "watched": _("%(name)s, %(premises)s. %(answer)s. %(watching)s.", **_KEPT),
        "premises": {
            kind: ngettext("%(num)s premises", "%(num)s premises", count, **_KEPT)
            for kind, count in _kinds().items()
        },
        "share": {
            kind: ngettext(
                "%(num)s home or other premises shares these figures, %(season)s.",
                "%(num)s homes and other premises share these figures, %(season)s.",
                count,
                **_KEPT,
            )
            for kind, count in _kinds().items()
        },
        "sure": _("%(answer)s (%(evidence)s)", **_KEPT),
        "showing": _("%(layer)s, %(season)s", **_KEPT),
        "table": _("Every square, %(season)s", **_KEPT),
        "streets": _("Streets that run through it"),
        "listed": _("Shown with the owner’s agreement"),
    }


def search_words() -> dict[str, object]:
    """Return the words of the search page."""
    return {
        "none": _("Nothing found. Try fewer letters."),
        "found": {
            kind: ngettext("%(num)s found.", "%(num)s found.", count, **_KEPT)
            for kind, count in _kinds().items()
        },
        "more": {
            kind: ngettext(
                "%(num)s found; the first %(most)s are shown.",
                "%(num)s found; the first %(most)s are shown.",
                count,
                **_KEPT,
                most="%(most)s",
            )
            for kind, count in _kinds().items()
        },
    }


def _kinds() -> dict[str, int]:
    """Return a number of each kind that the language tells apart."""
    kind_of = language().locale.plural_form
    return {kind_of(count): count for count in range(_COUNTED_TO, -1, -1)}
