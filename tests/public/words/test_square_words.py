"""A square in plain sentences: what was found, how long it was watched, what is not known."""

from __future__ import annotations

from eaveline.public.pages.site_views import last_confirmed
from eaveline.public.records import PublicRelease, Species
from eaveline.public.words.square_words import Kind, homes, nothing_yet, square_sentences


def told(release: PublicRelease, region: str) -> list[str]:
    """Return a region's sentences; the figures behind them stand in the fixture."""
    found = square_sentences(release, confirmed=last_confirmed(release))
    return [sentence.words for sentence in found[region]]


def test_what_was_found_comes_first(release: PublicRelease) -> None:
    assert told(release, "R001") == [
        "At least 3 swift nest sites; a nest was last confirmed in 2026.",
        "At least 6 screaming parties.",
        "Watched for 6 to 15 hours.",
        "Not watched enough to say whether house martins nest here.",
    ]
    assert told(release, "R002") == [
        "At least 1 swift nest site, none confirmed yet: probable at best.",
        "At least 3 screaming parties.",
        "3 to 5 nest boxes.",
        "Watched for 6 to 15 hours.",
        "Not watched enough to say whether house martins nest here.",
    ]
    assert told(release, "R004") == [
        "At least 6 house martin nest sites; a nest was last confirmed in 2026.",
        "Not watched enough to say whether swifts nest here.",
    ]


def test_looked_in_vain_and_not_looked_are_told_apart(release: PublicRelease) -> None:
    assert told(release, "R003") == [
        "Watched for 2 to 5 hours.",
        "No nest of swifts or house martins found by watching.",
        "No screaming party seen on watches.",
    ]
    assert told(release, "R008") == [
        "Not watched enough to say whether swifts or house martins nest here.",
    ]


def test_only_nests_are_marked_as_one_of_the_three_answers(release: PublicRelease) -> None:
    found = square_sentences(release, confirmed=last_confirmed(release))
    kinds = [sentence.kind for sentence in found["R002"]]
    assert kinds == [Kind.SOME, Kind.OTHER, Kind.OTHER, Kind.OTHER, Kind.UNKNOWN]
    assert {sentence.kind for sentence in found["R003"]} == {Kind.OTHER, Kind.NONE}


def test_a_confirmation_is_told_only_where_a_season_has_one(release: PublicRelease) -> None:
    bare = square_sentences(release, confirmed={})["R001"][0].words
    assert bare == "At least 3 swift nest sites."
    old = square_sentences(release, confirmed={"R001": {Species.SWIFT: "2019"}})["R001"][0].words
    assert old.endswith("last confirmed in 2019.")


def test_homes_and_squares_are_counted(release: PublicRelease) -> None:
    regions = {region.id: region for region in release.regions}
    assert homes(regions["R001"]) == "14 homes and other premises"
    assert homes(regions["R008"]) == "3 squares together: 10 homes and other premises"


def test_squares_without_anything_share_one_line() -> None:
    assert nothing_yet(["R008"]) == (
        "Nothing is known yet of square 8: too little watching, and no reports."
    )
    assert nothing_yet(["R007", "R008"]) == (
        "Nothing is known yet of squares 7 and 8: too little watching, and no reports."
    )
