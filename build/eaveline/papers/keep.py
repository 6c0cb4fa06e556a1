"""Writes private papers without ever losing what a person has changed in one."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path

MARKS_FILE = ".written.json"
"""Remembers the digest of each paper as it was written, to know an edited one."""


def write_papers(private: Path, papers: Mapping[str, bytes]) -> tuple[str, ...]:
    """Write papers into the private folder; set aside those that somebody has edited.

    Parameters
    ----------
    private
        The town's private folder; made if it is missing.
    papers
        Names below the folder, with forward slashes, and contents.

    Returns
    -------
    tuple of str
        Names under which edited papers were kept.
    """
    private.mkdir(parents=True, exist_ok=True)
    marks_path = private / MARKS_FILE
    marks: dict[str, str] = {}
    if marks_path.is_file():
        try:
            marks = dict(json.loads(marks_path.read_text(encoding="utf-8")))
        except (ValueError, TypeError):  # a damaged list only means that more is set aside
            marks = {}
    kept = []
    for name, content in sorted(papers.items()):
        path = private / name
        path.parent.mkdir(parents=True, exist_ok=True)
        digest = hashlib.sha256(content).hexdigest()
        if path.is_file():
            present = hashlib.sha256(path.read_bytes()).hexdigest()
            if present == digest:
                marks[name] = digest
                continue
            if marks.get(name) != present:
                aside = _free_name(path)
                path.replace(aside)
                kept.append(aside.relative_to(private).as_posix())
        _write_whole(path, content)
        marks[name] = digest
    _write_whole(marks_path, (json.dumps(marks, indent=1, sort_keys=True) + "\n").encode())
    return tuple(kept)


def _free_name(path: Path) -> Path:
    number = 1
    while (aside := path.with_name(f"{path.stem} - your edits {number}{path.suffix}")).exists():
        number += 1
    return aside


def _write_whole(path: Path, content: bytes) -> None:
    """Write beside the file first, so that a full disc leaves the old one whole."""
    part = path.with_name(path.name + ".part")
    part.write_bytes(content)
    part.replace(path)
