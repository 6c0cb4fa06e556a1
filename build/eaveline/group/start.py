"""The folder that a new town starts with."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

from eaveline.errors import EavelineError, InputError, Problem
from eaveline.group.record_forms import column_guide, record_forms
from eaveline.group.settings_guide import settings_guide
from eaveline.messages import SHIPPED
from eaveline.public.town import PublicTown

_GITIGNORE = """\
# Anchored, so that no folder of the same name further down is hidden.
# The records hold addresses: keep them in a backup of your own, never in a shared repository.
/survey_data/
/private/
/site/
/.staging-*/
"""
_SETTINGS = """
# These are the settings that most towns want; SETTINGS.md beside this file has all of them.
[privacy]
# Every square of the map holds at least so many homes. Settle it before the first build:
# squares are frozen then.
minimum_premises = 10
# Hours of watching in a square and summer before "none found" is an answer.
looked_hours = 2

# Churches, schools and libraries that agree to be named as hosts, one part each:
# [[public_buildings]]
# name = "The Reading Room"
# street = "Church Street"
# house = "1"
"""
_MAP_NOTE = """\
# The map folder

Put these files here. Anything GDAL reads will do (GeoPackage, GeoJSON, Shapefile), in any
coordinate system that the file itself names.

- `streets`: lines, each with its name in a column called name. In Great Britain, Ordnance Survey's
  open road data has them; OpenStreetMap has them everywhere. Cut out your town in a GIS such as
  QGIS and export that layer.
- `boundary`: the outline of the town or parish. Boundary data is open in every nation.
- The homes, as one of
  - `addresses.csv` with the columns street, house, easting, northing. A council or a member's own
    list may be used if its licence lets you; this file is never published.
  - `premises`: points, such as open property-reference points.
  - `buildings`: outlines.
- `water` and `greens`, if you like: areas, drawn under the squares.

Without homes there is no map, because the squares are made from where people live. After the first
build this folder also holds `regions.csv`. Keep it: it holds the squares, which never change.
"""
_THEME_NOTE = """\
# Your own look

The site has a look already; this folder is for changing it. A file here replaces the one of the
same name that comes with Eaveline: `theme/static/css/variables.css` holds all colours, sizes and
letters, and `theme/templates/` the pages' frames. Copy a file from Eaveline's own theme folder,
change it, and build. An empty folder changes nothing.

`theme/messages/messages.pot` holds every word of the pages and papers. For another language copy it
to `theme/messages/cy.po` (say, for Welsh), translate it there, and write `language = "cy"` into
`survey_data/town.toml`.
"""
_ABOUT = """\
Title: About the group
Slug: about
Summary: Who we are, what we do with what you tell us, and what we keep to ourselves.
Show: foot

We are neighbours who look out for the swifts and house martins of {town}. Change this page so
that it tells about you: it is the file `content/pages/about.md`.

## What we do with your records

We put them together, count the same birds once, and publish what they add up to: where in town
swifts and martins nest, where boxes hang, and where nobody has looked yet.

## What we keep to ourselves

We do not publish which house has a nest. The map is made of squares, each with enough homes that
nobody can tell which of them the birds use.
"""
_README = """\
# {town}

The records and the site of the {group}.

1. Put a map of the town into `survey_data/map/` ([how](survey_data/map/README.md)).
2. Put your members' files, just as they send them, into the folders of `survey_data/`
   ([what the columns mean](survey_data/COLUMNS.md)).
3. In the folder of the program, type `python3 build` and where this folder is, such as
   `python3 build ../our-town`: that makes the site and the group's own papers.
   `python3 build preview ../our-town` shows the site while you work on it.
4. `python3 build publish ../our-town --zip site.zip` hands over the finished site, and tells what
   has changed. (On Windows it is `py build`; where Eaveline is installed, `eaveline`.)

`private/` and `survey_data/` hold addresses and names. Never upload either, nor put this folder on
a public code host. Only `site/` is for everyone.
"""


def town_files(town: PublicTown) -> dict[str, bytes]:
    """Return every file of a new town's folder, by path below it."""
    texts = {
        "README.md": _README.format(town=town.name, group=town.group),
        ".gitignore": _GITIGNORE,
        "survey_data/town.toml": town_toml(town),
        "survey_data/COLUMNS.md": column_guide(),
        "survey_data/SETTINGS.md": settings_guide(),
        "survey_data/map/README.md": _MAP_NOTE,
        "theme/README.md": _THEME_NOTE,
        "content/news/README.txt": "News are Markdown files here, named such as "
        "2026-05-09-they-are-back.md and beginning with a line Title: They are back\n",
        "content/pages/about.md": _ABOUT.format(town=town.name),
    }
    pages = {
        f"content/pages/{path.name}": path.read_bytes()
        for path in sorted(default_pages().glob("*.md"))
        if path.name != "about.md"
    }
    words = {"theme/messages/messages.pot": (SHIPPED / "messages.pot").read_bytes()}
    forms = {f"survey_data/{name}": data for name, data in record_forms().items()}
    return pages | forms | words | {name: text.encode() for name, text in texts.items()}


def town_toml(town: PublicTown) -> str:
    """Return a new town's town.toml."""
    keys = ("name", "nation", "centre", "group", "email", "site_url", "licence", "language")
    # Every JSON string is a TOML string.
    lines = [f"{key} = {json.dumps(str(getattr(town, key)), ensure_ascii=False)}" for key in keys]
    return "\n".join(["[town]", *lines, ""]) + _SETTINGS


def default_pages() -> Path:
    """Return the folder of the how-to pages that come with Eaveline.

    Raises
    ------
    EavelineError
        If they are not there, which means a broken installation.
    """
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "content" / "pages", package.parents[1] / "content" / "pages"):
        if folder.is_dir():
            return folder
    raise EavelineError(
        Problem(
            code="pages-missing",
            what="The pages that come with Eaveline are not where they should be.",
            next_step="Install Eaveline again.",
        )
    )


def start_town(folder: Path, town: PublicTown) -> None:
    """Write a new town's folder.

    Parameters
    ----------
    folder
        Must be empty or not exist yet.
    town
        The town's public face.

    Raises
    ------
    InputError
        If the folder holds something already, or cannot be written; then nothing is left in it.
    """
    check_folder(folder)
    files = town_files(town)
    was_there = folder.is_dir()
    try:
        for name, data in sorted(files.items()):
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
    except OSError as error:
        # It was empty, so all that is in it is ours.
        shutil.rmtree(folder, ignore_errors=True)
        if was_there:
            folder.mkdir(exist_ok=True)
        raise InputError(
            Problem(
                code="start-folder-not-writable",
                what=f"The new folder cannot be written ({type(error).__name__}).",
                next_step="Check that the disc has room and that you may write there.",
            )
        ) from None


def check_folder(folder: Path) -> None:
    """Refuse a folder that a new town cannot have.

    Raises
    ------
    InputError
        If it is a file, or holds something already.
    """
    if folder.exists() and not folder.is_dir():
        raise InputError(
            Problem(
                code="start-folder-is-a-file",
                what="There is a file of that name already.",
                next_step="Name a folder that does not exist yet.",
            )
        )
    if folder.is_dir() and any(folder.iterdir()):
        raise InputError(
            Problem(
                code="start-folder-not-empty",
                what="The folder holds something already, and nothing in it is overwritten.",
                next_step="Name a folder that does not exist yet.",
            )
        )
