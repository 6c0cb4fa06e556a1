"""What Pelican logs while building, turned into problems a person can act on.

Pelican logs a broken page or plugin and carries on without it. Here every warning is kept and
stops the build, all of them told together.
"""

from __future__ import annotations

import logging
import re
import sys
from pathlib import Path
from types import TracebackType
from typing import Self

import pelican.log  # noqa: F401 - sets the logger class, so it has to come first
from eaveline.errors import EavelineError, InputError, Problem

HARMLESS = re.compile(r"^(Docutils has no localization|Watched path does not exist)")
"""Messages about Pelican's own set-up that no page depends on."""


class ContentError(ValueError):
    """A content file cannot be used; the message is in words for its author."""


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
        args = record.args if isinstance(record.args, tuple) else ()
        template = str(record.msg)
        if template.startswith("Could not process"):
            self.add(self._unreadable(str(args[0]), cause))
        elif template.startswith("Skipping %s: could not find information"):
            self.add(self._missing_line(str(args[0]), str(args[1])))
        elif template.startswith("Unknown status"):
            self.add(
                Problem(
                    code="content-unknown-status",
                    what="The line Status holds a word that is not known.",
                    next_step="Write published, hidden or draft, or remove the line.",
                    file=self._shown(str(args[1])),
                )
            )
        elif template.startswith("Unable to find"):
            self.add(
                Problem(
                    code="content-broken-link",
                    what=f"A link leads to {args[0]}, which is not there.",
                    next_step="Check the spelling, or add the file.",
                    file=self._shown(self.page) if self.page else None,
                )
            )
        elif template.startswith("Empty alt attribute"):
            self.add(
                Problem(
                    code="content-image-undescribed",
                    what=f"The image {args[0]} has no description for those who cannot see it.",
                    next_step="Say what it shows, in the square brackets: ![A swift at a box](...).",
                    file=self._shown(str(args[1])),
                )
            )
        elif template.startswith("There are %s"):
            for file in (arg for arg in args if isinstance(arg, str) and arg.endswith(".md")):
                self.add(
                    Problem(
                        code="content-same-address",
                        what="Another file's name comes to the same address.",
                        next_step="Give one of them a name that differs in more than spaces and dots.",
                        file=self._shown(file),
                    )
                )
        else:
            reason = f" ({type(cause).__name__}: {cause})" if cause else ""
            self._faults.append(
                Problem(
                    code="site-builder-fault",
                    what=f"The builder of the site reported: {message}{reason}",
                    next_step="Undo the last change to theme/ or content/; if that does not help, "
                    "report it with this message.",
                )
            )

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
            what = str(cause)
        elif isinstance(cause, UnicodeDecodeError):
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
        example = {"title": "Title: Swifts are back", "date": "Date: 2026-05-03"}.get(name, f"{name}:")
        return Problem(
            code=f"content-no-{name}",
            what=f"The page has no {name}.",
            next_step=f"Begin the file with a line such as {example}",
            file=self._shown(file),
        )

    def _shown(self, file: str) -> str:
        """Name a file below the town's folder, not where that lies."""
        path = Path(file)
        if path.is_absolute():
            path = path.relative_to(self._content) if path.is_relative_to(self._content) else path
        return f"content/{path.as_posix()}" if not path.is_absolute() else path.name
