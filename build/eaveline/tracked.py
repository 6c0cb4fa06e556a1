"""Warns when git keeps a group's records in a repository that is shared or publishes its site."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

from eaveline.errors import Problem

_PRIVATE = ("survey_data", "private")
_SITE_BRANCHES = ("gh-pages", "pages", "site")
"""Names a branch that holds a website often has (common practice, no source)."""
_PATIENCE_S = 10


def tracked_records(folder: Path) -> tuple[Problem, ...]:
    """Return a warning if git tracks survey_data/ or private/ where others may get them.

    Parameters
    ----------
    folder
        The town's folder.

    Returns
    -------
    tuple of Problem
        Nothing where there is no git, no repository, nothing tracked, or neither a remote nor
        a branch that looks like a site's: such a repository is a private backup.
    """
    tracked = [name for name in _PRIVATE if _git(folder, "ls-files", "--", name)]
    if not tracked:
        return ()
    branches = _git(folder, "for-each-ref", "--format=%(refname:short)", "refs/heads")
    shared = bool(_git(folder, "remote")) or bool(set(branches) & set(_SITE_BRANCHES))
    if not shared:
        return ()
    named = " and ".join(f"{name}/" for name in tracked)
    return (
        Problem(
            code="records-tracked-by-git",
            what=f"Git keeps {named} in a repository that is shared or publishes a site, so "
            "addresses of nests may leave with it. A commit keeps them even when they are "
            "deleted.",
            next_step=f"Take them out with: git rm -r --cached {' '.join(tracked)}; put "
            "/survey_data/ and /private/ into .gitignore; and if it was pushed, ask "
            "whoever hosts it to remove the old commits.",
            file=tracked[0],
        ),
    )


def _git(folder: Path, *arguments: str) -> list[str]:
    """Return the lines git answers; none if there is no git or it has nothing to say."""
    git = shutil.which("git")
    if git is None:
        return []
    try:
        done = subprocess.run(  # noqa: S603 - git itself, with words of our own
            [git, "-C", str(folder), *arguments],
            capture_output=True,
            text=True,
            encoding="utf-8",
            errors="replace",
            timeout=_PATIENCE_S,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired):
        return []
    return done.stdout.split("\n")[:-1] if done.returncode == 0 else []
