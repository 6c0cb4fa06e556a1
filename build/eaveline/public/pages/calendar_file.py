"""The watch evenings as a calendar file (iCalendar, RFC 5545)."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterable
from typing import TYPE_CHECKING

from eaveline.messages import gettext as _
from eaveline.messages import language
from eaveline.public.pages.evenings import Evening
from eaveline.public.words.wording import clock

if TYPE_CHECKING:
    from eaveline.public.town import PublicTown

CALENDAR_PATH = "helping/watch-evenings.ics"
_LONGEST_LINE = 75
"""Octets, without the line end (RFC 5545, 3.1)."""


def calendar_file(evenings: Iterable[Evening], *, town: PublicTown, made_on: dt.date) -> bytes:
    """Return a calendar of the evenings.

    Parameters
    ----------
    evenings
        One event each.
    town
        Named in every event; with its site's address, ids stay the same from release to release.
    made_on
        The date of the newest record, for the time stamp.
    """
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:-//{_text(town.group)}//Watch evenings//{language().locale.language.upper()}",
        "METHOD:PUBLISH",
        "X-WR-CALNAME:" + _text(_("Swift watches in %(town)s", town=town.name)),
    ]
    stamp = made_on.strftime("%Y%m%dT000000Z")
    for evening in evenings:
        name = f"{town.site_url or town.name}/{evening.begin.date().isoformat()}"
        lines += [
            "BEGIN:VEVENT",
            f"UID:{uuid.uuid5(uuid.NAMESPACE_URL, name)}",
            f"DTSTAMP:{stamp}",
            f"DTSTART:{_utc(evening.begin)}",
            f"DTEND:{_utc(evening.end)}",
            "SUMMARY:" + _text(_("Watch for swifts in %(town)s", town=town.name)),
            "DESCRIPTION:"
            + _text(
                _(
                    "Sunset is at %(time)s. Choose a street, look at roofs and eaves, and tell "
                    "%(email)s what you saw, even if it was nothing.",
                    time=clock(evening.sunset),
                    email=town.email,
                )
            ),
            "END:VEVENT",
        ]
    return "".join(f"{_folded(line)}\r\n" for line in [*lines, "END:VCALENDAR"]).encode()


def _utc(time: dt.datetime) -> str:
    return time.astimezone(dt.UTC).strftime("%Y%m%dT%H%M%SZ")


def _text(value: str) -> str:
    r"""Return a value as iCalendar text.

    >>> print(_text("Poole, Tarn; others"))
    Poole\, Tarn\; others
    """
    for sign in ("\\", ";", ","):
        value = value.replace(sign, f"\\{sign}")
    return value.replace("\n", "\\n")


def _folded(line: str) -> str:
    """Return a line broken where it would be too long; never inside a letter."""
    parts, size = [""], 0
    for letter in line:
        octets = len(letter.encode())
        if size + octets > _LONGEST_LINE:
            parts.append("")
            size = 1  # the space that marks a continued line
        parts[-1] += letter
        size += octets
    return "\r\n ".join(parts)
