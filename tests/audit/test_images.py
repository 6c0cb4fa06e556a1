"""Hidden data in pictures of every kind."""

from __future__ import annotations

import io

import pytest
from PIL import Image, ImageCms, PngImagePlugin

from eaveline.audit.fragments import Fault, Fragment, Photograph
from eaveline.audit.images import image_pieces, is_image

KINDS = ("PNG", "JPEG", "GIF", "WEBP", "BMP", "TIFF")


def _picture(kind: str = "JPEG", size: int = 64, **options: object) -> bytes:
    buffer = io.BytesIO()
    Image.new("RGB", (size, size), "navy").save(buffer, kind, **options)
    return buffer.getvalue()


def _faults(data: bytes) -> list[str]:
    return [piece.rule for piece in image_pieces(data, "") if isinstance(piece, Fault)]


def _text(data: bytes) -> str:
    return "\n".join(piece.text for piece in image_pieces(data, "") if isinstance(piece, Fragment))


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "GIF", "WEBP", "BMP"])
def test_a_clean_picture_is_only_a_photograph(kind: str) -> None:
    data = _picture(kind)
    assert is_image(data)
    assert _faults(data) == []
    assert any(isinstance(piece, Photograph) for piece in image_pieces(data, ""))


def test_an_icon_is_no_photograph() -> None:
    data = _picture("PNG", 32)
    assert not any(isinstance(piece, Photograph) for piece in image_pieces(data, ""))


def test_colour_profile_and_resolution_tell_nothing() -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    assert _faults(_picture("JPEG", icc_profile=profile, dpi=(72, 72))) == []
    assert _faults(_picture("PNG", icc_profile=profile, dpi=(72, 72))) == []


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_exif_is_hidden_data(kind: str) -> None:
    exif = Image.Exif()
    exif[0x013B] = "Marguerite Threlkeld"
    data = _picture(kind, exif=exif)
    assert _faults(data) == ["image-metadata"]
    assert "Marguerite Threlkeld" in _text(data)


def test_a_place_in_exif_is_told_in_degrees() -> None:
    exif = Image.Exif()
    gps = exif.get_ifd(0x8825)
    gps[1], gps[2], gps[3], gps[4] = "N", (52.0, 48.0, 36.0), "E", (1.0, 42.0, 36.0)
    # 48' 36" is 0.81 degrees, 42' 36" is 0.71.
    assert "52.810000 1.710000" in _text(_picture("JPEG", exif=exif))


@pytest.mark.parametrize("kind", ["JPEG", "WEBP", "PNG"])
def test_xmp_is_hidden_data(kind: str) -> None:
    if kind == "PNG":
        info = PngImagePlugin.PngInfo()
        info.add_itxt("XML:com.adobe.xmp", "<x:xmpmeta>Threlkeld</x:xmpmeta>")
        data = _picture("PNG", pnginfo=info)
    else:
        data = _picture(kind, xmp=b"<x:xmpmeta>Threlkeld</x:xmpmeta>")
    assert _faults(data) == ["image-metadata"]
    assert "Threlkeld" in _text(data)


def test_iptc_is_hidden_data() -> None:
    plain = _picture("JPEG")
    body = b"Photoshop 3.0\x008BIM\x04\x04\x00\x00\x00\x00\x00\x0e\x1c\x02\x50\x00\x09Threlkeld"
    segment = b"\xff\xed" + (len(body) + 2).to_bytes(2, "big") + body
    data = plain[:2] + segment + plain[2:]
    assert _faults(data) == ["image-metadata"]
    assert "Threlkeld" in _text(data)


@pytest.mark.parametrize("kind", ["JPEG", "GIF"])
def test_a_comment_is_hidden_data(kind: str) -> None:
    data = _picture(kind, comment=b"by Threlkeld")
    assert _faults(data) == ["image-metadata"]
    assert "by Threlkeld" in _text(data)


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "GIF", "WEBP"])
def test_bytes_after_the_picture_are_hidden_data(kind: str) -> None:
    data = _picture(kind) + b"PK\x03\x04 note by Marguerite Threlkeld"
    assert _faults(data) == ["image-metadata"]
    assert "Marguerite Threlkeld" in _text(data)


def test_a_broken_picture_is_refused() -> None:
    assert _faults(_picture("PNG")[:60]) == ["unreadable-file"]


def test_a_text_is_no_picture() -> None:
    assert not is_image(b"swifts over the roofs")
