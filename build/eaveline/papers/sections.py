"""One part of a private page: what it says, its chart, its table and the table's file."""

from __future__ import annotations

from dataclasses import dataclass, field

import pandas as pd
from markupsafe import Markup

from eaveline.terms import column


@dataclass(frozen=True, repr=False)
class Section:
    """A part of a page.

    Attributes
    ----------
    heading
        Its heading.
    words
        Paragraphs, most important first.
    table
        What they rest on; shown below the chart. None where there is nothing to show.
    file
        The table's file name in private/figures/.
    charts
        Drawings of the table.
    """

    heading: str
    words: tuple[str, ...]
    table: pd.DataFrame | None = None
    file: str = ""
    charts: tuple[Markup, ...] = field(default=())

    def __repr__(self) -> str:
        """Show the heading only: the rest is private."""
        return f"<Section: {self.heading}>"

    @property
    def columns(self) -> list[str]:
        """The table's headings in plain words."""
        names = [] if self.table is None else list(self.table.columns)
        return [column(str(name)) for name in names]
