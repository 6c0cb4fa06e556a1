"""Places whose owners agreed to be shown, in few lines."""

from __future__ import annotations

from eaveline.public.records import Cell, OpenSite, PublicRelease
from eaveline.public.words.listed_words import listed_lines


def test_named_places_have_a_line_each_and_others_one_for_each_kind(
    release: PublicRelease,
) -> None:
    more = (
        # In square 4, in the group of squares 6 (cells 6501 and 6502, row 3301), in square 1.
        OpenSite(what="swift nest", cell=Cell(6503, 3300), since="2024"),
        OpenSite(what="swift nest", cell=Cell(6502, 3301), since="2025"),
        OpenSite(what="house martin box", cell=Cell(6500, 3300), since="2023"),
    )
    told = release.model_copy(update={"open_sites": (*more, *release.open_sites)})
    assert listed_lines(told) == (
        "Littlemarsh Library: swift box, since 2025",
        (
            "Swift nests in square 4 (since 2024), square 5 (since 2026) and group of squares 6 "
            "(since 2025)"
        ),
        "House martin boxes in square 1 (since 2023)",
    )
    assert listed_lines(told) == listed_lines(
        told.model_copy(update={"open_sites": told.open_sites[::-1]})
    )
