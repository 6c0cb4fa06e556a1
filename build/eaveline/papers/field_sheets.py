"""Sheets to print for an evening outside, each with a twin to type it into.

The twin has the headings that the intake knows, so that once filled in it is saved into
survey_data/ as it is.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from functools import lru_cache
from importlib import resources
from typing import Any, Final

from eaveline.messages import gettext as _
from eaveline.messages import language
from eaveline.papers.officer.typeset import print_pdf
from eaveline.private.intake.forms import form_columns, record_form
from eaveline.private.intake.schema import SIGHTINGS, WATCHES
from eaveline.private.intake.vocabulary import CANONICAL

FOLDER: Final = "field-sheets"
_SEEN_COLUMNS: Final = {
    "time": 2,
    "street": 5,
    "house": 2,
    "species": 3,
    "behaviour": 5,
    "birds": 2,
}
"""Columns of the watch form's table and their widths; the rest is the same for the whole watch."""
_SEEN_LINES: Final = 10
_LIST_COLUMNS: Final = {
    "date": 3,
    "start": 2,
    "end": 2,
    "watchers": 5,
    "weather": 3,
    "most_birds": 2,
}
_STREET_WIDTH: Final = 6
MOST_PRINTED: Final = 1_200
"""Streets; a longer list is no use on paper and slow to print, so its twin has to do."""


def field_sheets(streets: Sequence[str], *, group: str, made_on: dt.date) -> dict[str, bytes]:
    """Return the sheets and their twins, by their names below the private folder.

    Parameters
    ----------
    streets
        Names of the town's streets.
    group
        Whose sheets they are.
    made_on
        The newest record's date, for the files' properties.
    """
    names = sorted(set(streets), key=str.casefold)
    sheets = {"watch-form": _watch_form()}
    if 0 < len(names) <= MOST_PRINTED:
        sheets["street-list"] = _street_list(names)
    twins = {
        "watch-form": record_form(WATCHES),
        "watch-form-seen": record_form(SIGHTINGS),
        "street-list": record_form(WATCHES, [{"streets": name} for name in names]),
    }
    printed = {
        f"{FOLDER}/{name}.pdf": print_pdf(
            _template(), sheet | _everywhere(group), made_on=made_on.isoformat()
        )
        for name, sheet in sheets.items()
    }
    # Marked as UTF-8, so that a spreadsheet program saves them as that.
    return printed | {
        f"{FOLDER}/{name}.csv": text.encode("utf-8-sig") for name, text in twins.items()
    }


def _everywhere(group: str) -> dict[str, Any]:
    locale = language().locale
    return {
        "group": group,
        "page": _("Page"),
        "language": locale.language,
        "region": locale.territory,
    }


def _watch_form() -> dict[str, Any]:
    return {
        "title": _("Watch form"),
        "lede": [
            _("One form for each evening, whatever was seen. An evening without birds counts too."),
        ],
        "fields": [
            {"label": _label(name), "hint": WATCHES.column(name).about}
            for name in form_columns(WATCHES)
            if name != "notes"
        ],
        "tables": [
            {
                "title": _("What was seen"),
                "header": [_label(name) for name in _SEEN_COLUMNS],
                "widths": list(_SEEN_COLUMNS.values()),
                "rows": [[""] * len(_SEEN_COLUMNS)] * _SEEN_LINES,
            }
        ],
        "notes": [
            # The words are those the intake knows, whatever the language around them.
            _("Species: %(words)s.", words=", ".join(CANONICAL["species"])),
            _("Behaviour: %(words)s.", words=", ".join(CANONICAL["behaviour"])),
            _("Watch from the pavement, or with the owner’s leave. Do not go near a nest."),
            _(
                "At home, type the upper part into a copy of watch-form.csv and save it into"
                " survey_data/watches/; type the table into a copy of watch-form-seen.csv and save"
                " it into survey_data/sightings/. Filled in, this form holds names and addresses:"
                " keep it with the group’s papers."
            ),
        ],
    }


def _street_list(streets: Sequence[str]) -> dict[str, Any]:
    return {
        "title": _("Street list"),
        "lede": [
            _(
                "One line for each watch, also where no bird was seen. A street without a watch"
                " stays empty."
            ),
            _(
                "At home, type the lines into a copy of street-list.csv, which has the streets"
                " already, and save it into survey_data/watches/. Lines with a street alone are"
                " passed over."
            ),
        ],
        "fields": [],
        "tables": [
            {
                "title": "",
                "header": [_label("streets"), *map(_label, _LIST_COLUMNS)],
                "widths": [_STREET_WIDTH, *_LIST_COLUMNS.values()],
                "rows": [[name, *[""] * len(_LIST_COLUMNS)] for name in streets],
            }
        ],
        "notes": [],
    }


def _label(column: str) -> str:
    """Return a column's name as a sheet prints it, which the intake knows as well.

    >>> _label("most_birds")
    'Most birds'
    """
    return column.replace("_", " ").capitalize()


@lru_cache(maxsize=1)
def _template() -> bytes:
    return (resources.files("eaveline.papers") / "templates" / "field-sheet.typ").read_bytes()
