"""What a page says of a square or a street, before a template sees it."""

from __future__ import annotations

from pathlib import Path

from eaveline.public.maps.basemap import load_basemap
from eaveline.public.pages.site_views import last_confirmed, letters, square_views, street_views
from eaveline.public.records import EvidenceClass, PublicRelease, Species


def test_squares_tell_three_answers_apart(release: PublicRelease) -> None:
    squares = square_views(release)
    # Swift nests, house martin nests, parties, boxes, watching: see the fixture.
    assert [answer.kind for answer in squares["R001"].overall] == [
        "some",
        "unknown",
        "some",
        "none",
        "some",
    ]
    assert [answer.kind for answer in squares["R003"].overall] == [
        "none",
        "none",
        "none",
        "none",
        "some",
    ]
    assert [answer.short for answer in squares["R002"].overall] == [
        "at least 1",
        "not watched enough",
        "at least 3",
        "3 to 5",
        "6 to 15",
    ]
    assert squares["R008"].nothing_known
    assert not squares["R003"].nothing_known  # it was watched


def test_seasons_stand_newest_first(release: PublicRelease) -> None:
    assert [season for season, _ in square_views(release)["R001"].seasons] == [
        "2026",
        "2025",
        "2024",
    ]


def test_seasons_in_which_nobody_looked_and_nothing_was_found_are_left_out(
    release: PublicRelease,
) -> None:
    squares = square_views(release)
    # Square 3 was watched in 2026 alone; square 4 had martins in 2025 and 2026.
    assert [season for season, _ in squares["R003"].seasons] == ["2026"]
    assert [season for season, _ in squares["R004"].seasons] == ["2026", "2025"]
    assert squares["R008"].seasons == ()


def test_streets_count_squares_and_never_nests(release: PublicRelease, map_folder: Path) -> None:
    basemap = load_basemap(map_folder, crs=release.crs)
    streets = {
        street.slug: street for street in street_views(release, basemap, square_views(release))
    }
    albert = streets["albert-road"]
    assert (albert.regions, albert.found, albert.looked, albert.unknown) == (
        ("R001", "R002", "R003"),
        2,
        1,
        0,
    )
    assert streets["sea-bank"].regions == ()
    assert streets["far-common-lane"].nothing_known
    assert {name: street.kind for name, street in streets.items() if street.kind != "unknown"} == {
        "albert-road": "some",
        "b-oneill-sohne-b": "some",
        "mill-lane": "some",
    }


def test_index_goes_by_letters_as_a_reader_would(release: PublicRelease, map_folder: Path) -> None:
    basemap = load_basemap(map_folder, crs=release.crs)
    streets = street_views(release, basemap, square_views(release))
    index = [(letter, [street.name for street in group]) for letter, group in letters(streets)]
    assert index == [
        ("A", ["Albert Road"]),
        ("B", ["<b>O'Neill & Söhne</b>"]),  # signs are passed over
        ("F", ["Far Common Lane"]),
        ("M", ["Market Place", "Mill Lane"]),
        ("S", ["Sea Bank", "Swan Street"]),
    ]


def test_the_last_confirmation_is_the_newest_season_with_one(release: PublicRelease) -> None:
    """With 2026 no more than probable in square 1, the confirmation of 2025 is the last."""
    layers = release.layers.nest_sites
    changed = layers[Species.SWIFT]["2026"]["R001"].model_copy(
        update={"surest": EvidenceClass.PROBABLE}
    )
    swifts = layers[Species.SWIFT] | {"2026": layers[Species.SWIFT]["2026"] | {"R001": changed}}
    less = release.model_copy(
        update={
            "layers": release.layers.model_copy(
                update={"nest_sites": layers | {Species.SWIFT: swifts}}
            )
        }
    )
    assert last_confirmed(release)["R001"] == {Species.SWIFT: "2026"}
    assert last_confirmed(less)["R001"] == {Species.SWIFT: "2025"}
