"""The process that builds the site: reads one job, runs Pelican, writes what went wrong.

Started by `eaveline.public.site.SiteProcess` as a module; the job file's name comes as a line on
its standard input, once everything is loaded or before.
"""

from __future__ import annotations

import dataclasses
import gc
import json
import os
import sys
from pathlib import Path

from pelican import Pelican
from pelican.settings import read_settings

from eaveline.errors import EavelineError, InputError, Problem
from eaveline.messages import load_language, speaking
from eaveline.public.downloads.all_files import write_downloads
from eaveline.public.maps.basemap import BaseMap, load_basemap
from eaveline.public.pages.build_log import BuildLog
from eaveline.public.pages.charts import bars
from eaveline.public.pages.pelican_settings import pelican_settings
from eaveline.public.pages.template_faults import template_problem
from eaveline.public.pages.templates import compile_templates
from eaveline.public.records import PublicRelease, release_from_json
from eaveline.public.site import RESULT_FILE, SiteJob, default_theme
from eaveline.system_faults import refused_by_system


def run(job: SiteJob) -> None:
    """Write the downloads and every page into ``job.out``.

    Raises
    ------
    EavelineError
        With all that the log holds, if anything was logged as a warning or worse: Pelican
        itself would leave out a broken page or plugin and carry on.
    """
    release = release_from_json(job.release.read_text(encoding="utf-8"))
    basemap = _basemap(job, release)
    job.out.mkdir(parents=True, exist_ok=True)
    language = load_language(
        job.town.language, folders=[folder / "messages" for folder in job.theme]
    )
    # Downloads are for programs, which know their columns and words in one language only.
    write_downloads(release, basemap, job.town, job.out / "data")
    with speaking(language), BuildLog(job.content) as log:
        settings = pelican_settings(job, release=release, basemap=basemap, log=log)
        pelican = Pelican(read_settings(override=settings))
        log.raise_if_any()
        pelican.run()
        log.raise_if_any()


def main() -> int:
    """Run the job named on standard input; return the exit code."""
    _warm_up()
    line = sys.stdin.readline().strip()
    if not line:  # whoever started us went away
        return 0
    job_file = Path(line)
    job = SiteJob.model_validate_json(job_file.read_text(encoding="utf-8"))
    problems: tuple[Problem, ...] = ()
    by_input = False
    try:
        run(job)
    except EavelineError as error:
        problems, by_input = error.problems, isinstance(error, InputError)
    except Exception as error:
        # A template that is not found is a fault of the system, too, as Jinja counts.
        problem = template_problem(error, own=job.theme[:-1])
        if problem is None and isinstance(error, OSError):
            problem = refused_by_system(error)
        if problem is None:  # a fault of ours, and `SiteProcess` tells its last line
            raise
        problems, by_input = (problem,), True
    result = {"input": by_input, "problems": [dataclasses.asdict(problem) for problem in problems]}
    (job_file.parent / RESULT_FILE).write_text(json.dumps(result), encoding="utf-8")
    return 1 if problems else 0


def _warm_up() -> None:
    """Load and compile what the first pages would, while nobody waits for them yet."""
    compile_templates(default_theme() / "templates")
    bars("first", ("",), (0,), title="", about="", across="", up="")


def _basemap(job: SiteJob, release: PublicRelease) -> BaseMap | None:
    """Return the base map, or None where the release has no squares to draw on it."""
    return load_basemap(job.map_folder, crs=release.crs) if release.has_map else None


if __name__ == "__main__":
    # It lives for one job, and looking for what can be thrown away takes a tenth of that.
    gc.disable()
    code = main()
    # All files are closed. Taking so much apart in good order would only keep people waiting.
    sys.stderr.flush()
    os._exit(code)
