"""What `--help` says, and completion in a shell."""

from __future__ import annotations

import shlex
from pathlib import Path

import click
import pytest
from click.shell_completion import BashComplete

from eaveline.cli import command
from eaveline.errors import ExitCode
from eaveline.manual import GROUP, IN_ORDER_OF_USE, MANUALS, manual_of

VERBS = sorted(command.commands)


def help_of(verb: str | None = None) -> str:
    top = click.Context(command, info_name="eaveline", terminal_width=80, max_content_width=80)
    if verb is None:
        return command.get_help(top)
    told = command.commands[verb]
    return told.get_help(
        click.Context(told, info_name=verb, parent=top, terminal_width=80, max_content_width=80)
    )


def test_every_command_has_a_manual_and_a_place_in_the_list() -> None:
    assert set(MANUALS) == set(VERBS) == set(IN_ORDER_OF_USE)
    listed = help_of().partition("Commands:")[2].partition("Examples:")[0]
    assert [line.split()[0] for line in listed.strip().splitlines()] == list(IN_ORDER_OF_USE)
    # Nothing is cut off.
    assert "..." not in listed


@pytest.mark.parametrize("verb", VERBS)
def test_help_says_what_is_read_written_and_answered(verb: str) -> None:
    text = help_of(verb)
    for section in ("Arguments:", "Options:", "Examples:", "Writes:", "Exit codes:"):
        assert section in text, section
    assert max(map(len, text.splitlines())) <= 80
    told = command.commands[verb]
    named = {name for name, _ in manual_of(verb).arguments}
    assert named == {
        parameter.make_metavar(click.Context(told)).strip("[]").partition("{")[0] or "SHELL"
        for parameter in told.params
        if isinstance(parameter, click.Argument)
    }


@pytest.mark.parametrize("verb", [None, *VERBS])
def test_exit_codes_are_those_the_command_gives(verb: str | None) -> None:
    told = {int(code) for code, _ in manual_of(verb).exit_codes}
    assert told <= {*ExitCode, 130}
    assert {ExitCode.BUILT, ExitCode.BAD_INPUT, ExitCode.OUR_FAULT} <= told
    # Only building and auditing can end in a refusal.
    assert (ExitCode.REFUSED in told) == (verb in (None, "build", "audit"))


@pytest.mark.parametrize(
    "example",
    [line for manual in (GROUP, *MANUALS.values()) for line, _ in manual.examples],
)
def test_examples_can_be_typed_as_they_stand(
    example: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    released = tmp_path / "site" / "data" / "release.json"
    released.parent.mkdir(parents=True)
    released.touch()
    line = example.removeprefix('eval "$(').removesuffix(')"').partition(" > ")[0]
    program, *words = shlex.split(line)
    assert program == "eaveline"
    if words[0] not in command.commands:
        words.insert(0, "build")
    verb, *rest = words
    if "--help" in rest:
        with pytest.raises(click.exceptions.Exit):
            command.commands[verb].make_context(verb, rest)
    else:
        command.commands[verb].make_context(verb, rest)


def completed(line: str) -> list[str]:
    words = line.split(" ")
    complete = BashComplete(command, {}, "eaveline", "_EAVELINE_COMPLETE")
    return [item.value for item in complete.get_completions(words[1:-1], words[-1])]


def test_a_shell_completes_verbs_and_options() -> None:
    assert completed("eaveline p") == ["preview", "publish", "planning"]
    assert completed("eaveline ") == list(IN_ORDER_OF_USE)
    assert "--zip" in completed("eaveline publish --")
    assert completed("eaveline completion ") == ["bash", "zsh", "fish"]


def test_examples_are_what_the_reader_types() -> None:
    top = click.Context(command, info_name="python3 build", terminal_width=80)
    told = command.commands["build"]
    text = told.get_help(click.Context(told, info_name="build", parent=top, terminal_width=80))
    assert "python3 build --boxes 20" in text
    assert "eaveline" not in text.partition("Examples:")[2].partition("Reads:")[0]
