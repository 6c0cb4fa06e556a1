"""Writes a picture anew from its pixels alone.

What a camera, a telephone or a program adds (EXIF with the place, XMP, IPTC, comments, colour
profiles that name a screen, a smaller picture of the uncropped whole, bytes after the end) is not
looked for and removed: it is never carried over.
"""

from __future__ import annotations

import io
import struct
import warnings
from functools import lru_cache

from PIL import Image, ImageCms, ImageOps, UnidentifiedImageError

from eaveline.cleaning.refusal import CannotCleanError

_FORMATS = ("JPEG", "PNG", "GIF", "WEBP")
_QUALITY = 90
"""For pictures that must be compressed again (common practice)."""
_AGAIN = "Open it in an image program and save it as JPEG or PNG."


@lru_cache(maxsize=48)
def clean_picture(data: bytes, *, turn: bool = True) -> bytes:
    """Return the picture without anything beside it, in its own format.

    Parameters
    ----------
    data
        A JPEG, PNG, GIF or WebP file.
    turn
        Turn the pixels as the camera's note of its position says, since that note goes.

    Returns
    -------
    bytes
        The same pixels. JPEGs keep their own compression unless they have to be turned or
        brought into the web's colours (sRGB). The same file gives the same bytes; a picture
        just cleaned is remembered, for a preview asks again at every change.

    Raises
    ------
    CannotCleanError
        If it is damaged, of another format, or moves.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(data), formats=_FORMATS) as image:
                return _rewritten(image, turn=turn)
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, struct.error,
            Image.DecompressionBombError):  # fmt: skip
        raise CannotCleanError(
            "picture-unreadable",
            "The picture is damaged or of a kind that cannot be cleaned.",
            _AGAIN,
        ) from None


def _rewritten(image: Image.Image, *, turn: bool) -> bytes:
    kind = "JPEG" if image.format == "MPO" else image.format
    # A telephone's JPEG may hold a second picture for depth; only the first is one to show.
    if kind != "JPEG" and getattr(image, "n_frames", 1) > 1:
        raise CannotCleanError(
            "picture-moving",
            "The picture moves; each of its frames may hold something that is not seen.",
            "Save one frame of it as JPEG or PNG.",
        )
    image.load()
    made = ImageOps.exif_transpose(image) if turn and _is_turned(image) else image
    made = _in_web_colours(made)
    kept: dict[str | tuple[int, int], object] = {
        name: made.info[name]
        for name in ("transparency",)
        if name in made.info and kind in ("PNG", "GIF")
    }
    progressive = bool(image.info.get("progressive"))
    made.info = dict(kept)
    out = io.BytesIO()
    if kind == "JPEG":
        as_it_was = made is image and image.format == "JPEG"
        made.save(
            out,
            "JPEG",
            quality="keep" if as_it_was else _QUALITY,
            optimize=True,
            progressive=progressive,
        )
    elif kind == "WEBP":
        made.save(out, "WEBP", quality=_QUALITY, method=4)
    else:
        made.save(out, kind, optimize=True)
    return out.getvalue()


def _is_turned(image: Image.Image) -> bool:
    return bool(image.getexif().get(0x0112, 1) != 1)  # 0x0112: orientation


def _in_web_colours(image: Image.Image) -> Image.Image:
    """Convert a picture with a colour profile of its own to sRGB; a broken profile is dropped."""
    profile = image.info.get("icc_profile")
    if not profile or image.mode not in ("RGB", "RGBA"):
        return image
    try:
        own = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        if "srgb" in ImageCms.getProfileDescription(own).casefold():
            return image
        converted = ImageCms.profileToProfile(image, own, ImageCms.createProfile("sRGB"))
    except (ImageCms.PyCMSError, OSError, ValueError):
        return image
    return image if converted is None else converted
