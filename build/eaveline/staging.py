"""Puts a finished site in place of the old one, only once it is whole."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from eaveline.errors import InputError, Problem

STAGING_PREFIX = ".staging-"


@contextmanager
def staging_folder(folder: Path) -> Iterator[Path]:
    """Give a new folder in `folder`, where the site is to stand, and remove it at the end.

    A site can be moved into place only on the same disc. The folder is made if it is missing.

    Raises
    ------
    InputError
        If nothing can be written there.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        staged = Path(tempfile.mkdtemp(prefix=STAGING_PREFIX, dir=folder))
    except OSError as error:
        raise InputError(
            Problem(
                "folder-not-writable",
                f"The folder for the site cannot be written to ({type(error).__name__}).",
                "Check that the disc has room and that you may write there.",
            )
        ) from None
    try:
        yield staged
    finally:
        shutil.rmtree(staged, ignore_errors=True)


def swap_in(staged: Path, site: Path) -> int:
    """Replace `site` by `staged`; a file whose bytes are the same keeps its modification time.

    Parameters
    ----------
    staged
        The new site, in a folder of its own on the same disc: the old one waits beside it.
    site
        Where it is to stand.

    Returns
    -------
    int
        How many files are new or changed.

    Raises
    ------
    InputError
        If the old site cannot be moved, which leaves it as it was.
    """
    changed = 0
    for path in staged.rglob("*"):
        if not path.is_file():
            continue
        old = site / path.relative_to(staged)
        if _same_bytes(path, old):
            stat = old.stat()
            os.utime(path, ns=(stat.st_atime_ns, stat.st_mtime_ns))
        else:
            changed += 1
    aside = staged.with_name("old")
    try:
        if site.exists():
            site.rename(aside)
        try:
            staged.rename(site)
        except BaseException:  # whoever stops the build right here has the old site back
            if aside.exists():
                aside.rename(site)
            raise
    except OSError as error:
        raise InputError(
            Problem(
                "site-in-use",
                f"The old site cannot be moved aside ({type(error).__name__}); it still stands.",
                "Close whatever has a file of site/ open, and build again.",
            )
        ) from None
    shutil.rmtree(aside, ignore_errors=True)
    return changed


def _same_bytes(new: Path, old: Path) -> bool:
    try:
        return new.stat().st_size == old.stat().st_size and new.read_bytes() == old.read_bytes()
    except OSError:
        return False
