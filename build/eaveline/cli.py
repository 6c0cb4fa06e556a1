"""The command line: parse, call, exit code."""

from __future__ import annotations

import datetime as dt
import io
import os
import sys
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from eaveline import __version__
from eaveline.errors import EavelineError, ExitCode
from eaveline.manual import GROUP, IN_ORDER_OF_USE, ManualCommand, typed_in
from eaveline.misused import misuse
from eaveline.system_faults import refused_by_system

if TYPE_CHECKING:
    from rich.console import Console

VERBS_HELP = """Turn a swift and house martin group's survey spreadsheets into its colony site.

Without a verb, `build` is run on the current folder.
"""


class DefaultBuild(click.Group):
    """A group that takes `build` for granted."""

    command_class = ManualCommand

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Put `build` in front unless a verb or a question about the command comes first."""
        asked = not args or (
            args[0] not in self.commands and args[0] not in ("--help", "-h", "--version")
        )
        # A shell that completes a line wants to hear of the verbs.
        if asked and not ctx.resilient_parsing:
            if args and not args[0].startswith("-") and not Path(args[0]).exists():
                self._refuse(args[0], ctx)
            args = ["build", *args]
        return super().parse_args(ctx, args)

    def _refuse(self, word: str, ctx: click.Context) -> NoReturn:
        near = get_close_matches(word, self.commands, n=1)
        meant = f" Did you mean {near[0]}?" if near else ""
        message = f"There is no command and no folder called {word!r}.{meant}"
        raise click.UsageError(message, ctx)

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the verbs in the order in which a group comes to need them."""
        del ctx
        return sorted(self.commands, key=IN_ORDER_OF_USE.index)

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write examples and exit codes."""
        GROUP.write(formatter, typed=typed_in(ctx))


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
    "--boxes", type=click.IntRange(0, 10_000), help="What if there were so many free boxes?"
)
@click.option(
    "--budget", type=click.FloatRange(0, 10_000_000), help="What if there were so many pounds?"
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
    *,
    folder: str | None,
    premises_are_gone: bool,
    boxes: int | None,
    budget: float | None,
    release_file: str | None,
    out: str | None,
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
    from eaveline.config import Stock  # noqa: PLC0415

    with talk.progress() as progress:
        outcome = pipeline.build_town(
            town,
            today=_today(),
            accept_loss=premises_are_gone,
            stock=Stock(boxes=boxes, budget_pounds=budget),
            progress=progress,
        )
    talk.show_summary(outcome)


@command.command()
@FOLDER
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "json"]),
    default="text",
    show_default=True,
    help="JSON is for machines.",
)
@click.option(
    "--schemas",
    type=click.Path(file_okay=False),
    help="Only write the table schemas and a template for each kind of record into this folder.",
)
def check(*, folder: str | None, form: str, schemas: str | None) -> None:
    """Check the records in FOLDER and list what is wrong, without building anything."""
    if schemas is not None:
        from eaveline.private.intake.table_schemas import schema_files  # noqa: PLC0415

        target = Path(schemas)
        target.mkdir(parents=True, exist_ok=True)
        for name, content in schema_files().items():
            (target / name).write_bytes(content)
        click.echo(f"The schemas and templates are in {schemas}.")
        return
    from eaveline import pipeline, talk  # noqa: PLC0415

    with talk.progress() as progress:
        intake, town = pipeline.check_town(_town_folder(folder), today=_today(), progress=progress)
    if form == "json":
        talk.print_check_json(intake, town.notices)
    else:
        talk.show_check(intake, town.notices)


@command.command()
@FOLDER
def audit(folder: str | None) -> None:
    """Read the built site in FOLDER again as a stranger would."""
    from eaveline import between_builds, talk  # noqa: PLC0415

    with talk.progress() as progress:
        result = between_builds.audit_town(_town_folder(folder), today=_today(), progress=progress)
    talk.show_audit(result)


@command.command()
@click.argument("folder", type=click.Path())
@click.option("--name", help="The town's name.")
@click.option("--nation", help="England, Scotland, Wales or Northern Ireland.")
@click.option("--centre", help="A grid reference near the middle of the town.")
@click.option("--group", help="The group's name.")
@click.option("--email", help="The group's public address.")
@click.option("--site-url", help="Where the site will stand; may be empty.")
def start(*, folder: str, **answers: str | None) -> None:
    """Start a new town in FOLDER: six questions, and every file it needs."""
    from eaveline.group.answers import town_of  # noqa: PLC0415
    from eaveline.group.asking import ask  # noqa: PLC0415
    from eaveline.group.start import check_folder, start_town  # noqa: PLC0415

    check_folder(Path(folder))
    start_town(Path(folder), town_of(ask(answers)))
    click.echo(
        f"Your town's folder is ready: {folder}\n\n"
        "Put a map of it into survey_data/map/ and your members' files into the other folders of\n"
        "survey_data/ (each has an empty form, and COLUMNS.md explains them). Then:\n\n"
        f'  {os.environ.get("EAVELINE_TYPED", "eaveline build")} "{folder}"'
    )


@command.command()
@FOLDER
@click.option("--port", type=click.IntRange(0, 65535), default=8008, show_default=True)
def preview(*, folder: str | None, port: int) -> None:
    """Show the site of the town in FOLDER on this computer, and rebuild it on every save.

    Nothing in FOLDER is changed; the page itself says what is wrong.
    """
    from eaveline.group.preview import preview_town  # noqa: PLC0415

    def ready(address: str) -> None:
        click.echo(f"Open {address} in a browser. Ctrl+C ends the preview.")

    try:
        preview_town(_town_folder(folder), port=port, today=_today, ready=ready)
    except KeyboardInterrupt:
        click.echo("The preview has ended.")


@command.command()
@FOLDER
@click.option("--folder", "target", type=click.Path(), help="Make this folder hold the site.")
@click.option("--zip", "archive", type=click.Path(), help="Write the site into this archive.")
@click.option("--branch", help="Make this git branch hold the site, as its one commit.")
@click.option(
    "--repository", type=click.Path(), help="With --branch: the git repository, if not FOLDER."
)
def publish(
    *,
    folder: str | None,
    target: str | None,
    archive: str | None,
    branch: str | None,
    repository: str | None,
) -> None:
    """Hand over the site of the town in FOLDER, and tell what changed since last time.

    A site that the audit has not read as it is, or that is older than the records, is refused.
    With none of the options, only the changes are told.
    """
    if sum(bool(way) for way in (target, archive, branch)) > 1:
        raise click.UsageError("Publish to one of --folder, --zip and --branch at a time.")
    if repository and not branch:
        raise click.UsageError("--repository goes with --branch.")
    from eaveline.group import publish as publishing  # noqa: PLC0415

    town = _town_folder(folder)
    ready = publishing.ready_site(town)
    for change in ready.changes:
        click.echo(change)
    if not (target or archive or branch):
        click.echo("Nothing was published yet: say where with --folder, --zip or --branch.")
        return
    click.echo(
        publishing.publish(
            town,
            ready,
            target=Path(target) if target else None,
            archive=Path(archive) if archive else None,
            branch=branch,
            repository=Path(repository) if repository else town,
        )
    )


@command.command()
@FOLDER
def planning(folder: str | None) -> None:
    """Screen the planning applications in FOLDER: what is new, and which comes first.

    Only the lists in private/officer/ are written. It is for the weekly look at a council's
    list; a build writes the papers for officers.
    """
    from eaveline import between_builds, talk  # noqa: PLC0415

    with talk.progress() as progress:
        counts = between_builds.plan_town(_town_folder(folder), today=_today(), progress=progress)
    talk.show_planning(counts)


@command.command(name="ask")
@click.argument("place")
@FOLDER
def ask_about(place: str, folder: str | None) -> None:
    """Tell what is known of PLACE, privately: an address, a street or a grid reference.

    Nothing is written. It is for the call the group gets when a scaffold goes up.
    """
    from eaveline import between_builds, talk  # noqa: PLC0415
    from eaveline.papers.officer.answer import to_text  # noqa: PLC0415

    with talk.progress() as progress:
        found = between_builds.ask_town(
            _town_folder(folder), place, today=_today(), progress=progress
        )
    click.echo(to_text(found), nl=False)


@command.command()
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
def completion(shell: str) -> None:
    """Print what teaches SHELL to complete eaveline's commands and options."""
    from click.shell_completion import get_completion_class  # noqa: PLC0415

    completer = get_completion_class(shell)
    if completer is None:  # Click knows all three
        raise click.UsageError("This shell is not known.")
    click.echo(completer(command, {}, "eaveline", "_EAVELINE_COMPLETE").source())


def _error_console() -> Console:
    from rich.console import Console  # noqa: PLC0415

    return Console(stderr=True, highlight=False, markup=False)


def main() -> None:
    """Run the command and turn every ending into an exit code."""
    typed = os.environ.get("EAVELINE_TYPED", "eaveline")
    for stream in (sys.stdout, sys.stderr):
        # A file or pipe on Windows takes the letters of one country, and a Welsh street has more.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    try:
        command.main(prog_name=typed, standalone_mode=False)
    except EavelineError as error:
        console = _error_console()
        if error.exit_code is ExitCode.REFUSED:
            console.print(
                "The site was not published: the audit found something. The old one still stands."
            )
        for problem in error.problems:
            console.print(str(problem), soft_wrap=True)
        sys.exit(error.exit_code)
    except click.ClickException as error:
        _error_console().print(str(misuse(error, typed=typed)), markup=False, soft_wrap=True)
        sys.exit(ExitCode.BAD_INPUT)
    except (click.Abort, KeyboardInterrupt):
        click.echo("Stopped. Nothing was replaced.", err=True)
        sys.exit(130)
    except OSError as error:
        _error_console().print(str(refused_by_system(error)), markup=False, soft_wrap=True)
        sys.exit(ExitCode.BAD_INPUT)
    except Exception as error:  # noqa: BLE001 - the last resort: no traceback, no private value
        import traceback  # noqa: PLC0415

        frame = traceback.extract_tb(error.__traceback__)[-1]
        _error_console().print(
            f"Eaveline itself has a fault ({type(error).__name__} in {Path(frame.filename).name},"
            f" line {frame.lineno}). Nothing was replaced. Please report this line. [our-fault]",
            soft_wrap=True,
        )
        sys.exit(ExitCode.OUR_FAULT)
