"""Says what is wrong with a command line in the words of the rest: what, then what to type."""

from __future__ import annotations

import click

from eaveline.errors import Problem

_TOO_MANY = "Got unexpected extra argument"
"""How Click begins when words are left over; a test pins it."""


def misuse(error: click.ClickException, *, typed: str) -> Problem:
    """Return a command line that cannot be run as a problem.

    Parameters
    ----------
    error
        Click's own exception. What was typed is not repeated but for an option's name, since it
        may be an address.
    typed
        What was typed to start the program.
    """
    # Click's parser does not tell which command it was at.
    context = error.ctx if isinstance(error, click.UsageError) else None
    verb = f" {context.info_name}" if context is not None and context.parent is not None else ""
    step = f"Type {typed}{verb} --help to see what it takes, with examples."
    return Problem("command-misused", _what(error), step)


def _what(error: click.ClickException) -> str:
    if isinstance(error, click.MissingParameter) and error.param is not None:
        return f"{_named(error.param)} is missing."
    if isinstance(error, click.BadParameter) and error.param is not None:
        return f"{_named(error.param)} {_needs(error.param.type, error.message)}."
    if isinstance(error, click.NoSuchOption):
        near = f" Did you mean {error.possibilities[0]}?" if error.possibilities else ""
        return f"There is no option {error.option_name}.{near}"
    if isinstance(error, click.BadOptionUsage):
        alone = error.message.endswith("does not take a value.")
        needs = "takes no value" if alone else "needs something after it"
        return f"{error.option_name} {needs}."
    if error.message.startswith(_TOO_MANY):
        return (
            "There are more words than it takes. One that has spaces in it, such as an address or"
            " a folder, goes between quotation marks."
        )
    return error.message


def _named(parameter: click.Parameter) -> str:
    return (
        parameter.human_readable_name
        if isinstance(parameter, click.Argument)
        else max(parameter.opts, key=len)
    )


def _needs(kind: click.ParamType[object], said: str) -> str:
    """Return what a parameter of a kind takes, as the end of a sentence."""
    if isinstance(kind, click.IntRange):
        return f"needs a whole number from {kind.min:,} to {kind.max:,}"
    if isinstance(kind, click.FloatRange):
        return f"needs a number from {kind.min:,} to {kind.max:,}, without signs"
    if isinstance(kind, click.Choice):
        return f"needs one of {', '.join(map(str, kind.choices))}"
    if isinstance(kind, click.Path):
        for end, told in (
            ("does not exist.", "names a file that is not there"),
            ("is a file.", "names a file where a folder is needed"),
            ("is a directory.", "names a folder where a file is needed"),
            ("is not readable.", "names what you are not allowed to read"),
        ):
            if said.endswith(end):
                return told
        return "needs a path"
    return "needs a word"
