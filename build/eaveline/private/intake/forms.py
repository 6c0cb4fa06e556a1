"""Empty forms of records: the headings that a kind of record has, as CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping

from eaveline.private.intake.schema import PLACE_COLUMNS, RecordKind

_USUAL_PLACE = ("grid_ref", "street", "house")
"""A form with all seven ways to name a place would frighten people; the rest still work."""


def form_columns(kind: RecordKind) -> tuple[str, ...]:
    """Return the headings of a form, in order."""
    return tuple(name for name in kind.names if name not in PLACE_COLUMNS or name in _USUAL_PLACE)


def record_form(kind: RecordKind, lines: Iterable[Mapping[str, str]] = ()) -> str:
    """Return a form as CSV.

    Parameters
    ----------
    kind
        The kind of record.
    lines
        What is printed on each line beforehand, by column; no lines by default.

    Examples
    --------
    >>> from eaveline.private.intake.schema import KINDS
    >>> record_form(KINDS["decisions"]).strip()
    'first,second,decision,decided_by,why'
    """
    text = io.StringIO()
    writer = csv.DictWriter(text, form_columns(kind))
    writer.writeheader()
    writer.writerows(lines)
    return text.getvalue()
