"""How a cleaner says that it cannot vouch for a file."""

from __future__ import annotations


class CannotCleanError(Exception):
    """The file may keep something hidden.

    Parameters
    ----------
    code
        A problem's code.
    what, next_step
        For the person who put the file there; nothing of its content.
    """

    def __init__(self, code: str, what: str, next_step: str) -> None:
        """Keep the three parts."""
        super().__init__(what)
        self.code, self.what, self.next_step = code, what, next_step
