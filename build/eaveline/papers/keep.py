"""Writes private papers without ever losing what a person has changed in one."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path

from eaveline.errors import Problem
from eaveline.whole_files import write_whole

MARKS_FILE = ".written.json"
"""Remembers the digest of each paper as it was written, to know an edited one."""
_EDITS = " - your edits "
_MOST_NAMED = 10


def write_papers(
    private: Path, papers: Mapping[str, bytes], *, gone: Callable[[str], bool] = lambda _: False
) -> tuple[str, ...]:
    """Write papers into the private folder; set aside those that somebody has edited.

    Parameters
    ----------
    private
        The town's private folder; made if it is missing.
    papers
        Names below the folder, with forward slashes, and contents.
    gone
        Of a paper written earlier and made no more, whether it is removed, unless somebody has
        edited it.

    Returns
    -------
    tuple of str
        Names under which edited papers were kept.
    """
    private.mkdir(parents=True, exist_ok=True)
    marks = _marks(private)
    kept = []
    for name, content in sorted(papers.items()):
        path = private / name
        digest = hashlib.sha256(content).hexdigest()
        if path.is_file():
            present = _digest(path)
            if present == digest:
                marks[name] = digest
                continue
            if marks.get(name) != present:
                aside = _free_name(path)
                path.replace(aside)
                kept.append(aside.relative_to(private).as_posix())
        write_whole(path, content)
        marks[name] = digest
    for name in sorted(marks.keys() - papers.keys()):
        if gone(name) and _is_as_written(private / name, marks[name]):
            (private / name).unlink()
            with suppress(OSError):  # other papers are left in the folder
                (private / name).parent.rmdir()
            del marks[name]
    write_whole(private / MARKS_FILE, (json.dumps(marks, indent=1, sort_keys=True) + "\n").encode())
    return tuple(kept)


def edited_papers(private: Path) -> tuple[Problem, ...]:
    """Say which papers somebody has edited: none of them forgets anyone.

    Parameters
    ----------
    private
        The town's private folder as the last build left it, and people since.
    """
    edited = {
        name
        for name, digest in _marks(private).items()
        if (private / name).is_file() and not _is_as_written(private / name, digest)
    } | {path.relative_to(private).as_posix() for path in private.rglob(f"*{_EDITS}*")}
    if not edited:
        return ()
    names = sorted(edited)
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    return (
        Problem(
            "edited-papers-may-remember",
            "Somebody is to be forgotten, and papers that people have edited are never written "
            f"over or removed: {', '.join(names[:_MOST_NAMED])}{more}.",
            "Look through them, and delete those that name whoever is in forget.csv.",
            file="private",
        ),
    )


def _marks(private: Path) -> dict[str, str]:
    try:
        return dict(json.loads((private / MARKS_FILE).read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):  # a lost list only means that more is set aside
        return {}


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _is_as_written(path: Path, digest: str) -> bool:
    return path.is_file() and _digest(path) == digest


def _free_name(path: Path) -> Path:
    number = 1
    while (aside := path.with_name(f"{path.stem}{_EDITS}{number}{path.suffix}")).exists():
        number += 1
    return aside
