"""Keeps the regions in survey_data/map/regions.csv, so that they stay as they were published.

One row for each cell. What holds for the whole file (the rule, a checksum) is repeated on
every row, so that the file survives being sorted, filtered, opened and saved in a
spreadsheet; the checksum is of letters only, lest a spreadsheet take it for a number. It
guards against slips, not against intent.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from pathlib import Path

import numpy as np
import pandas as pd
from pydantic import ValidationError

from eaveline.errors import InputError, Problem
from eaveline.protect.division.kept_tables import check_letters, read_table, save_table
from eaveline.protect.division.regions import (
    Integers,
    MapRule,
    Regions,
    id_number,
    regions_from_cells,
)
from eaveline.protect.division.updating import (
    REGIONS_FILE,
    first_regions,
    refuse_split,
    update_regions,
)
from eaveline.public.records import PublicRelease, release_from_json

COLUMNS = (
    "region",
    "cell_i",
    "cell_j",
    "premises_in_region",
    "minimum_premises",
    "cell_size_m",
    "crs",
    "check",
)
_WHOLE = re.compile(r"(\d{1,7})(?:[.,]0+)?")
_ID = re.compile(r"R\d{3,5}")
_GRIDS = ("EPSG:27700", "EPSG:29903")
_MOST_ROWS_NAMED = 10
_RESTORE = (
    "Put back a copy that was not edited; or remove the file, and the regions are recovered from "
    "the last published release."
)
_Row = tuple[int, str, int, int, int, tuple[int, int, str, str]]
"""Spreadsheet row, region, i, j, premises, what is the same on every row."""


def save_regions(path: Path, regions: Regions) -> None:
    """Write the regions to a file, all or nothing; a file that says the same is left alone."""
    rule = regions.rule
    shared = (rule.minimum_premises, rule.cell_size_m, rule.crs, checksum(regions))
    save_table(path, COLUMNS, ((*line, *shared) for line in _lines(regions)))


def _lines(regions: Regions) -> Iterable[tuple[str, int, int, int]]:
    """Yield id, i, j and premises for each cell, region by region."""
    for name, cells, premises in zip(
        regions.ids, regions.cells, regions.premises.tolist(), strict=True
    ):
        for cell in cells:
            yield name, cell.i, cell.j, premises


def checksum(regions: Regions) -> str:
    """Return 16 letters that depend on every id, cell, count and on the rule."""
    rule = regions.rule
    lines = [f"{rule.minimum_premises} {rule.cell_size_m} {rule.crs}"]
    return check_letters([*lines, *(" ".join(map(str, line)) for line in _lines(regions))])


def load_regions(path: Path) -> Regions:
    """Read the regions that `save_regions` wrote, also after a spreadsheet has saved them.

    Raises
    ------
    InputError
        With every fault found: a column or number missing, a cell twice, a region with two
        counts or too few premises, a changed rule, or an edit that only the checksum shows.
    """
    rows, problems = _rows(path)
    if problems:
        raise InputError(problems)
    return _regions(rows)


def _rows(path: Path) -> tuple[list[_Row], list[Problem]]:
    """Return the file's rows, or what is wrong with them."""
    missing, lines = read_table(path, COLUMNS, file=REGIONS_FILE, code="regions-unreadable")
    if missing:
        what = f"The file lacks the columns {', '.join(missing)}."
        return [], [_fault("regions-columns-missing", what)]
    rows: list[_Row] = []
    bad: list[int] = []
    for number, line in lines:
        cells = [line[name] for name in COLUMNS]
        region, crs, check = cells[0], cells[6], cells[7]
        numbers = [_WHOLE.fullmatch(cell) for cell in cells[1:6]]
        if not _ID.fullmatch(region) or crs not in _GRIDS or not all(numbers) or not check:
            bad.append(number)
            continue
        i, j, premises, minimum, size = (int(found[1]) for found in numbers if found)
        rows.append((number, region, i, j, premises, (minimum, size, crs, check)))
    problems = [
        _fault("regions-row-wrong", "A cell of this row is empty or not as it was saved.", row=row)
        for row in bad[:_MOST_ROWS_NAMED]
    ]
    if not rows and not problems:
        problems = [_fault("regions-empty", "The file holds no regions.")]
    return rows, problems


def _regions(rows: Sequence[_Row]) -> Regions:
    """Put checked rows together; raise on contradictions."""
    shared = {row[5] for row in rows}
    problems = _contradictions(rows)
    if len(shared) > 1:
        what = (
            "The rows do not agree on the rule or the checksum, so they come from different files."
        )
        problems.append(_fault("regions-mixed", what))
    if problems:
        raise InputError(problems)
    [(minimum, size, crs, check)] = shared
    regions = _assembled(
        [(region, i, j, premises) for _, region, i, j, premises, _ in rows],
        rule=MapRule(minimum, size, crs),
    )
    if checksum(regions) != check:
        what = (
            "The file has been edited since it was saved: rows are missing, or a cell, a region "
            "or a count is not what it was."
        )
        raise InputError(_fault("regions-edited", what))
    return regions


def _assembled(rows: Iterable[tuple[str, int, int, int]], *, rule: MapRule) -> Regions:
    table = pd.DataFrame(list(rows), columns=["region", "cell_i", "cell_j", "premises"])
    table = table.sort_values(["cell_i", "cell_j"], ignore_index=True)
    counts = table.groupby("region")["premises"].first()
    ids = sorted(counts.index, key=id_number)
    return regions_from_cells(
        tuple(ids),
        counts.loc[ids].to_numpy(dtype=np.int64),
        table[["cell_i", "cell_j"]].to_numpy(dtype=np.int64),
        pd.Index(ids).get_indexer(table["region"]).astype(np.int64),
        rule=rule,
    )


def _contradictions(rows: Iterable[_Row]) -> list[Problem]:
    """Return cells given twice, regions with two counts, and regions that are too small."""
    problems: list[Problem] = []
    holder: dict[tuple[int, int], str] = {}
    counts: dict[str, int] = {}
    for row, region, i, j, premises, (minimum, *_) in rows:
        before = holder.get((i, j))
        if before == region:
            what = "The square on this row stands in a row above too."
            problems.append(_fault("regions-cell-twice", what, row=row))
        elif before is not None:
            what = "The square on this row belongs to another region too; regions may not overlap."
            problems.append(_fault("regions-overlap", what, row=row))
        holder[i, j] = region
        if counts.setdefault(region, premises) != premises:
            what = "The region on this row has another premises count above."
            problems.append(_fault("regions-two-counts", what, row=row))
        if premises < minimum:
            what = "The region on this row holds fewer premises than the minimum."
            problems.append(_fault("regions-too-small", what, row=row))
    return problems[:_MOST_ROWS_NAMED]


def _fault(code: str, what: str, *, row: int | None = None) -> Problem:
    return Problem(code=code, what=what, next_step=_RESTORE, file=REGIONS_FILE, row=row)


def recovered_regions(release: PublicRelease) -> Regions | None:
    """Return the regions of a published release, None if it has no map."""
    if not release.has_map or not release.regions:
        return None
    rule = MapRule(release.rule.minimum_premises, release.rule.cell_size_m, release.crs)
    rows = [
        (region.id, cell.i, cell.j, int(region.premises))
        for region in release.regions
        for cell in region.cells
    ]
    shared = (rule.minimum_premises, rule.cell_size_m, rule.crs, "")
    if _contradictions([(0, *row, shared) for row in rows]):
        raise InputError(_release_broken())
    return _assembled(rows, rule=rule)


def regions_for_build(
    regions_file: Path,
    *,
    release_file: Path | None,
    published_before: bool,
    premises: pd.DataFrame,
    boundary_cells: Integers,
    rule: MapRule,
    accept_loss: bool = False,
) -> tuple[Regions, tuple[Problem, ...]]:
    """Return the regions to build with. Nothing is written: see `save_regions`.

    Parameters
    ----------
    regions_file
        survey_data/map/regions.csv, whether or not it exists.
    release_file
        release.json of the last published site, if there is one.
    published_before
        Whether anything shows that a map of this town was published, here or elsewhere.
    premises, boundary_cells, rule, accept_loss
        As for `updating.update_regions`.

    Returns
    -------
    Regions
        None at all for a town that never had a map and holds too few premises for one.
    tuple of Problem
        Notes on what changed.

    Raises
    ------
    InputError
        If the file is faulty, is finer than the release, or is lost and nothing can replace it.
    """
    release = read_release(release_file) if release_file and release_file.exists() else None
    notes: tuple[Problem, ...] = ()
    if regions_file.exists():
        frozen: Regions | None = load_regions(regions_file)
    else:
        frozen = recovered_regions(release) if release else None
        if frozen is not None:
            notes = (_recovered_note(),)
        elif published_before:
            raise InputError(_lost())
    if frozen is None:
        return first_regions(premises, boundary_cells, rule=rule), notes
    if release is not None and release.has_map:
        refuse_split(frozen, [region.cells for region in release.regions])
    regions, changes = update_regions(
        frozen, premises, boundary_cells, rule=rule, accept_loss=accept_loss
    )
    return regions, (*notes, *changes)


def read_release(path: Path) -> PublicRelease:
    """Read a published release; raise InputError if it is broken."""
    try:
        return release_from_json(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, ValidationError):
        raise InputError(_release_broken()) from None


def _release_broken() -> Problem:
    return Problem(
        code="release-unreadable",
        what="The last published release cannot be read, so it cannot be checked that the map "
        "stays "
        "no finer than the one people have.",
        next_step="Fetch data/release.json from your website into site/data/ and build again.",
        file="site/data/release.json",
    )


def _recovered_note() -> Problem:
    return Problem(
        code="regions-recovered",
        what="The file was missing; the regions were recovered from the last published release.",
        next_step="Nothing is needed. Keep the file with your data, and in your backups.",
        file=REGIONS_FILE,
    )


def _lost() -> Problem:
    return Problem(
        code="regions-lost",
        what="A map of this town has been published, but the file of its regions is gone and "
        "no release "
        "is at hand. New squares, laid over the old ones, would show more than either map may.",
        next_step="Put the file back from a backup, or fetch data/release.json from your "
        "website into "
        "site/data/.",
        file=REGIONS_FILE,
    )
