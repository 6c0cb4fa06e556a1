"""The streets the group would like to hear from follow from the squares alone."""

from __future__ import annotations

from eaveline.public.pages.offer_streets import offer_streets
from eaveline.public.records import PublicRelease, Species, State


def test_streets_follow_their_squares(release: PublicRelease) -> None:
    """Read off the figures in conftest.py: swifts or parties in R001, R002 and R006."""
    found = offer_streets(release)
    assert found.boxes == ("albert-road", "b-oneill-sohne-b", "mill-lane")
    # R004 and R007 were never watched for swifts; R008 neither.
    assert found.watch == ("far-common-lane", "market-place", "swan-street")


def test_a_street_whose_squares_were_all_watched_in_vain_is_on_neither_list(
    release: PublicRelease,
) -> None:
    figures = release.layers.nest_sites[Species.SWIFT]
    assert figures["2026"]["R003"].state is State.LOOKED
    regions = tuple(
        region.model_copy(update={"streets": ("quiet-row",)}) if region.id == "R003" else region
        for region in release.regions
    )
    found = offer_streets(release.model_copy(update={"regions": regions}))
    assert "quiet-row" not in (*found.boxes, *found.watch)
