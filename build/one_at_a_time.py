"""Lets one command at a time set a folder up."""

from __future__ import annotations

import os
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path


@contextmanager
def alone_in(root: Path, *, waiting: Callable[[str], None]) -> Iterator[None]:
    """Wait until no other command sets up the same folder: two at once would spoil both.

    The lock is on the folder itself and goes with the process, so none is ever left behind.
    Windows cannot lock a folder; there, two at once are left to luck.
    """
    if sys.platform == "win32":
        yield
        return
    import fcntl  # noqa: PLC0415 - not on Windows

    folder = os.open(root, os.O_RDONLY)
    try:
        try:
            fcntl.flock(folder, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            waiting("Another command is setting up this folder; waiting for it.")
            fcntl.flock(folder, fcntl.LOCK_EX)
        yield
    finally:
        os.close(folder)
