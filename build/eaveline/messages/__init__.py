"""Wording, dates and numbers in the language of the town's pages and papers.

Import what is needed from here: ``from eaveline.messages import gettext as _, ngettext``.
"""

from eaveline.messages.files import SHIPPED, load_language
from eaveline.messages.language import (
    ENGLISH,
    Language,
    clock,
    day,
    gettext,
    language,
    month_name,
    ngettext,
    number,
    percent,
    pgettext,
    speaking,
    together,
    weekday_name,
)
from eaveline.messages.templates import MessagesExtension, equip

__all__ = [
    "ENGLISH",
    "SHIPPED",
    "Language",
    "MessagesExtension",
    "clock",
    "day",
    "equip",
    "gettext",
    "language",
    "load_language",
    "month_name",
    "ngettext",
    "number",
    "percent",
    "pgettext",
    "speaking",
    "together",
    "weekday_name",
]
