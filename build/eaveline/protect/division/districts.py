"""Divides a town into districts of whole regions, large enough to tell how boxes are used.

Districts come from the regions and their premises alone: a town is cut in two across its longer
side, at whole regions, as long as both halves keep `PREMISES_PER_MINIMUM` times the minimum count.
Like regions they are frozen once published, in survey_data/map/districts.csv (one row for each
cell), and change only by joining: where a joined region lies in two, the two become one.
"""

from __future__ import annotations

import contextlib
from collections.abc import Mapping
from pathlib import Path

import numpy as np

from eaveline.errors import InputError, Problem
from eaveline.protect.division.kept_tables import check_letters, read_table, save_table
from eaveline.protect.division.regions import Integers, Regions
from eaveline.public.records import PublicRelease

DISTRICTS_FILE = "map/districts.csv"
PREMISES_PER_MINIMUM = 750
"""A district has so many times the minimum count of premises, since boxes hang on few of them and
a season's checks reach fewer (our choice, no source)."""
_JOINED_FROM = 500
"""D502 was D02 and has been joined with others, of lower numbers: the highest stays in use, so that
a new district cannot take the number of one that is gone."""
COLUMNS = ("district", "cell_i", "cell_j", "check")

Districts = tuple[str, ...]
"""The district (D01 and so on) of each region, in the order of the regions."""
_CellMap = dict[tuple[int, int], str]


def make_districts(regions: Regions) -> Districts:
    """Return the districts of regions that have none yet; all D01 in a small town."""
    if not regions.ids:
        return ()
    centres = np.array([np.mean(cells, axis=0) for cells in regions.cells])
    least = PREMISES_PER_MINIMUM * regions.rule.minimum_premises
    parts = _halved(np.arange(len(regions.ids)), centres, regions.premises, least=least)
    # From north to south and west to east, as a page is read.
    parts.sort(key=lambda part: (-centres[part, 1].mean(), centres[part, 0].mean()))
    names = np.empty(len(regions.ids), dtype=object)
    for number, part in enumerate(parts, start=1):
        names[part] = f"D{number:02d}"
    return tuple(names)


def _halved(
    part: Integers, centres: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
    premises: Integers, *, least: int,
) -> list[Integers]:  # fmt: skip
    """Cut a set of regions in two halves of premises, and each of them again."""
    spans = np.ptp(centres[part], axis=0)
    first, second = (0, 1) if spans[0] >= spans[1] else (1, 0)
    order = part[np.lexsort((part, centres[part, second], centres[part, first]))]
    running = np.cumsum(premises[order])
    fits = np.flatnonzero((running >= least) & (running[-1] - running >= least))
    if not len(fits):
        return [part]
    cut = fits[np.abs(2 * running[fits] - running[-1]).argmin()] + 1
    return [
        small
        for half in (order[:cut], order[cut:])
        for small in _halved(half, centres, premises, least=least)
    ]


def update_districts(frozen: Mapping[tuple[int, int], str], regions: Regions) -> Districts:
    """Return today's districts of regions: the frozen ones, joined where a region lies in two.

    Regions of new cells alone are a new district: added to a published one, their few
    boxes would be its count less the one published before. A joined district has an id that
    says so: see `is_joined`.
    """
    held = [
        sorted({frozen[c.i, c.j] for c in cells if (c.i, c.j) in frozen}) for cells in regions.cells
    ]
    if not any(held):
        return make_districts(regions)
    leader = {name: name for names in held for name in names}
    grown: set[str] = set()

    def lead(name: str) -> str:
        while leader[name] != name:
            name = leader[name]
        return name

    for names in held:
        for name in names[1:]:
            first, second = sorted((lead(names[0]), lead(name)), key=_number, reverse=True)
            if first != second:
                leader[second] = first
                grown.add(first)
    new = _name(max(map(_number, leader), default=0) + 1)
    found = [lead(names[0]) if names else new for names in held]
    return tuple(
        _name(_JOINED_FROM + _number(name))
        if any(lead(each) == name for each in grown) or is_joined(name)
        else name
        for name in found
    )


def is_joined(name: str) -> bool:
    """Return whether a district was joined from several that had been published."""
    return name[1:].isdigit() and int(name[1:]) > _JOINED_FROM


def _name(number: int) -> str:
    return f"D{number:02d}"


def _number(name: str) -> int:
    """Return the number a district had at first."""
    return int(name[1:]) % _JOINED_FROM


def districts_for_build(
    districts_file: Path,
    *,
    release: PublicRelease | None,
    published_before: bool,
    regions: Regions,
) -> Districts:
    """Return the districts to build with; nothing is written, see `save_districts`.

    Parameters
    ----------
    districts_file
        survey_data/map/districts.csv, whether or not it exists.
    release
        The last published one, if it is at hand.
    published_before
        Whether anything shows that a map of this town was published.
    regions
        Today's regions.

    Raises
    ------
    InputError
        If the file is faulty, cuts up districts of the release, or is lost for good.
    """
    if not regions.ids:
        return ()
    published = _published(release) if release is not None else {}
    if districts_file.exists():
        districts = update_districts(_load(districts_file), regions)
    elif published:
        districts = update_districts(published, regions)
    elif release is not None or not published_before:
        districts = make_districts(regions)
    else:
        raise InputError(
            _fault(
                "districts-lost",
                "A map of this town has been published, but the file of its districts is gone and "
                "no release is at hand.",
            )
        )
    _refuse_split(published, regions, districts)
    return districts


def _published(release: PublicRelease) -> _CellMap:
    cells = {region.id: region.cells for region in release.regions}
    return {
        (cell.i, cell.j): district.id
        for district in release.districts
        for region in district.regions
        for cell in cells.get(region, ())
    }


def _refuse_split(published: _CellMap, regions: Regions, districts: Districts) -> None:
    today = _by_cell(regions, districts)
    seen: dict[str, set[str | None]] = {}
    for cell, name in published.items():
        seen.setdefault(name, set()).add(today.get(cell))
    if any(len(names) > 1 for names in seen.values()):
        raise InputError(
            _fault("districts-split", "The file cuts up districts that the last release has whole.")
        )


def _by_cell(regions: Regions, districts: Districts) -> _CellMap:
    return {
        (cell.i, cell.j): name
        for cells, name in zip(regions.cells, districts, strict=True)
        for cell in cells
    }


def save_districts(path: Path, regions: Regions, districts: Districts) -> None:
    """Write the file, all or nothing; one that says the same is left alone."""
    by_cell = _by_cell(regions, districts)
    check = _checksum(by_cell)
    rows = ((name, i, j, check) for (i, j), name in sorted(by_cell.items()))
    save_table(path, COLUMNS, rows)


def _load(path: Path) -> _CellMap:
    missing, rows = read_table(path, COLUMNS, file=DISTRICTS_FILE, code="districts-unreadable")
    by_cell: _CellMap = {}
    if not missing:
        with contextlib.suppress(ValueError):
            by_cell = {(int(r["cell_i"]), int(r["cell_j"])): r["district"] for _, r in rows}
    checks = {row["check"] for _, row in rows if "check" in row}
    if checks != {_checksum(by_cell)} or len(by_cell) != len(rows):
        raise InputError(
            _fault("districts-edited", "The file is not as it was saved: a row or a cell differs.")
        )
    return by_cell


def _checksum(by_cell: _CellMap) -> str:
    return check_letters(f"{i} {j} {name}" for (i, j), name in sorted(by_cell.items()))


def _fault(code: str, what: str) -> Problem:
    return Problem(
        code=code,
        what=f"{what} Figures for other districts, laid over those already published, could be "
        "subtracted.",
        next_step="Put back a copy that was not edited; or remove it and fetch data/release.json "
        "from your website into site/data/, and the districts are recovered from there.",
        file=DISTRICTS_FILE,
    )
