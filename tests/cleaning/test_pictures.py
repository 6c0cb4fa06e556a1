"""A cleaned picture has the pixels and nothing else; checked with Pillow and in the raw bytes."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image, PngImagePlugin

from eaveline.cleaning.pictures import clean_picture
from eaveline.cleaning.refusal import CannotCleanError

ADDRESS = "21 Albert Road"


def pixels() -> Image.Image:
    """Return a picture whose corners differ, so that a turn shows."""
    picture = Image.new("RGB", (40, 24), "white")
    picture.paste((200, 30, 30), (0, 0, 20, 12))
    return picture


def telephone_jpeg(*, orientation: int = 1) -> bytes:
    """Return a JPEG with EXIF, the place, XMP, a comment and a smaller picture at its end."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010E] = ADDRESS  # ImageDescription
    exif.get_ifd(0x8825)[2] = (52.0, 37.0, 12.5)  # GPSLatitude
    out = io.BytesIO()
    pixels().save(
        out,
        "JPEG",
        quality=95,
        exif=exif,
        comment=ADDRESS.encode(),
        xmp=f"<x>{ADDRESS}</x>".encode(),
    )
    return out.getvalue() + telephone_tail()


def telephone_tail() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (8, 8)).save(out, "JPEG")
    return out.getvalue()


def test_a_telephones_picture_keeps_only_its_pixels() -> None:
    before = telephone_jpeg()
    after = clean_picture(before)
    assert ADDRESS.encode() in before
    assert ADDRESS.encode() not in after
    assert after.count(b"\xff\xd8\xff") == 1
    assert b"Exif" not in after
    with Image.open(io.BytesIO(before)) as old, Image.open(io.BytesIO(after)) as new:
        assert dict(new.getexif()) == {}
        assert not {"exif", "xmp", "comment", "icc_profile"} & set(new.info)
        away = np.asarray(old, dtype=int) - np.asarray(new, dtype=int)
        assert np.abs(away).mean() < 1


def test_a_picture_taken_sideways_is_turned_since_the_note_of_it_goes() -> None:
    with Image.open(io.BytesIO(clean_picture(telephone_jpeg(orientation=6)))) as new:
        assert new.size == (24, 40)
        red, green, _ = np.asarray(new)[2, 22]  # the upper left corner, a quarter to the right
        assert (red > 150, green < 90) == (True, True)


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "GIF"])
def test_other_kinds_lose_their_notes_too(kind: str) -> None:
    exif = Image.Exif()
    exif[0x010E] = ADDRESS
    notes = PngImagePlugin.PngInfo()
    notes.add_text("Comment", ADDRESS)
    notes.add_itxt("XML:com.adobe.xmp", ADDRESS)
    options: dict[str, object] = {
        "PNG": {"pnginfo": notes, "exif": exif},
        "WEBP": {"exif": exif, "xmp": ADDRESS.encode(), "lossless": True},
        "GIF": {"comment": ADDRESS.encode()},
    }[kind]  # type: ignore[assignment]  # each kind has options of its own
    out = io.BytesIO()
    pixels().save(out, kind, **options)
    before = out.getvalue() + ADDRESS.encode()
    assert before.count(ADDRESS.encode()) >= 2
    after = clean_picture(before)
    assert ADDRESS.encode() not in after
    with Image.open(io.BytesIO(after)) as new:
        assert new.format == kind
        assert new.size == (40, 24)


def test_the_same_picture_gives_the_same_bytes_and_cleaning_twice_changes_nothing_hidden() -> None:
    data = telephone_jpeg()
    once = clean_picture(data)
    clean_picture.cache_clear()
    assert clean_picture(data) == once
    assert ADDRESS.encode() not in clean_picture(once)


def test_a_transparent_drawing_stays_transparent() -> None:
    out = io.BytesIO()
    Image.new("RGBA", (10, 10), (0, 0, 0, 0)).save(out, "PNG")
    with Image.open(io.BytesIO(clean_picture(out.getvalue()))) as new:
        assert new.getpixel((3, 3)) == (0, 0, 0, 0)


def test_what_cannot_be_read_or_moves_is_refused() -> None:
    for data in (b"", b"not a picture", telephone_jpeg()[:300]):
        with pytest.raises(CannotCleanError) as refused:
            clean_picture(data)
        assert refused.value.code == "picture-unreadable"
    out = io.BytesIO()
    pixels().save(out, "GIF", save_all=True, append_images=[Image.new("RGB", (40, 24), "black")])
    with pytest.raises(CannotCleanError) as refused:
        clean_picture(out.getvalue())
    assert refused.value.code == "picture-moving"
