"""Writes a file all or nothing, so that a full disc or a stopped build leaves the old one whole."""

from __future__ import annotations

from pathlib import Path


def write_whole(path: Path, data: bytes) -> bool:
    """Write a file, with its folder; return False if it held the same already and was left alone.

    Raises
    ------
    OSError
        If it cannot be written; then the file is as it was.
    """
    if path.is_file() and path.read_bytes() == data:
        return False
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.part")
    try:
        part.write_bytes(data)
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    return True
