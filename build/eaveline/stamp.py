"""Remembers which inputs the site in site/ was built from, once it has passed the audit."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from pathlib import Path

from eaveline import __version__
from eaveline.errors import Problem
from eaveline.leftovers import own_files
from eaveline.whole_files import write_whole

STAMP_FILE = "private/last-build.json"

_INPUTS = ("survey_data", "content", "theme")
_WRITTEN_BY_US = frozenset({"survey_data/map/regions.csv", "survey_data/map/districts.csv"})


def file_digests(folder: Path) -> dict[str, str]:
    """Return the SHA-256 of every file below a folder, by path with forward slashes."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def inputs_digest(folder: Path) -> str:
    """Return one digest of all that a town's site is built from, and of this version.

    Left out are the frozen regions and districts, which a build itself may write, and what
    others leave behind; see `own_files`.
    """
    whole = hashlib.sha256(__version__.encode())
    for name, path in _inputs(folder):
        try:
            digest = hashlib.sha256(path.read_bytes()).hexdigest()
        except OSError:  # who needs what is in it will say so
            digest = "unreadable"
        whole.update(f"{name}\0{digest}\n".encode())
    return whole.hexdigest()


def _inputs(folder: Path) -> Iterator[tuple[str, Path]]:
    for top in _INPUTS:
        for path in own_files(folder / top):
            name = path.relative_to(folder).as_posix()
            if name not in _WRITTEN_BY_US:
                yield name, path


def write_stamp(folder: Path, *, inputs: str) -> None:
    """Note that site/ was built from the inputs of that digest and has passed the audit."""
    stamp = {"inputs": inputs, "site": _site_digest(file_digests(folder / "site"))}
    text = json.dumps(stamp, indent=1, sort_keys=True) + "\n"
    write_whole(folder / STAMP_FILE, text.encode())


def stamp_problem(folder: Path) -> Problem | None:
    """Return why site/ may not be handed over, or None if it may."""
    site = folder / "site"
    if not (site / "index.html").is_file():
        return Problem("site-missing", "There is no site yet.", "Build it first.", file="site")
    try:
        stamp = json.loads((folder / STAMP_FILE).read_text(encoding="utf-8"))
        inputs, digest = stamp["inputs"], stamp["site"]
    except (OSError, ValueError, KeyError, TypeError):
        inputs = digest = None
    if digest != _site_digest(file_digests(site)):
        return Problem(
            "site-unaudited",
            "The site is not as the audit read it: a file was added, removed or changed since.",
            "Build again. Put changes into content/ or theme/, never into site/ itself.",
            file="site",
        )
    if inputs != inputs_digest(folder):
        return Problem(
            "site-stale",
            "Records, pages, the theme or Eaveline itself have changed since the site was built.",
            "Build again, look at the site, and publish that.",
            file="site",
        )
    return None


def _site_digest(files: dict[str, str]) -> str:
    text = "".join(f"{name}\0{digest}\n" for name, digest in sorted(files.items()))
    return hashlib.sha256(text.encode()).hexdigest()
