"""Prints a paper as a tagged PDF or as a page of HTML, the same words in both."""

from __future__ import annotations

import datetime as dt
import json
from functools import lru_cache
from importlib import resources
from typing import Final

import typst
from jinja2 import Environment, PackageLoader, StrictUndefined, Template

from eaveline.papers.officer.document import Document

PDF_STANDARD: Final = "ua-1"
"""PDF/UA-1 (ISO 14289-1): tagged, titled, with a language and descriptions of figures."""


def to_pdf(document: Document) -> bytes:
    """Return a paper as PDF/UA with its fonts inside; the same paper gives the same bytes.

    Only the fonts that come with typst are used, so it looks the same on every machine.
    """
    midnight = dt.datetime.combine(
        dt.date.fromisoformat(document.made_on), dt.time(), tzinfo=dt.UTC
    )
    made = _compiler().compile(
        _source(),
        format="pdf",
        sys_inputs={"paper": json.dumps(document.plain(), sort_keys=True)},
        pdf_standards=PDF_STANDARD,
        timestamp=midnight,
    )
    if not isinstance(made, bytes):
        msg = "a PDF is one file"
        raise TypeError(msg)
    return made


def to_html(document: Document) -> bytes:
    """Return a paper as a page that needs no other file."""
    return _template().render(paper=document.plain()).encode()


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
