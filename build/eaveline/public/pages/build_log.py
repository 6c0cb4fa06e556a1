"""What Pelican logs while building, turned into problems a person can act on.

Pelican logs a broken page or plugin and carries on without it. Here every warning is kept and
stops the build, all of them told together.
"""

from __future__ import annotations

import logging
import re
import sys
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Self

import pelican.log  # noqa: F401 - sets the logger class, so it has to come first

from eaveline.errors import EavelineError, InputError, Problem

HARMLESS = re.compile(r"^(Docutils has no localization|Watched path does not exist)")
"""Messages about Pelican's own set-up that no page depends on."""


class ContentError(ValueError):
    """A content file cannot be used; the message is in words for its author."""

    def __init__(
        self,
        what: str,
        *,
        code: str = "content-unreadable",
        next_step: str = "Mend the file, or move it out of content/, and build again.",
    ) -> None:
        """Keep what a problem has to say."""
        super().__init__(what)
        self.code = code
        self.next_step = next_step


class BuildLog(logging.Handler):
    """Collects problems while it is open.

    Parameters
    ----------
    content
        The folder of hand-written pages, to name files by.
    """

    def __init__(self, content: Path) -> None:
        """Start empty."""
        super().__init__(level=logging.WARNING)
        self._content = content
        self._problems: dict[Problem, None] = {}
        self._faults: list[Problem] = []
        self.page: str | None = None
        """The content file being written, for messages that do not name one."""

    def __enter__(self) -> Self:
        """Listen to everything that Pelican logs, and keep it off the terminal."""
        root = logging.getLogger()
        self._others = list(root.handlers)
        root.handlers = [self]
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Stop listening."""
        logging.getLogger().handlers = self._others

    def add(self, problem: Problem) -> None:
        """Keep a problem that was found in another way than through the log."""
        self._problems[problem] = None

    def emit(self, record: logging.LogRecord) -> None:
        """Keep one logged message as a problem."""
        # Pelican logs inside its except blocks, so the cause is still at hand.
        cause = sys.exc_info()[1]
        message = record.getMessage()
        if HARMLESS.match(message):
            return
        arguments = record.args if isinstance(record.args, tuple) else ()
        words = [str(argument) for argument in arguments]
        problems = self._problems_of(str(record.msg), words, cause)
        for problem in problems:
            self.add(problem)
        if not problems:
            self._faults.append(_fault(message, cause))

    def _problems_of(
        self, template: str, words: list[str], cause: BaseException | None
    ) -> list[Problem]:
        """Return what a message says about pages of content/; nothing if it is about no page.

        Parameters
        ----------
        template
            The message as Pelican's source has it, before its words are filled in.
        words
            What is filled in.
        cause
            The exception that was being handled.
        """
        readers: dict[str, Callable[[], list[Problem]]] = {
            "Could not process": lambda: [self._unreadable(words[0], cause)],
            "Skipping %s: could not find": lambda: [self._missing_line(words[0], words[1])],
            "Unknown status": lambda: [self._unknown_status(words[1])],
            "Unable to find": lambda: [self._broken_link(words[0])],
            "Empty alt attribute": lambda: [self._undescribed(words[0], words[1])],
            "There are %s": lambda: [self._same_address(w) for w in words if w.endswith(".md")],
        }
        for opening, problems in readers.items():
            if template.startswith(opening):
                return problems()
        return []

    def raise_if_any(self) -> None:
        """Raise every problem found so far.

        Raises
        ------
        InputError
            If pages of content/ have to be mended.
        EavelineError
            If something else went wrong.
        """
        if self._faults:
            raise EavelineError([*self._faults, *self._problems])
        if self._problems:
            raise InputError(sorted(self._problems, key=str))

    def _unreadable(self, file: str, cause: BaseException | None) -> Problem:
        if isinstance(cause, ContentError):
            return Problem(cause.code, str(cause), cause.next_step, file=self._shown(file))
        if isinstance(cause, UnicodeDecodeError):
            what = "The file is not plain text in UTF-8."
        else:
            what = f"The file cannot be read as a page ({type(cause).__name__})."
        return Problem(
            code="content-unreadable",
            what=what,
            next_step="Mend the file, or move it out of content/, and build again.",
            file=self._shown(file),
        )

    def _missing_line(self, file: str, name: str) -> Problem:
        example = {"title": "Title: Swifts are back", "date": "Date: 2026-05-03"}.get(
            name, f"{name}:"
        )
        return Problem(
            code=f"content-no-{name}",
            what=f"The page has no {name}.",
            next_step=f"Begin the file with a line such as {example}",
            file=self._shown(file),
        )

    def _unknown_status(self, file: str) -> Problem:
        return Problem(
            code="content-unknown-status",
            what="The line Status holds a word that is not known.",
            next_step="Write published, hidden or draft, or remove the line.",
            file=self._shown(file),
        )

    def _broken_link(self, address: str) -> Problem:
        return Problem(
            code="content-broken-link",
            what=f"A link leads to {address}, which is not there.",
            next_step="Check the spelling, or add the file.",
            file=self._shown(self.page) if self.page else None,
        )

    def _undescribed(self, image: str, file: str) -> Problem:
        return Problem(
            code="content-image-undescribed",
            what=f"The image {image} has no description for those who cannot see it.",
            next_step="Say what it shows in the square brackets: ![A swift at a box](...).",
            file=self._shown(file),
        )

    def _same_address(self, file: str) -> Problem:
        return Problem(
            code="content-same-address",
            what="Another file's name or its line Slug comes to the same address.",
            next_step="Give one of the two a different name.",
            file=self._shown(file),
        )

    def _shown(self, file: str) -> str:
        """Name a file below the town's folder, not where that lies."""
        path = Path(file)
        if path.is_absolute():
            path = path.relative_to(self._content) if path.is_relative_to(self._content) else path
        return f"content/{path.as_posix()}" if not path.is_absolute() else path.name


def _fault(message: str, cause: BaseException | None) -> Problem:
    """Return a message that is about no page as a problem, with all that is known."""
    reason = f" ({type(cause).__name__}: {cause})" if cause else ""
    return Problem(
        code="site-builder-fault",
        what=f"The builder of the site reported: {message}{reason}",
        next_step="Undo the last change to theme/ or content/; if that does not help, "
        "report it with these words.",
    )
