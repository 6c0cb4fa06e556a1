"""Pictures for links that are passed on."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from pathlib import Path

import pytest
from PIL import Image

from eaveline.public.pages.social_cards import DUSK, card_of, cards, social_cards
from eaveline.public.records import PublicRelease
from eaveline.public.site import SiteJob, build_site, default_theme
from eaveline.public.town import PublicTown

ADDRESS = "https://birds.littlemarsh.example/colony"


@pytest.fixture(scope="module")
def placed(public_town: PublicTown) -> PublicTown:
    """Return the town with an address for its site."""
    return public_town.model_copy(update={"site_url": ADDRESS})


@pytest.fixture(scope="module")
def made(release: PublicRelease, placed: PublicTown) -> Mapping[str, bytes]:
    return social_cards(release, placed)


def picture(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(data)).convert("RGB")


def test_cards_have_the_shape_and_hold_nothing_but_themselves(made: Mapping[str, bytes]) -> None:
    assert set(made) >= {"cards/home.png", "cards/map.png", "cards/streets.png"}
    for data in made.values():
        image = Image.open(io.BytesIO(data))
        assert image.size == (1200, 630)
        # Only what a PNG needs: head, picture, end (PNG, third edition, 5.6).
        chunks, at = set(), 8
        while at < len(data):
            length = int.from_bytes(data[at : at + 4], "big")
            chunks.add(data[at + 4 : at + 8])
            at += 12 + length
        assert chunks == {b"IHDR", b"IDAT", b"IEND"}
        assert len(data) < 60_000


def test_the_same_release_gives_the_same_bytes(
    release: PublicRelease, placed: PublicTown, made: Mapping[str, bytes]
) -> None:
    assert social_cards(release, placed) == made


def test_colours_are_the_themes_own() -> None:
    css = (default_theme() / "static" / "css" / "variables.css").read_text("utf-8")
    light = css.partition("@media")[0]
    for name, colour in DUSK.items():
        assert re.search(rf"--{name}: {colour};", light), name


def test_the_map_shows_squares_and_only_the_map(made: Mapping[str, bytes]) -> None:
    white = (255, 255, 255)

    def whites(name: str) -> int:
        """Count pixels of watched squares with nothing found, on the map's sheet."""
        sheet = picture(made[name]).crop((640, 40, 1160, 500))
        return sum(count for count, colour in sheet.getcolors(100_000) or [] if colour == white)

    # One region of the small town was watched in vain, of one cell: 480 / 7 px wide.
    assert 50**2 < whites("cards/map.png") < 70**2
    assert whites("cards/home.png") == 0


def test_a_release_without_a_map_has_no_sheet(
    release: PublicRelease, placed: PublicTown, made: Mapping[str, bytes]
) -> None:
    bare = release.model_copy(update={"has_map": False})
    assert social_cards(bare, placed)["cards/map.png"] != made["cards/map.png"]


def test_long_words_stay_on_the_card(release: PublicRelease, placed: PublicTown) -> None:
    name = "Stoke-under-Whatsoever-Regis with " + "Ly" * 30
    long = placed.model_copy(update={"name": name[:120], "group": name[:120]})
    sky = (38, 40, 80)
    for path, data in social_cards(release, long).items():
        # Right of the text's margin, above the roofs, there is nothing but sky.
        edge = picture(data).crop((1175, 0, 1200, 480))
        colours = {colour for _, colour in edge.getcolors(10_000) or []}
        assert colours == {sky}, path


def test_each_section_has_its_card(public_town: PublicTown) -> None:
    known = cards(public_town)
    assert card_of("index.html", known).name == "home"
    assert card_of("map/index.html", known).name == "map"
    assert card_of("streets/albert-road/index.html", known).name == "streets"
    assert card_of("about/index.html", known).name == "home"
    assert all(
        card.alt.endswith((".", public_town.name, public_town.group))
        for card in cards(public_town).values()
    )


def _metas(page: str) -> dict[str, str]:
    return dict(
        re.findall(r'<meta (?:property|name)="((?:og|twitter):[^"]+)" content="([^"]*)">', page)
    )


def _built(job: SiteJob) -> Path:
    build_site(job)
    return job.out


def test_pages_name_their_card_by_its_whole_address(
    release_file: Path,
    placed: PublicTown,
    map_folder: Path,
    tmp_path: Path,
    made: Mapping[str, bytes],
) -> None:
    out = _built(
        SiteJob(
            release=release_file,
            town=placed,
            map_folder=map_folder,
            content=tmp_path / "none",
            theme=(default_theme(),),
            out=tmp_path / "site",
        )
    )
    for path, data in made.items():
        assert (out / path).read_bytes() == data
    street = _metas((out / "streets/b-oneill-sohne-b/index.html").read_text("utf-8"))
    assert street["og:image"] == f"{ADDRESS}/cards/streets.png"
    assert street["og:url"] == f"{ADDRESS}/streets/b-oneill-sohne-b/index.html"
    assert street["og:image:alt"].startswith("Street by street")
    assert street["twitter:card"] == "summary_large_image"
    # The street's name is text here as everywhere, and escaped once.
    assert street["og:title"].startswith("&lt;b&gt;O&#39;Neill &amp; Söhne&lt;/b&gt;")
    for page in out.rglob("*.html"):
        found = _metas(page.read_text("utf-8"))
        assert found["og:title"], page.name
        assert found["og:description"], page.name
        assert (out / found["og:image"].removeprefix(f"{ADDRESS}/")).is_file()


def test_without_an_address_there_is_no_picture(
    release_file: Path, public_town: PublicTown, map_folder: Path, tmp_path: Path
) -> None:
    out = _built(
        SiteJob(
            release=release_file,
            town=public_town,
            map_folder=map_folder,
            content=tmp_path / "none",
            theme=(default_theme(),),
            out=tmp_path / "site",
        )
    )
    found = _metas((out / "index.html").read_text("utf-8"))
    assert "og:image" not in found
    assert found["twitter:card"] == "summary"
    assert not (out / "cards").exists()
