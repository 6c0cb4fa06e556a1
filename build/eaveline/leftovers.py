"""Tells a group's own files from what editors, spreadsheets and systems leave beside them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

_BEGINNINGS = (".", "~$")
"""Hidden files and folders, and the mark that a spreadsheet has a file open."""
_NAMES = frozenset({"thumbs.db", "desktop.ini", "__macosx"})


def is_left_behind(name: str) -> bool:
    """Return whether a file or folder of that name is nobody's own."""
    return name.startswith(_BEGINNINGS) or name.casefold() in _NAMES


def own_files(folder: Path) -> Iterator[Path]:
    """Yield the files below a folder, sorted, without what was left behind; none if it is missing.

    What lies in a hidden folder, such as the older copies of a program that keeps folders alike
    on several computers, is left out too.
    """
    for path in sorted(folder.rglob("*")):
        if path.is_file() and not any(map(is_left_behind, path.relative_to(folder).parts)):
            yield path
