"""The public site, built from the release by a process that sees nothing private.

Pelican runs in a process of its own, in an empty working folder. All it is told is one
`SiteJob`: the release, the town's public face, the public map layers, the hand-written pages
and the theme. No path of a private table reaches it, so no plugin, template or content page
can read one by accident.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

from eaveline.errors import EavelineError, InputError, Problem
from eaveline.public.records import Record
from eaveline.public.town import PublicTown

RESULT_FILE = "result.json"
"""Written by the process beside its job: what was wrong, or nothing."""


class SiteJob(Record):
    """All that the builder of the site is told."""

    release: Path
    """release.json."""
    town: PublicTown
    map_folder: Path
    """Holds the public map layers: streets, boundary, water, greens, buildings."""
    content: Path
    """Holds ``pages/``, ``news/`` and ``images/``; any of them may be missing."""
    theme: tuple[Path, ...]
    """Theme folders; a file in an earlier one replaces its namesake in a later one."""
    out: Path
    """The folder to build in, usually a staging folder; made if missing."""


def build_site(job: SiteJob) -> None:
    """Build the public site.

    Parameters
    ----------
    job
        What to build from, and where. The same job gives the same bytes on any day.

    Raises
    ------
    InputError
        If a page of content/, a template of the town's own theme or a map layer needs a
        person's hand. The folder `job.out` may then hold a part of the site.
    EavelineError
        If the builder itself fails.
    """
    whole = job.model_copy(
        update={
            "release": job.release.resolve(),
            "map_folder": job.map_folder.resolve(),
            "content": job.content.resolve(),
            "theme": tuple(folder.resolve() for folder in job.theme),
            "out": job.out.resolve(),
        }
    )
    with tempfile.TemporaryDirectory(prefix="eaveline-site-") as name:
        folder = Path(name)
        job_file = folder / "job.json"
        job_file.write_text(whole.model_dump_json(), encoding="utf-8")
        done = subprocess.run(  # noqa: S603 - this Python, and a file written here
            [sys.executable, "-m", "eaveline.public.pelican_run", str(job_file)],
            cwd=folder,
            env=_environment(),
            capture_output=True,
            text=True,
            encoding="utf-8",
            errors="replace",
            check=False,
        )
        _raise_problems(folder / RESULT_FILE, done)


def default_theme() -> Path:
    """Return the folder of the theme that comes with Eaveline.

    In a wheel it lies inside the package; in a checkout at the top of the repository.

    Raises
    ------
    EavelineError
        If neither is there, which means a broken installation.
    """
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "theme", package.parents[1] / "theme"):
        if (folder / "templates" / "base.html").is_file():
            return folder
    raise EavelineError(
        Problem(
            code="theme-missing",
            what="The theme that comes with Eaveline is not where it should be.",
            next_step="Install Eaveline again.",
        )
    )


def _environment() -> dict[str, str]:
    """Return this process's environment, safe for another working folder.

    The fixed hash seed is a second lock on determinism: no output may depend on the order
    of a set, and with it none can.
    """
    environment = dict(os.environ, PYTHONHASHSEED="0", PYTHONUTF8="1")
    if path := environment.get("PYTHONPATH"):
        parts = [str(Path(part).resolve()) for part in path.split(os.pathsep) if part]
        environment["PYTHONPATH"] = os.pathsep.join(parts)
    return environment


def _raise_problems(result: Path, done: subprocess.CompletedProcess[str]) -> None:
    """Raise what the process found wrong; do nothing if it finished well."""
    try:
        data = json.loads(result.read_text(encoding="utf-8"))
    except (OSError, json.JSONDecodeError):
        # It died without a word of its own: a fault of ours, told by its last line.
        last = (done.stderr.strip().splitlines() or ["no message"])[-1]
        raise EavelineError(
            Problem(
                code="site-builder-died",
                what=f"The builder of the site stopped with code {done.returncode}: {last}.",
                next_step="Run the command again. If it happens twice, report it with these words.",
            )
        ) from None
    problems = [Problem(**fields) for fields in data["problems"]]
    if problems:
        raise (InputError if data["input"] else EavelineError)(problems)
