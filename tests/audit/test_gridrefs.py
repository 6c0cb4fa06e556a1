"""Grid references, however they are spaced."""

from __future__ import annotations

import pytest

from eaveline.audit.gridrefs import british_letters, grid_letters, gridref_hits
from eaveline.audit.places import Places, places_of
from leaks import town_secrets


@pytest.mark.parametrize(
    ("column", "row", "letters"),
    # Ordnance Survey, A guide to coordinate systems in Great Britain, figure of the grid letters.
    [(0, 0, "SV"), (1, 0, "SW"), (5, 1, "TQ"), (6, 3, "TG"), (2, 7, "NN"), (4, 12, "HP")],
)
def test_squares_have_the_letters_of_the_ordnance_survey(
    column: int, row: int, letters: str
) -> None:
    assert british_letters(column, row) == letters


def _values(text: str, places: Places) -> list[str]:
    return [hit.value for hit in gridref_hits(text, places, grid_letters(places))]


@pytest.mark.parametrize(
    "text",
    [
        "TG 5011 3023",
        "TG50113023",
        "tg50113023",
        "t g 5 0 1 1 3 0 2 3",
        "TG 50 11 30 23",
        "TG 501 1 302 3",
        "T.G. 5011.3023",
        "TG-5011-3023",
        "TG/5011/3023",
        "TG: 5011, 3023",
        "TG_5011_3023",
        "nest-at-tg50113023.jpg",
        "(TG5011 3023)",
        "TG\n5011\n3023",
    ],
)
def test_eight_figures_are_found_however_spaced(places: Places, text: str) -> None:
    assert _values(text, places) == ["square TG50113023"]


def test_ten_figures_are_found(places: Places) -> None:
    assert _values("TG 50112 30237", places) == ["square TG5011230237"]


@pytest.mark.parametrize(
    "text",
    [
        "TG 50 30",
        "TG 501 302",
        "TG501302",
        "TG 50 30, 2026",
        "TG 50 30, 21:40",
        "TG 50 30; 03/06/2026",
        "TG 8011 3023",  # not this town
        "SU 5011 3023",
        "xtg50113023",
        "atg 50113023",
        "TG50113023ab4",
    ],
)
def test_references_no_finer_than_a_cell_pass(places: Places, text: str) -> None:
    assert _values(text, places) == []


def test_the_register_s_square_cannot_be_allowed_and_a_public_place_can(places: Places) -> None:
    letters = grid_letters(places)
    (nest,) = gridref_hits("TG 5011 3023", places, letters)
    (car_park,) = gridref_hits("TG 5121 3165", places, letters)
    assert not nest.allowable
    assert car_park.allowable


def test_an_eight_figure_reference_is_a_finding_even_on_a_cell_s_corner(places: Places) -> None:
    assert _values("TG 5010 3020", places) == ["square TG50103020"]


def test_larger_cells_make_six_figures_too_fine() -> None:
    places = places_of(town_secrets(cell_size_m=500.0))
    assert _values("TG 501 302", places) == ["square TG501302"]
    assert _values("TG 50 30", places) == []


def test_irish_references_have_one_letter() -> None:
    # Irish Grid J: eastings from 300000, northings from 300000 (Ordnance Survey Ireland).
    places = places_of(
        town_secrets(bounds_m=(331_000.0, 372_000.0, 336_000.0, 376_000.0), crs="EPSG:29903")
    )
    assert _values("J 3345 7432", places) == ["square J33457432"]
    assert _values("j33457432", places) == ["square J33457432"]
    assert _values("J 334 743", places) == []
    assert _values("B 3345 7432", places) == []
