"""Hands the site over to a folder or a zip archive."""

from __future__ import annotations

import datetime as dt
import os
import shutil
import zipfile
from pathlib import Path

from eaveline.errors import InputError, Problem
from eaveline.whole_files import write_whole

_OWN_MARK = "data/release.json"
"""Every site has it, so a folder that has it was published by us."""
_FOLDERS = ("site", "survey_data", "content", "theme", "private")
"""Folders of a town that a build reads or makes."""


def publish_to_folder(site: Path, target: Path) -> int:
    """Make a folder hold the site and nothing else; return how many files were written.

    A file with the same bytes is left alone. A file that is no longer in the site is removed,
    except for those at the top whose names begin with a dot: they are the host's.

    Raises
    ------
    InputError
        If the folder holds something else than a site, or cannot be written.
    """
    _check_folder(site, target)
    try:
        target.mkdir(parents=True, exist_ok=True)
        wanted = {path.relative_to(site) for path in site.rglob("*") if path.is_file()}
        present = {path.relative_to(target) for path in target.rglob("*") if path.is_file()}
        for name in present - wanted:
            if not name.parts[0].startswith("."):
                (target / name).unlink()
        _remove_empty_folders(target)
        return sum(_copy(site / name, target / name) for name in sorted(wanted))
    except OSError as error:
        raise _not_writable(error) from None


def publish_to_zip(site: Path, target: Path, *, made_on: dt.date) -> int:
    """Write the site into one archive; return how many files it holds.

    The same site gives the same bytes: names in order, one time for all of them, no owner.

    Raises
    ------
    InputError
        If the archive cannot be written, or would lie among the site or what it is made from.
    """
    town, place = site.resolve().parent, target.resolve()
    if any(place.is_relative_to(town / name) for name in _FOLDERS):
        raise InputError(
            Problem(
                "publish-into-the-town",
                "The archive would lie in a folder of the town's, which a build reads or makes.",
                "Name a place elsewhere, such as the town's folder itself.",
            )
        )
    time = (max(made_on.year, 1980), made_on.month, made_on.day, 0, 0, 0)
    part = target.with_name(target.name + ".part")
    names = sorted(
        (path.relative_to(site).as_posix() for path in site.rglob("*") if path.is_file()),
    )
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as archive:
            for name in names:
                entry = zipfile.ZipInfo(name, date_time=time)
                entry.compress_type = zipfile.ZIP_DEFLATED
                entry.create_system = 3  # Unix, on every system
                entry.external_attr = 0o100644 << 16
                archive.writestr(entry, (site / name).read_bytes())
        part.replace(target)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise _not_writable(error) from None
    return len(names)


def _check_folder(site: Path, target: Path) -> None:
    town, resolved = site.resolve().parent, target.resolve()
    if resolved.is_relative_to(town) or town.is_relative_to(resolved):
        raise InputError(
            Problem(
                "publish-into-the-town",
                "The folder to publish to lies in the town's folder or holds it, so records "
                "could be removed or uploaded.",
                "Name a folder somewhere else.",
            )
        )
    if target.exists() and not target.is_dir():
        raise InputError(
            Problem(
                "publish-folder-is-a-file",
                "There is a file where the folder to publish to should be.",
                "Name a folder.",
            )
        )
    if not target.is_dir() or (target / _OWN_MARK).is_file():
        return
    if any(not path.name.startswith(".") for path in target.iterdir()):
        raise InputError(
            Problem(
                "publish-folder-not-ours",
                "The folder to publish to holds something else than a site of ours, which would "
                "be removed.",
                "Name an empty folder, or the one you published to before.",
            )
        )


def _copy(source: Path, target: Path) -> bool:
    written = write_whole(target, source.read_bytes())
    if written:
        shutil.copystat(source, target)
    return written


def _remove_empty_folders(target: Path) -> None:
    for folder, _, _ in os.walk(target, topdown=False):
        path = Path(folder)
        ours = not path.relative_to(target).parts[:1] or not path.relative_to(target).parts[
            0
        ].startswith(".")
        if path != target and ours and not any(path.iterdir()):
            path.rmdir()


def _not_writable(error: OSError) -> InputError:
    return InputError(
        Problem(
            "publish-not-writable",
            f"The site cannot be written there ({type(error).__name__}).",
            "Check that the disc has room and that you may write there, and publish again.",
        )
    )
