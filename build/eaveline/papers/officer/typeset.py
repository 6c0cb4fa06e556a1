"""Prints a paper as a tagged PDF or as a page of HTML, the same words in both."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Mapping
from functools import lru_cache
from importlib import resources
from importlib.metadata import version
from typing import Final

import typst
from jinja2 import Environment, PackageLoader, StrictUndefined, Template

from eaveline.messages import gettext as _
from eaveline.messages import language
from eaveline.papers.officer.document import Document

PDF_STANDARD: Final = "ua-1"
"""PDF/UA-1 (ISO 14289-1): tagged, titled, with a language and descriptions of figures."""


def to_pdf(document: Document) -> bytes:
    """Return a paper as PDF/UA with its fonts inside; the same paper gives the same bytes.

    Only the fonts that come with typst are used, so it looks the same on every machine.
    """
    return print_pdf(_source(), _with_words(document), made_on=document.made_on)


def printing_digest(document: Document) -> str:
    """Return a digest of all that decides the bytes of `to_pdf`.

    These are the words, the template, the date, the kind of PDF and the version of the printer,
    which brings its fonts.
    """
    words = json.dumps(_with_words(document), sort_keys=True).encode()
    parts = [version("typst").encode(), PDF_STANDARD.encode(), _source(), words]
    return hashlib.sha256(b"\0".join(hashlib.sha256(part).digest() for part in parts)).hexdigest()


def print_pdf(template: bytes, paper: Mapping[str, object], *, made_on: str) -> bytes:
    """Return what a typst template makes of plain data, as PDF/UA.

    Parameters
    ----------
    template
        Reads the data as JSON from ``sys.inputs.paper``.
    paper
        Texts, numbers and lists of them.
    made_on
        ISO date, which stands in the file's properties.
    """
    midnight = dt.datetime.combine(dt.date.fromisoformat(made_on), dt.time(), tzinfo=dt.UTC)
    made = _compiler().compile(
        template,
        format="pdf",
        sys_inputs={"paper": json.dumps(paper, sort_keys=True)},
        pdf_standards=PDF_STANDARD,
        timestamp=midnight,
    )
    if not isinstance(made, bytes):
        msg = "a PDF is one file"
        raise TypeError(msg)
    return made


def to_html(document: Document) -> bytes:
    """Return a paper as a page that needs no other file."""
    return _template().render(paper=_with_words(document)).encode()


def _with_words(document: Document) -> dict[str, object]:
    """Return a paper as plain data, with its language and the words that stand in every paper."""
    locale = language().locale
    return document.plain() | {
        "html_language": language().html,
        "language": locale.language,
        "region": locale.territory,
        # The printer fills in the braces, which only it can count.
        "page": _("Page %(page)s of %(pages)s", page="{page}", pages="{pages}"),
        "checked_by": _("Checked by (name):"),
        "signed": _("Signed:"),
        "date": _("Date:"),
    }


@lru_cache(maxsize=1)
def _compiler() -> typst.Compiler:
    return typst.Compiler(ignore_system_fonts=True)


@lru_cache(maxsize=1)
def _source() -> bytes:
    return (resources.files("eaveline.papers.officer") / "templates" / "paper.typ").read_bytes()


@lru_cache(maxsize=1)
def _template() -> Template:
    environment = Environment(
        loader=PackageLoader("eaveline.papers.officer"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template("paper.html")
