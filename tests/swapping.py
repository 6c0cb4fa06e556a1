"""Swaps all that a group's files hold of two houses, before anything is read."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from pathlib import Path

Address = tuple[str, str]
"""Street and house."""

SWAPPED_FOLDERS = ("nest_sites", "sightings", "requests", "planning")
"""Records whose place is a house. What boxes hang where anyone can see, so it stays."""


def swap_houses(
    folder: Path, first: Address, second: Address, *, kinds: Iterable[str] = SWAPPED_FOLDERS
) -> int:
    """Exchange two houses wherever a record names one as its place; return how many rows moved."""
    other = {first: second, second: first}
    moved = 0
    for kind in kinds:
        for path in sorted((folder / "survey_data" / kind).glob("*.csv")):
            rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"), newline="")))
            for row in rows:
                there = other.get((row.get("street", ""), row.get("house", "")))
                if there is not None:
                    row["street"], row["house"] = there
                    moved += 1
            _write(path, rows)
    return moved


def mix_files(folder: Path) -> None:
    """Spread each kind of record over two files with other names, their rows reversed."""
    for kind in sorted((folder / "survey_data").iterdir()):
        if not kind.is_dir() or kind.name == "map":
            continue
        for path in sorted(kind.glob("*.csv")):
            rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"), newline="")))
            rows.reverse()
            path.unlink()
            half = len(rows) // 2
            for name, part in ((f"zz-{path.name}", rows[:half]), (f"00-{path.name}", rows[half:])):
                if part:
                    _write(path.with_name(name), part)


def _write(path: Path, rows: list[dict[str, str]]) -> None:
    if not rows:
        return
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, fieldnames=list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
