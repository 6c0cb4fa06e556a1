"""Opens every record file of survey_data/, whatever its form."""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Callable, Sequence
from functools import partial
from glob import escape
from pathlib import Path

from eaveline.errors import Problem
from eaveline.leftovers import is_left_behind, own_files
from eaveline.private.intake.corrections import corrections_by_folder
from eaveline.private.intake.forget import FORGET_FILE
from eaveline.private.intake.form_lines import filled_files
from eaveline.private.intake.mappings import MAPPINGS_FOLDER, ColumnMapping
from eaveline.private.intake.memory import Memory
from eaveline.private.intake.raw import RawFile, unusable
from eaveline.private.intake.read import TEXT_FILES, read_file
from eaveline.private.intake.schema import KINDS, PLANNING
from eaveline.private.intake.workbook_grids import SPREADSHEETS
from eaveline.private.planning.outline import BESIDE_SHAPEFILES, SITE_FILES

CORRECTIONS_FOLDER = "corrections"
_GUIDES = ("COLUMNS.md", "README.md", "SETTINGS.md")
_READ_ELSEWHERE = (*_GUIDES, FORGET_FILE, "map", MAPPINGS_FOLDER, "town.toml")


def find_files(survey_data: Path, folder: str) -> list[tuple[Path, str]]:
    """Return the record files in one folder, with their names below survey_data/, sorted."""
    return [
        (path, path.relative_to(survey_data).as_posix()) for path in own_files(survey_data / folder)
    ]


def passed_over(survey_data: Path) -> list[Problem]:
    """Return a notice for each file and folder of survey_data/ that nothing reads.

    A misspelt folder would lose its records without a word otherwise.
    """
    read = [survey_data / name for name in (*KINDS, CORRECTIONS_FOLDER, *_READ_ELSEWHERE)]
    return [
        _not_read(path)
        for path in sorted(survey_data.glob("*"))
        if not is_left_behind(path.name)
        # On some computers Sightings and sightings are one folder, on others two.
        and not any(other.exists() and other.samefile(path) for other in read)
        and (path.is_file() or any(own_files(path)))
    ]


def _not_read(path: Path) -> Problem:
    kinds = ", ".join(sorted(KINDS))
    if path.is_dir():
        return Problem(
            "folder-not-read",
            "This is no folder of records, so no file in it was read.",
            f"Rename it, or move its files where they belong: {kinds}, corrections or map.",
            file=f"{path.name}/",
        )
    return Problem(
        "file-not-in-a-folder",
        "The file lies in none of the folders of records, so it was not read.",
        f"Move it where it belongs: {kinds}, corrections or map.",
        file=path.name,
    )


def read_all(
    survey_data: Path,
    *,
    mappings: Sequence[ColumnMapping] = (),
    progress: Callable[[str], None] = lambda _: None,
    memory: Memory | None = None,
) -> list[RawFile]:
    """Read every file of every known folder, corrections last."""
    memory = memory or Memory()
    files: list[RawFile] = []
    for folder in KINDS:
        for path, name in find_files(survey_data, folder):
            progress(name)
            files.extend(
                memory.recall(
                    (name, _digest(path)),
                    partial(_read, path, folder=folder, name=name, mappings=mappings),
                )
            )
    for path, name in find_files(survey_data, CORRECTIONS_FOLDER):
        progress(name)
        files.extend(corrections_by_folder(path, name=name))
    return files


def _digest(path: Path) -> bytes:
    """Return a digest of what a file holds, with those of the same name that belong to it."""
    parts = sorted(path.parent.glob(f"{escape(path.stem)}.*"))
    if path.suffix.casefold() not in SITE_FILES | BESIDE_SHAPEFILES:
        parts = [path]
    digest = hashlib.blake2b()
    for part in parts:
        with contextlib.suppress(OSError):  # who reads it will say so
            digest.update(part.read_bytes())
    return digest.digest()


def _read(
    path: Path, *, folder: str, name: str, mappings: Sequence[ColumnMapping]
) -> list[RawFile]:
    if path.suffix.casefold() in SPREADSHEETS | TEXT_FILES:
        return filled_files(read_file(path, folder=folder, name=name, mappings=mappings))
    if folder == PLANNING.folder and path.suffix.casefold() in SITE_FILES | BESIDE_SHAPEFILES:
        return _read_sites(path, name=name, mappings=mappings)
    return [
        unusable(
            folder,
            name,
            "file-of-another-kind",
            "The file is neither a CSV nor a spreadsheet, so it was not read.",
            "Export it as CSV, or keep it somewhere else.",
        )
    ]


def _read_sites(path: Path, *, name: str, mappings: Sequence[ColumnMapping]) -> list[RawFile]:
    if path.suffix.casefold() in BESIDE_SHAPEFILES:
        return []  # read with its shapefile
    # GDAL takes a while to load, and few groups have such files.
    from eaveline.private.planning.site_files import read_site_file  # noqa: PLC0415

    return read_site_file(path, name=name, mappings=mappings)
