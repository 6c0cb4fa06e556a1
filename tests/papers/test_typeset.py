"""How papers fall on their pages."""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

from eaveline.papers.officer.document import Document, heading, paragraph, table
from eaveline.papers.officer.typeset import to_pdf


def pages_of(lines_before: int, rows: int) -> list[str]:
    """Return the text of each page of a paper with a table some way down."""
    paper = Document(
        title="A paper",
        made_on="2026-11-06",
        blocks=(
            *[paragraph("A line of words.") for _ in range(lines_before)],
            heading("Year by year"),
            table("The figures", ("Season", "Nests"), [(str(1900 + n), "7") for n in range(rows)]),
        ),
    )
    return [page.extract_text() for page in PdfReader(io.BytesIO(to_pdf(paper))).pages]


@pytest.mark.parametrize("lines_before", range(22, 40, 3))
def test_a_short_table_stays_on_one_page_with_its_heading(lines_before: int) -> None:
    pages = pages_of(lines_before, rows=10)
    holding = [page for page in pages if "19" in page.replace("A paper", "")]
    assert len(holding) == 1
    assert all(word in holding[0] for word in ("Year by year", "The figures", "1900", "1909"))


def test_a_long_table_repeats_its_heading_on_every_page() -> None:
    pages = pages_of(20, rows=90)
    assert len(pages) >= 3
    assert all("Season" in page for page in pages)
