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
from types import TracebackType
from typing import Self

from eaveline.errors import EavelineError, InputError, Problem
from eaveline.public.records import Record
from eaveline.public.town import PublicTown

RESULT_FILE = "result.json"
"""Written by the process beside its job: what was wrong, or nothing."""

HOME_PAGE = "home"
"""The slug of the page of content/ whose text opens the home page instead of standing alone."""


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
    """Theme folders; a file in an earlier one replaces its namesake in a later one. Their
    ``messages/`` may hold the town's language."""
    centre_m: tuple[float, float] | None = None
    """Easting and northing of the town's centre, as town.toml publishes it; sunset is computed
    there. Without it no watch evenings are proposed."""
    out: Path
    """The folder to build in, usually a staging folder; made if missing."""


def build_site(job: SiteJob, *, process: SiteProcess | None = None) -> None:
    """Build the public site.

    Parameters
    ----------
    job
        What to build from, and where. The same job gives the same bytes on any day.
    process
        A process already in waiting; it does one job and ends. By default a new one is started.

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
    if process is not None:
        process.run(whole)
        return
    with SiteProcess() as own:
        own.run(whole)


class SiteProcess:
    """A process that has loaded the builder and waits, in an empty folder, for its one job.

    Loading takes longer than building a small site, so a preview keeps one in waiting.
    """

    def __init__(self) -> None:
        """Start it."""
        self._folder = tempfile.TemporaryDirectory(
            prefix="eaveline-site-", ignore_cleanup_errors=True
        )
        self._process = subprocess.Popen(
            [sys.executable, "-m", "eaveline.public.pages.pelican_run"],
            cwd=self._folder.name,
            env=_environment(),
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            encoding="utf-8",
            errors="replace",
        )

    def __enter__(self) -> Self:
        """Return itself."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """End the process if it still waits, and remove its folder."""
        self.close()

    def run(self, job: SiteJob) -> None:
        """Have the job done and raise what was found wrong; paths in it are absolute."""
        folder = Path(self._folder.name)
        job_file = folder / "job.json"
        job_file.write_text(job.model_dump_json(), encoding="utf-8")
        _, told = self._process.communicate(f"{job_file}\n")
        _raise_problems(folder / RESULT_FILE, told, code=self._process.returncode)

    def close(self) -> None:
        """End the process if it still waits, and remove its folder."""
        if self._process.poll() is None:
            self._process.kill()
            self._process.communicate()
        self._folder.cleanup()


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


def _raise_problems(result: Path, told: str, *, code: int) -> None:
    """Raise what the process found wrong; do nothing if it finished well."""
    try:
        data = json.loads(result.read_text(encoding="utf-8"))
    except (OSError, json.JSONDecodeError):
        # It died without a word of its own: a fault of ours, told by its last line.
        last = (told.strip().splitlines() or ["no message"])[-1]
        raise EavelineError(
            Problem(
                code="site-builder-died",
                what=f"The builder of the site stopped with code {code}: {last}.",
                next_step="Run the command again. If it happens twice, report it with these words.",
            )
        ) from None
    problems = [Problem(**fields) for fields in data["problems"]]
    if problems:
        raise (InputError if data["input"] else EavelineError)(problems)
