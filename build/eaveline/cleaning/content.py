"""Copies content/ for the site, cleaning every picture, drawing and PDF on the way.

The group's own files are never changed. A file that cannot be cleaned stops the build.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from eaveline.cleaning.documents import clean_document
from eaveline.cleaning.drawings import clean_drawing
from eaveline.cleaning.pictures import clean_picture
from eaveline.cleaning.refusal import CannotCleanError
from eaveline.errors import InputError, Problem
from eaveline.leftovers import own_files

_CLEANERS: dict[str, Callable[[bytes], bytes]] = {
    **dict.fromkeys((".jpg", ".jpeg", ".png", ".gif", ".webp"), clean_picture),
    ".svg": clean_drawing,
    ".pdf": clean_document,
}
_PLAIN = frozenset({".md", ".txt", ".csv", ".ics", ".json", ".geojson", ".vtt"})
"""Text, which hides nothing from the audit."""


def copy_content(content: Path, out: Path) -> None:
    """Copy `content` to `out`, cleaned.

    Parameters
    ----------
    content
        The group's folder; it may be missing, and then `out` is made empty.
    out
        A new folder. Files that systems leave behind (``.DS_Store``, ``Thumbs.db``, which holds
        small pictures of every photograph) are not copied.

    Raises
    ------
    InputError
        With every file that cannot be cleaned, by name.
    """
    out.mkdir(parents=True)
    problems = []
    for path in own_files(content):
        name = path.relative_to(content)
        try:
            data = _cleaned(path, content=content)
        except CannotCleanError as refused:
            problems.append(
                Problem(
                    refused.code,
                    f"{refused.what} It may hold something that readers do not see, such as "
                    "where it was made.",
                    refused.next_step,
                    file=f"content/{name.as_posix()}",
                )
            )
            continue
        copy = out / name
        copy.parent.mkdir(parents=True, exist_ok=True)
        copy.write_bytes(data)
    if problems:
        raise InputError(problems)


def _cleaned(path: Path, *, content: Path) -> bytes:
    if not path.resolve().is_relative_to(content.resolve()):
        raise CannotCleanError(
            "content-link",
            "This is a link to a file outside content/.",
            "Put a copy of the file itself there, if it may be published.",
        )
    try:
        data = path.read_bytes()
    except OSError:
        raise CannotCleanError(
            "content-unreadable", "The file cannot be read.", "Check that you may open it."
        ) from None
    kind = path.suffix.casefold()
    if kind in _CLEANERS:
        return _CLEANERS[kind](data)
    if kind in _PLAIN and b"\x00" not in data:
        return data
    raise CannotCleanError(
        "content-other-kind",
        "Files of this kind cannot be cleaned.",
        "Publish pictures as JPEG, PNG, WebP or SVG and papers as PDF, or take the file out.",
    )
