"""The command line: parse, call, exit code."""

from __future__ import annotations

import datetime as dt
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from eaveline import __version__
from eaveline.errors import EavelineError, ExitCode

if TYPE_CHECKING:
    from rich.console import Console

VERBS_HELP = """Turn a swift and house martin group's survey spreadsheets into its colony site.

Without a verb, `build` is run on the current folder.
"""


class DefaultBuild(click.Group):
    """A group that takes `build` for granted."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Put `build` in front unless a verb or a question about the command comes first."""
        if not args or (
            args[0] not in self.commands and args[0] not in ("--help", "-h", "--version")
        ):
            args = ["build", *args]
        return super().parse_args(ctx, args)


def _town_folder(value: str | None) -> Path:
    return Path(value) if value is not None else Path.cwd()


def _today() -> dt.date:
    """Return the group's own day; records dated later are held."""
    return dt.date.today()  # noqa: DTZ011 - the calendar on the volunteer's wall


FOLDER = click.argument("folder", required=False, type=click.Path(file_okay=False))


@click.group(
    cls=DefaultBuild, help=VERBS_HELP, context_settings={"help_option_names": ["-h", "--help"]}
)
@click.version_option(__version__, prog_name="eaveline")
def command() -> None:
    """Group the verbs."""


@command.command()
@FOLDER
@click.option(
    "--premises-are-gone",
    is_flag=True,
    help="Join squares for good although many premises are gone from the list.",
)
@click.option(
    "--from-release",
    "release_file",
    type=click.Path(exists=True, dir_okay=False),
    help="Build the site again from a published release.json; no record goes into it.",
)
@click.option(
    "--to", "out", type=click.Path(), help="With --from-release: the new folder for the site."
)
def build(
    *, folder: str | None, premises_are_gone: bool, release_file: str | None, out: str | None
) -> None:
    """Check, merge, blur, build and audit the town in FOLDER.

    The site goes to site/, the group's own papers to private/. The old site stays until the
    new one has passed the audit.
    """
    from eaveline import pipeline, talk  # noqa: PLC0415 - `--help` loads no tables

    town = _town_folder(folder)
    if release_file or out:
        if not (release_file and out):
            raise click.UsageError("--from-release and --to go together.")
        from eaveline.public.records import release_from_json  # noqa: PLC0415

        try:
            release = release_from_json(Path(release_file).read_text(encoding="utf-8"))
        except ValueError:
            raise click.UsageError(
                "The file given with --from-release is not a release.json."
            ) from None
        with talk.progress() as progress:
            pipeline.site_from_release(
                town, release, out=Path(out), today=_today(), progress=progress
            )
        click.echo(f"The site is in {out}.")
        return
    with talk.progress() as progress:
        outcome = pipeline.build_town(
            town, today=_today(), accept_loss=premises_are_gone, progress=progress
        )
    talk.show_summary(outcome)


@command.command()
@FOLDER
def check(folder: str | None) -> None:
    """Check the records in FOLDER and list what is wrong, without building anything."""
    from eaveline import pipeline, talk  # noqa: PLC0415

    with talk.progress() as progress:
        intake, town = pipeline.check_town(_town_folder(folder), today=_today(), progress=progress)
    talk.show_check(intake, town.notices)


@command.command()
@FOLDER
def audit(folder: str | None) -> None:
    """Read the built site in FOLDER again as a stranger would."""
    from eaveline import pipeline, talk  # noqa: PLC0415

    with talk.progress() as progress:
        result = pipeline.audit_town(_town_folder(folder), today=_today(), progress=progress)
    talk.show_audit(result)


def _error_console() -> Console:
    from rich.console import Console  # noqa: PLC0415

    return Console(stderr=True, highlight=False)


def main() -> None:
    """Run the command and turn every ending into an exit code."""
    try:
        command.main(prog_name="eaveline", standalone_mode=False)
    except EavelineError as error:
        console = _error_console()
        if error.exit_code is ExitCode.REFUSED:
            console.print(
                "The site was not published: the audit found something. The old one still stands."
            )
        for problem in error.problems:
            console.print(str(problem), markup=False, soft_wrap=True)
        sys.exit(error.exit_code)
    except click.ClickException as error:
        error.show()
        sys.exit(ExitCode.BAD_INPUT)
    except (click.Abort, KeyboardInterrupt):
        click.echo("Stopped. Nothing was replaced.", err=True)
        sys.exit(130)
    except Exception as error:  # noqa: BLE001 - the last resort: no traceback, no private value
        import traceback  # noqa: PLC0415

        frame = traceback.extract_tb(error.__traceback__)[-1]
        _error_console().print(
            f"Eaveline itself has a fault ({type(error).__name__} in {Path(frame.filename).name},"
            f" line {frame.lineno}). Nothing was replaced. Please report this line. [our-fault]",
            markup=False,
            soft_wrap=True,
        )
        sys.exit(ExitCode.OUR_FAULT)
