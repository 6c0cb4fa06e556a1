"""Column mappings a person has confirmed: what each heading of a member's file means.

A mapping is a CSV or a workbook in survey_data/mappings/ with the columns folder, heading,
means and always. It belongs to every file of that folder that has all its headings, whatever the
file is called, so next month's file needs no second confirmation. A line without a heading
fills a column the file lacks: ``sightings,,species,swift``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType

from eaveline.errors import Problem
from eaveline.leftovers import is_left_behind
from eaveline.private.intake.schema import KINDS, plain
from eaveline.private.intake.text_grids import decode, named_rows, text_grid
from eaveline.private.intake.workbook_grids import SPREADSHEETS, workbook_grids

MAPPINGS_FOLDER = "mappings"
MAPPING_COLUMNS = ("folder", "heading", "means", "always")
_NEEDED = frozenset({"folder", "heading", "means"})
IGNORE = "ignore"
"""Under `means`: the column is kept, but not used."""


@dataclass(frozen=True, slots=True)
class ColumnMapping:
    """One confirmed mapping.

    Attributes
    ----------
    name
        The file it was read from, below survey_data/.
    folder
        The record kind it is for.
    means
        For each heading in plain form the canonical name, or None if it is not to be used.
    always
        For each canonical name the file lacks, what every row of it says.
    """

    name: str
    folder: str
    means: Mapping[str, str | None]
    always: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    def fits(self, headings: Iterable[str]) -> bool:
        """Say whether these headings, in plain form, hold all of the mapping's."""
        return bool(self.means) and set(self.means) <= set(headings)


def mapping_for(
    headings: Iterable[str], *, folder: str, mappings: Iterable[ColumnMapping]
) -> ColumnMapping | None:
    """Return the mapping of a row of headings: of those that fit, the one that says most.

    Two that say as much and differ cancel each other out, as neither is surely meant.
    """
    present = {plain(heading) for heading in headings}
    fitting = [each for each in mappings if each.folder == folder and each.fits(present)]
    if not fitting:
        return None
    most = max(len(each.means) for each in fitting)
    best = [each for each in fitting if len(each.means) == most]
    same = all(each.means == best[0].means and each.always == best[0].always for each in best)
    return best[0] if same else None


def load_mappings(survey_data: Path) -> tuple[tuple[ColumnMapping, ...], list[Problem]]:
    """Read every file in survey_data/mappings/, with what is wrong in them."""
    found: list[ColumnMapping] = []
    problems: list[Problem] = []
    for path in sorted((survey_data / MAPPINGS_FOLDER).glob("*")):
        if not path.is_file() or is_left_behind(path.name):
            continue
        name = f"{MAPPINGS_FOLDER}/{path.name}"
        read, unclear = _read(_lines(path, name=name), name=name)
        found.extend(read)
        problems.extend(unclear)
        if not read and not unclear:
            problems.append(
                Problem(
                    "mapping-empty",
                    "The mapping says nothing.",
                    "It needs the columns folder, heading, means; or remove it.",
                    file=name,
                )
            )
    problems.extend(_contradictions(found))
    return tuple(found), problems


def _lines(path: Path, *, name: str) -> list[tuple[int, dict[str, str]]]:
    """Return each line's row and its cells by column; none of a damaged file."""
    try:
        if path.suffix.casefold() in SPREADSHEETS:
            grids = [grid for _, grid in workbook_grids(path)]
        else:
            text, _ = decode(path.read_bytes(), name=name)
            grids = [text_grid(text, _NEEDED, name=name)[0]]
    except Exception:  # noqa: BLE001 - whatever a damaged file raises, the build goes on
        return []
    lines = []
    for grid in grids:
        first = next(
            (at for at, row in enumerate(grid) if {*map(plain, row)} >= _NEEDED), len(grid)
        )
        # A title above the headings is passed over, and rows keep their numbers.
        lines += named_rows([*([[]] * first), *grid[first:]], MAPPING_COLUMNS)[1]
    return lines


def _read(
    lines: Iterable[tuple[int, Mapping[str, str]]], *, name: str
) -> tuple[list[ColumnMapping], list[Problem]]:
    means: dict[str, dict[str, str | None]] = {}
    always: dict[str, dict[str, str]] = {}
    problems = []
    for number, cells in lines:
        folder = plain(cells.get("folder", "")).replace("nestsites", "nest_sites")
        heading, said = plain(cells.get("heading", "")), cells.get("means", "")
        column = _canonical(said, folder)
        fixed = cells.get("always", "")
        if not any(cells.values()) or (heading and not said) or not (heading or fixed):
            continue  # a line left open: the heading keeps the meaning it has by itself
        if folder not in KINDS or column is None:
            problems.append(
                Problem(
                    "mapping-line-unclear",
                    "This line does not say what a heading means.",
                    "Give a folder, a heading and the column's name, or 'ignore' for none.",
                    file=name,
                    row=number,
                )
            )
        elif heading:
            means.setdefault(folder, {})[heading] = column or None
        elif column and fixed:
            always.setdefault(folder, {})[column] = fixed
    found = [
        ColumnMapping(
            name,
            folder,
            MappingProxyType(headings),
            MappingProxyType(always.get(folder, {})),
        )
        for folder, headings in means.items()
    ]
    return found, problems


def _canonical(said: str, folder: str) -> str | None:
    """Return the canonical name meant, "" for none to be used, or None if it is not known."""
    if plain(said) == IGNORE:
        return ""
    names = {plain(name): name for name in KINDS[folder].names} if folder in KINDS else {}
    return names.get(plain(said))


def _contradictions(found: list[ColumnMapping]) -> Iterable[Problem]:
    for place, one in enumerate(found):
        for other in found[:place]:
            same_file = (one.folder, set(one.means)) == (other.folder, set(other.means))
            if same_file and (one.means != other.means or one.always != other.always):
                yield Problem(
                    "mapping-contradicted",
                    f"Another mapping, {other.name}, says otherwise of the same headings.",
                    "Neither is used until one of them is removed.",
                    file=one.name,
                )


def mapping_file_name(name: str) -> str:
    """Return the name of the half-filled mapping for a record file, such as ``ann-2026.csv``."""
    folder, _, stem = name.partition("/")
    stem = re.sub(r"\.\w+$", "", stem) if "[" not in stem else stem
    return re.sub(r"[^\w]+", "-", f"{folder} {stem}").strip("-").casefold() + ".csv"
