"""Legends explain every shade a layer can have, or those that one still map shows."""

from __future__ import annotations

from eaveline.public.maps.layers import NONE, NOT_LOOKED, MapLayer
from eaveline.public.maps.legends import MapKey, full_legend, short_legend
from eaveline.public.records import PublicRelease


def test_the_legend_explains_all_three_answers_where_there_are_three(
    release: PublicRelease,
) -> None:
    words = [entry.words for entry in full_legend(release, MapLayer.SWIFT_NESTS)]
    assert words == [
        "Not watched enough to say",
        "Watched, no swift nest site found",
        "At least 1 swift nest site",
        "At least 3 swift nest sites",
        "At least 6 swift nest sites",
        "At least 11 swift nest sites",
    ]
    assert full_legend(release, MapLayer.BOXES)[0].words == "No nest box known"


def test_a_still_maps_legend_explains_what_is_drawn_and_no_more(release: PublicRelease) -> None:
    key = MapKey(frozenset({NOT_LOOKED, NONE, 2}), listed=False)
    assert [entry.words for entry in short_legend(release, MapLayer.SWIFT_NESTS, key)] == [
        "Not watched enough to say",
        "Watched, no swift nest site found",
        "At least 3 swift nest sites",
    ]
    marked = short_legend(release, MapLayer.SWIFT_NESTS, MapKey(frozenset(), listed=True))
    assert [entry.words for entry in marked] == [
        "A place whose owner agreed to be shown, somewhere in its square"
    ]
