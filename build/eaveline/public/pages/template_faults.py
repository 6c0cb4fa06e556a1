"""Tells which template is at fault, on which line, when a page cannot be made."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import jinja2

from eaveline.errors import Problem


def template_problem(error: Exception, *, own: Sequence[Path]) -> Problem | None:
    """Return an error as a problem of a template; None if no template of the town's has a part.

    Parameters
    ----------
    error
        What Jinja raised, or whatever the code in a template's braces came to.
    own
        The town's own theme folders.
    """
    places = list(_places(error))
    # A name that a template of ours lacks was meant to come from one of the town's.
    place = next((each for each in places if _below(each[0], own) is not None), None)
    if place is None and not isinstance(error, jinja2.TemplateError):
        return None
    file, row = place or (places[0] if places else (None, None))
    said = error.message if isinstance(error, jinja2.TemplateError) else str(error)
    return Problem(
        code="theme-template-broken",
        what=f"A template cannot be used: {(said or type(error).__name__).rstrip('.')}.",
        next_step="Mend it, or remove it from your theme folder so that the one that comes with "
        "Eaveline is used.",
        file=None if file is None else _below(file, own) or Path(file).name,
        row=row,
    )


def _places(error: Exception) -> Iterator[tuple[str, int | None]]:
    """Yield files and lines of templates, the innermost first."""
    if isinstance(error, jinja2.TemplateSyntaxError):
        yield error.filename or str(error.name), error.lineno
        return
    # Jinja rewrites tracebacks so that a frame in a template names its file and line.
    frames = []
    trace = error.__traceback__
    while trace is not None:
        frames.append((trace.tb_frame.f_code.co_filename, trace.tb_lineno))
        trace = trace.tb_next
    yield from (each for each in reversed(frames) if each[0].endswith((".html", ".xml")))
    if isinstance(error, jinja2.TemplateNotFound):
        yield str(error.name), None


def _below(file: str, own: Sequence[Path]) -> str | None:
    """Return a template's name in the town's folder, or None if it is none of the town's."""
    path = Path(file)
    return next(
        (f"theme/{path.relative_to(each).as_posix()}" for each in own if path.is_relative_to(each)),
        None,
    )
