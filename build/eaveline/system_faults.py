"""Says in plain words what the computer refused: a full disc, a file that another program holds."""

from __future__ import annotations

import errno
from pathlib import Path

from eaveline.errors import Problem

_FOLDERS = frozenset({"private", "site", "survey_data", "content", "theme"})
_NO_ROOM = frozenset({errno.ENOSPC, errno.EDQUOT})


def refused_by_system(error: OSError) -> Problem:
    """Return a fault of the system as a problem; the file is named as the town's folder has it.

    Parameters
    ----------
    error
        What reading or writing raised.
    """
    if error.errno in _NO_ROOM:
        return Problem(
            "disc-full",
            "The disc is full. What could not be written whole was left as it was.",
            "Make room on it, and run the command again.",
        )
    named = error.filename2 or error.filename
    return Problem(
        "file-refused",
        f"The computer does not let this file be read or written ({type(error).__name__}).",
        "Close whatever has it open (a spreadsheet, a GIS), check that you may write there, and run"
        " the command again.",
        file=_below_town(Path(str(named))) if named else None,
    )


def _below_town(path: Path) -> str:
    """Return a path from the last folder of a town that it goes through."""
    parts = path.with_name(path.name.removesuffix(".part")).parts
    first = max((at for at, part in enumerate(parts) if part in _FOLDERS), default=len(parts) - 1)
    return "/".join(parts[first:])
