"""Reads what a picture file holds beside the picture."""

from __future__ import annotations

import hashlib
import io
import re
import struct
import warnings
from collections.abc import Iterator

from PIL import Image, JpegImagePlugin, PngImagePlugin, UnidentifiedImageError

from eaveline.audit.fragments import Fault, Fragment, Kind, Photograph, Piece
from eaveline.audit.text import word_set

METADATA_RULE = "image-metadata"
TINY_PIXELS = 48
"""A picture no larger either way is an icon: no house can be told on it (own choice)."""

# What a decoder needs or what tells nothing about a place, person or time.
_HARMLESS = word_set(
    "dpi jfif jfif_version jfif_unit jfif_density gamma srgb chromaticity icc_profile transparency"
    " loop duration background version aspect interlace progressive progression adobe"
    " adobe_transform default_image blend disposal bits compression resolution sizes extension"
    " timestamp bbox"
)
_HARMLESS_SEGMENTS = frozenset(("APP0", "APP14"))
_ICC_SEGMENT = b"ICC_PROFILE\x00"
_RUN = re.compile(rb"(?:[\x20-\x7e]|[\xc2-\xf4][\x80-\xbf]{1,3}){16,}")


def is_image(data: bytes) -> bool:
    """Return whether `data` begins as a picture file that Pillow reads."""
    return (
        data.startswith(
            (
                b"\x89PNG\r\n\x1a\n",
                b"\xff\xd8\xff",
                b"GIF87a",
                b"GIF89a",
                b"BM",
                b"II*\x00",
                b"MM\x00*",
                b"\x00\x00\x01\x00",
            )
        )
        or data[:4] + data[8:12] == b"RIFFWEBP"
        or data[4:12] in (b"ftypavif", b"ftypavis")
    )


def printable_runs(data: bytes) -> str:
    """Return the stretches of readable text in binary data, one a line."""
    return "\n".join(run.decode("utf-8", "replace") for run in _RUN.findall(data))


def image_pieces(data: bytes, where: str) -> Iterator[Piece]:
    """Return the picture itself for approval, its hidden texts, and whether there are any.

    Parameters
    ----------
    data
        The file.
    where
        The place of the picture, if it is part of another file.

    Yields
    ------
    Photograph, Fault, Fragment
        A fault for EXIF, XMP, IPTC, comments, text chunks, embedded smaller pictures or bytes
        after the picture's end.
    """
    place = f"{where}, hidden data" if where else "hidden data"
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(data)) as image:
                image.load()
                hidden = _hidden(image)
                large = max(image.size) > TINY_PIXELS
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, struct.error,
            Image.DecompressionBombError):  # fmt: skip
        yield Fault("unreadable-file", where or "picture")
        return
    if large:
        yield Photograph(where or "picture", hashlib.sha256(data).hexdigest())
    if _has_tail(data):
        hidden.append(b"")
    if hidden:
        yield Fault(METADATA_RULE, place)
    for item in hidden:
        yield Fragment(_as_text(item), Kind.METADATA, place)
    yield Fragment(printable_runs(data), Kind.METADATA, place)


def _hidden(image: Image.Image) -> list[object]:
    hidden: list[object] = []
    exif = image.getexif()
    if exif:
        hidden.append(dict(exif))
        hidden += [dict(exif.get_ifd(ifd)) for ifd in (0x8769, 0x8825, 0xA005, 1)]
        hidden += list(_gps_degrees(exif.get_ifd(0x8825)))
    hidden += [
        value
        for key, value in image.info.items()
        if str(key).lower() not in _HARMLESS and value not in (None, b"", "")
    ]
    if isinstance(image, PngImagePlugin.PngImageFile):
        hidden += [f"{key}: {value}" for key, value in image.text.items()]
        hidden += [chunk[1] for chunk in image.private_chunks]
    if isinstance(image, JpegImagePlugin.JpegImageFile):
        hidden += [
            segment
            for name, segment in image.applist
            if name not in _HARMLESS_SEGMENTS and not segment.startswith(_ICC_SEGMENT)
        ]
    return hidden


def _gps_degrees(gps: dict[int, object]) -> Iterator[str]:
    """Return the latitude or longitude of a GPS block as decimal degrees."""
    parts = []
    for tag in (2, 4):
        value = gps.get(tag)
        if isinstance(value, tuple) and len(value) == 3:  # noqa: PLR2004 - degrees, minutes, seconds
            degrees, minutes, seconds = (float(number) for number in value)
            parts.append(f"{degrees + minutes / 60 + seconds / 3600:.6f}")
    if parts:
        yield " ".join(parts)


def _as_text(item: object) -> str:
    if isinstance(item, bytes):
        wide = item.decode("utf-16-le", "replace") if item.count(0) * 3 > len(item) else ""
        return f"{item.decode('utf-8', 'replace')}\n{wide}".replace("\x00", " ")
    if isinstance(item, dict):
        return "\n".join(_as_text(value) for value in item.values())
    if isinstance(item, list | tuple):
        return " ".join(_as_text(value) for value in item)
    return str(item)


def _has_tail(data: bytes) -> bool:
    """Return whether bytes follow the end of the picture."""
    if data.startswith(b"\x89PNG"):
        return not data.endswith(b"IEND\xaeB`\x82")
    if data.startswith(b"\xff\xd8"):
        return not data.rstrip(b"\x00").endswith(b"\xff\xd9")
    if data.startswith(b"GIF8"):
        return not data.endswith(b"\x3b")
    if data[:4] == b"RIFF":
        size = int.from_bytes(data[4:8], "little") + 8
        return len(data) > size + size % 2
    return False
