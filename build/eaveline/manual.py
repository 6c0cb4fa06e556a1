"""What `--help` says of each command beyond its options: examples, files, exit codes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import click

Lines = tuple[tuple[str, str], ...]

FOLDER_LINE: Final = (
    "FOLDER",
    "The town's folder, which holds survey_data/; the current one by default.",
)
_WELL: Final = ("0", "Done.")
_REFUSED: Final = ("1", "The audit refused the site. The old one still stands.")
_BAD_INPUT: Final = ("2", "The command line, town.toml, a map file or a page needs your hand.")
_OUR_FAULT: Final = ("3", "A fault of Eaveline's own. Nothing was replaced; please report it.")
_STOPPED: Final = ("130", "You stopped it. Nothing was replaced.")


@dataclass(frozen=True, slots=True)
class Manual:
    """The sections of one command's help, each a list of terms with what they mean."""

    short: str = ""
    """For the list of commands."""
    arguments: Lines = ()
    examples: Lines = ()
    reads: Lines = ()
    writes: Lines = ()
    exit_codes: Lines = (_WELL, _BAD_INPUT, _OUR_FAULT, _STOPPED)

    def write(self, formatter: click.HelpFormatter, *, typed: str) -> None:
        """Write the sections that follow the options; `typed` starts each example."""
        for title, lines in (
            ("Examples", tuple((as_typed(line, typed), told) for line, told in self.examples)),
            ("Reads", self.reads),
            ("Writes", self.writes),
            ("Exit codes", self.exit_codes),
        ):
            write_section(formatter, title, lines)


def write_section(formatter: click.HelpFormatter, title: str, lines: Lines) -> None:
    """Write one section, if it has anything to say; examples stand above what they do."""
    if not lines:
        return
    with formatter.section(title):
        if title != "Examples":
            formatter.write_dl(lines)
            return
        for example, meaning in lines:
            formatter.write_text(f"\b\n{example}\n  {meaning}")


def typed_in(ctx: click.Context) -> str:
    """Return what was typed to start the program."""
    return ctx.find_root().info_name or "eaveline"


def as_typed(example: str, typed: str) -> str:
    """Return an example as whoever reads it types it: ``python3 build`` builds without a verb."""
    if typed == "eaveline":
        return example
    return example.replace("eaveline build", typed, 1).replace("eaveline", typed, 1)


_RECORDS: Final = (
    ("survey_data/", "town.toml, the map folder and every file of records."),
    ("content/", "Your own pages, news and pictures."),
    ("theme/", "Your own templates and styles, if there are any."),
)
_NOTHING: Final = (("nothing", "No file is changed."),)

GROUP: Final = Manual(
    examples=(
        ("eaveline start our-town", "A new town: six questions, and every file it needs."),
        ("eaveline preview our-town", "Its site in your browser, built again on every save."),
        ("eaveline build our-town", "Its site and the group's papers, for good."),
        ("eaveline publish our-town --zip site.zip", "The site alone, ready to upload."),
        ("eaveline check --help", "What a command reads, writes and answers."),
    ),
    exit_codes=(_WELL, _REFUSED, _BAD_INPUT, _OUR_FAULT, _STOPPED),
)

MANUALS: Final[dict[str, Manual]] = {
    "build": Manual(
        short="Make the site and the group's papers.",
        arguments=(FOLDER_LINE,),
        examples=(
            ("eaveline build", "The town in the current folder."),
            ("eaveline ../our-town", "The same for another folder; build is taken for granted."),
            ("eaveline build --boxes 20 --budget 900", "What if there were 20 boxes and £900?"),
            (
                "eaveline build --from-release site/data/release.json --to again",
                "The same site from what was published, without any record.",
            ),
        ),
        reads=_RECORDS,
        writes=(
            (
                "site/",
                "The site: the only folder to upload. Files that stay the same keep their dates.",
            ),
            (
                "private/",
                "The group's own papers. One that you changed is set aside, never lost.",
            ),
            (
                "survey_data/map/",
                "regions.csv and districts.csv, the map's frozen squares: keep them.",
            ),
        ),
        exit_codes=(_WELL, _REFUSED, _BAD_INPUT, _OUR_FAULT, _STOPPED),
    ),
    "check": Manual(
        short="List what is wrong in the records; build nothing.",
        arguments=(FOLDER_LINE,),
        examples=(
            ("eaveline check", "What is wrong in the records, the most useful to mend first."),
            ("eaveline check --format json > faults.json", "The same for a program."),
            (
                "eaveline check --schemas forms",
                "An empty form and a schema for each kind of record.",
            ),
        ),
        reads=(("survey_data/", "town.toml, the map folder and every file of records."),),
        writes=(("--schemas FOLDER", "Forms and table schemas; without it, nothing."),),
        exit_codes=(
            ("0", "Done, whether or not rows were found that need mending."),
            _BAD_INPUT,
            _OUR_FAULT,
            _STOPPED,
        ),
    ),
    "audit": Manual(
        short="Read the built site again as a stranger would.",
        arguments=(FOLDER_LINE,),
        examples=(("eaveline audit", "Is there anything in site/ that must not be published?"),),
        reads=(
            ("site/", "Every file, as a stranger would."),
            ("survey_data/", "The records, to know what to look for."),
            ("content/", "Which pages are your own."),
        ),
        writes=_NOTHING,
        exit_codes=(
            ("0", "Nothing was found."),
            ("1", "Something was found that must not be published."),
            _BAD_INPUT,
            _OUR_FAULT,
            _STOPPED,
        ),
    ),
    "start": Manual(
        short="Make a new town's folder: six questions.",
        arguments=(("FOLDER", "Where to make the town; it must be new or empty."),),
        examples=(
            ("eaveline start our-town", "Asks six questions."),
            (
                'eaveline start our-town --name Ottersley --nation England --centre "TG 50 30"',
                "Asks only what is left.",
            ),
        ),
        writes=(
            ("survey_data/", "town.toml, an empty form for each kind of record, COLUMNS.md."),
            ("content/", "Pages to make your own."),
            ("theme/", "A note on how to change the look."),
        ),
    ),
    "preview": Manual(
        short="Show the site on this computer as you write.",
        arguments=(FOLDER_LINE,),
        examples=(
            ("eaveline preview", "Then open http://127.0.0.1:8008/ in a browser."),
            ("eaveline preview --port 0", "At whatever port is free."),
        ),
        reads=_RECORDS,
        writes=(
            (
                "nothing",
                "The preview stands elsewhere and goes when it ends; only you can see it.",
            ),
        ),
        exit_codes=(
            ("0", "You ended it with Ctrl+C."),
            _BAD_INPUT,
            _OUR_FAULT,
        ),
    ),
    "publish": Manual(
        short="Hand over the site, and tell what has changed.",
        arguments=(FOLDER_LINE,),
        examples=(
            ("eaveline publish", "What has changed since last time; nothing is handed over."),
            ("eaveline publish --zip site.zip", "An archive to upload."),
            ("eaveline publish --folder /srv/swifts", "A folder that a web server shows."),
            ("eaveline publish --branch pages", "A git branch of one commit, without a history."),
        ),
        reads=(("site/", "As the last build left it."),),
        writes=(("where you say", "The site and nothing else."),),
        exit_codes=(
            _WELL,
            (
                "2",
                "There is no site, it is out of date, or it cannot be written there.",
            ),
            _OUR_FAULT,
            _STOPPED,
        ),
    ),
    "planning": Manual(
        short="Screen planning applications: what is new, what comes first.",
        arguments=(FOLDER_LINE,),
        examples=(
            ("eaveline planning", "After saving the council's new list into the folder."),
            ("eaveline planning our-town", "The same for a town elsewhere."),
        ),
        reads=(("survey_data/", "town.toml, the map folder and every file of records."),),
        writes=(
            (
                "private/officer/",
                "applications.csv and .html, reminders.csv, tally.csv; no paper for an officer.",
            ),
        ),
    ),
    "ask": Manual(
        short="Tell what is known of a place, privately.",
        arguments=(
            (
                "PLACE",
                "A street and house, a street, a grid reference, or an easting and a northing.",
            ),
            FOLDER_LINE,
        ),
        examples=(
            ('eaveline ask "12 Mill Lane"', "What is known of a house and near it."),
            ('eaveline ask "TG 5012 3044" our-town', "The same of a place on the map."),
        ),
        reads=(("survey_data/", "town.toml, the map folder and every file of records."),),
        writes=(("nothing", "The answer holds exact places: it is for the group alone."),),
    ),
    "completion": Manual(
        short="Teach your shell the commands and options.",
        arguments=(("SHELL", "bash, zsh or fish."),),
        examples=(
            ('eval "$(eaveline completion bash)"', "In ~/.bashrc: from the next terminal on."),
            ('eval "$(eaveline completion zsh)"', "In ~/.zshrc, after compinit."),
            (
                "eaveline completion fish > ~/.config/fish/completions/eaveline.fish",
                "Once, for fish.",
            ),
        ),
        writes=(("standard output", "A few lines for the shell; no file."),),
    ),
}


IN_ORDER_OF_USE: Final = (
    "start",
    "preview",
    "check",
    "build",
    "audit",
    "publish",
    "planning",
    "ask",
    "completion",
)


class ManualCommand(click.Command):
    """A command whose help has the sections of its manual."""

    def get_short_help_str(self, limit: int = 45) -> str:
        """Return what the list of commands says, in full."""
        del limit
        return manual_of(self.name).short

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the arguments above the options."""
        write_section(formatter, "Arguments", manual_of(self.name).arguments)
        super().format_options(ctx, formatter)

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write what follows the options."""
        manual_of(self.name).write(formatter, typed=typed_in(ctx))


def manual_of(name: str | None) -> Manual:
    """Return a command's manual; the group's for a name that is none of its commands."""
    return MANUALS.get(name or "", GROUP)
