"""Takes a printed paper from the last build where printing it again would give the same bytes.

A long council list means thousands of papers, and printing is what takes the time. The same
words through the same template and the same version of the printer give the same bytes, so a
digest of these three is remembered beside the digest of what was printed.
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

from eaveline.papers.officer.document import Document
from eaveline.papers.officer.typeset import printing_digest, to_pdf

PRINTED_FILE = ".printed.json"


class PrintedBefore:
    """What the last build printed into a private folder."""

    def __init__(self, private: Path) -> None:
        self._private = private
        self._before = _remembered(private / PRINTED_FILE)
        self._now: dict[str, tuple[str, str]] = {}

    def __repr__(self) -> str:
        """Show a count only."""
        return f"<PrintedBefore: {len(self._before)}>"

    def pdf(self, name: str, document: Document) -> bytes:
        """Return a paper as `to_pdf` does, from the last build if it is the same there.

        Parameters
        ----------
        name
            Below the private folder.
        document
            The paper.
        """
        source = printing_digest(document)
        printed = self._kept(name, source)
        if printed is None:
            printed = to_pdf(document)
        self._now[name] = source, hashlib.sha256(printed).hexdigest()
        return printed

    def to_json(self) -> bytes:
        """Return what the next build must know, to be written as `PRINTED_FILE`."""
        return (json.dumps(self._now, indent=1, sort_keys=True) + "\n").encode()

    def _kept(self, name: str, source: str) -> bytes | None:
        """Return the paper of the last build, unless it or what it was made from has changed."""
        if name not in self._before or self._before[name][0] != source:
            return None
        try:
            printed = (self._private / name).read_bytes()
        except OSError:
            return None
        same = hashlib.sha256(printed).hexdigest() == self._before[name][1]
        return printed if same else None


def _remembered(path: Path) -> dict[str, tuple[str, str]]:
    """Return sources and digests by name; a list that cannot be read means printing it all."""
    try:
        told = json.loads(path.read_text(encoding="utf-8"))
        return {str(name): (str(source), str(digest)) for name, (source, digest) in told.items()}
    except (OSError, ValueError, TypeError, AttributeError):
        return {}
