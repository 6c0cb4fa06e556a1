"""Tables as CSV that any spreadsheet opens, and as rows of text for a page."""

from __future__ import annotations

import csv
import io

import numpy as np
import pandas as pd
from babel.numbers import get_decimal_symbol

from eaveline.messages import language
from eaveline.terms import term


def cell_text(value: object) -> str:
    """Return a cell as text: dates as year-month-day, whole numbers without a point, blanks empty.

    Examples
    --------
    >>> [cell_text(value) for value in (3.0, 0.25, float("nan"), True, "N")]
    ['3', '0.25', '', 'yes', 'N']
    """
    if isinstance(value, (bool, np.bool_)):
        return "yes" if value else "no"
    if isinstance(value, pd.Timestamp):
        return value.date().isoformat()
    if value is None or value is pd.NaT or (isinstance(value, float) and np.isnan(value)):
        return ""
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return f"{value:g}" if isinstance(value, float) and abs(value) < 1 else str(value)


def text_rows(table: pd.DataFrame) -> list[list[str]]:
    """Return a table's rows as text."""
    columns = [table[name].tolist() for name in table.columns]
    return [[cell_text(value) for value in row] for row in zip(*columns, strict=True)]


def page_rows(table: pd.DataFrame) -> list[list[str]]:
    """Return a table's rows as text in the language of the page."""
    return [
        [_page_text(value, text) for value, text in zip(values, texts, strict=True)]
        for values, texts in zip(
            table.itertuples(index=False, name=None), text_rows(table), strict=True
        )
    ]


def _page_text(value: object, text: str) -> str:
    if isinstance(value, float):
        return text.replace(".", get_decimal_symbol(language().locale))
    return term(text)


def to_csv(table: pd.DataFrame) -> bytes:
    """Return a table as CSV, with the mark that lets spreadsheets read names right."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(table.columns)
    writer.writerows(text_rows(table))
    return text.getvalue().encode("utf-8-sig")
