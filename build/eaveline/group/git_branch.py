"""Hands the site over to a git branch of one commit that holds the site alone.

A branch with a history would keep every page that was ever published, so nothing could be
forgotten. This one has no parent commit: each publication replaces the last.
"""

from __future__ import annotations

import datetime as dt
import os
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

from eaveline.errors import InputError, Problem

_MARK = "data/release.json"


def publish_to_branch(
    site: Path, repository: Path, branch: str, *, made_on: dt.date, author: str, email: str
) -> str:
    """Make a branch hold the site; return the commit's id.

    The same site gives the same commit. The repository's index, files and other branches stay
    as they are.

    Parameters
    ----------
    site
        The site to publish.
    repository
        A git repository's folder.
    branch
        The branch's name. If it exists, it has to hold one commit without a parent, and a site.
    made_on
        The commit's date.
    author, email
        The group's public name and address; nobody's own go into the commit.

    Raises
    ------
    InputError
        With what stands in the way.
    """
    git = _Git(repository)
    git.check_repository()
    _check_branch(git, branch)
    names = sorted(path.relative_to(site).as_posix() for path in site.rglob("*") if path.is_file())
    paths = "".join(f"{(site / name).resolve()}\n" for name in names)
    # No filters: line ends and large files stay as they are, whatever git's settings.
    hashes = git.run("hash-object", "-w", "--no-filters", "--stdin-paths", given=paths).split()
    entries = "".join(
        f"100644 {found}\t{name}\0" for found, name in zip(hashes, names, strict=True)
    )
    with tempfile.TemporaryDirectory(prefix="eaveline-git-") as scratch:
        index = {"GIT_INDEX_FILE": str(Path(scratch) / "index")}
        git.run("update-index", "-z", "--index-info", given=entries, extra=index)
        tree = git.run("write-tree", extra=index).strip()
    when = f"{made_on.isoformat()}T12:00:00+00:00"
    person = {
        f"GIT_{role}_{key}": value
        for role in ("AUTHOR", "COMMITTER")
        for key, value in (("NAME", author), ("EMAIL", email), ("DATE", when))
    }
    message = f"The site, made from records up to {made_on.isoformat()}\n"
    commit = git.run("commit-tree", tree, given=message, extra=person).strip()
    # Without a log of the branch, git itself drops the earlier site when it next tidies up.
    git.run("-c", "core.logAllRefUpdates=false", "update-ref", f"refs/heads/{branch}", commit)
    return commit


def _check_branch(git: _Git, branch: str) -> None:
    if not git.succeeds("check-ref-format", "--branch", branch):
        raise InputError(
            Problem(
                "git-branch-name",
                "This cannot be the name of a git branch.",
                "Use small letters and hyphens, such as website.",
            )
        )
    in_use = git.run("worktree", "list", "--porcelain").splitlines()
    if f"branch refs/heads/{branch}" in in_use:
        raise InputError(
            Problem(
                "git-branch-in-use",
                "This is the branch that somebody is working on.",
                "Publish to another branch, such as website.",
            )
        )
    ref = f"refs/heads/{branch}"
    if not git.succeeds("rev-parse", "--verify", "--quiet", ref):
        return
    alone = git.run("rev-list", "--count", ref).strip() == "1"
    if not (alone and git.succeeds("cat-file", "-e", f"{ref}:{_MARK}")):
        raise InputError(
            Problem(
                "git-branch-not-ours",
                "This branch holds something else than one published site, and would be replaced "
                "as a whole.",
                "Publish to another branch, such as website.",
            )
        )


class _Git:
    """Runs git in one repository."""

    def __init__(self, repository: Path) -> None:
        self._repository = repository

    def check_repository(self) -> None:
        """Refuse where there is no repository."""
        if not self.succeeds("rev-parse", "--git-dir"):
            raise InputError(
                Problem(
                    "git-no-repository",
                    "The folder is not a git repository.",
                    "Run git init in it, or name another folder with --repository.",
                )
            )

    def succeeds(self, *words: str) -> bool:
        return self._call(words).returncode == 0

    def run(self, *words: str, given: str = "", extra: dict[str, str] | None = None) -> str:
        done = self._call(words, given=given, extra=extra)
        if done.returncode != 0:
            verb = next(word for word in words if not word.startswith("-") and "=" not in word)
            raise InputError(
                Problem(
                    "git-failed",
                    f"git stopped at its step {verb}, with code {done.returncode}.",
                    "Check that you may write to the repository, and publish again.",
                )
            )
        return done.stdout

    def _call(
        self, words: Sequence[str], *, given: str = "", extra: dict[str, str] | None = None
    ) -> subprocess.CompletedProcess[str]:
        # A hook or alias that calls us must not lend us its own repository.
        environment = {key: value for key, value in os.environ.items() if key[:4] != "GIT_"}
        try:
            return subprocess.run(  # noqa: S603 - no shell, and every word is ours or checked
                ["git", "-C", str(self._repository), *words],  # noqa: S607 - git is found on the path
                input=given,
                env=environment | (extra or {}),
                capture_output=True,
                text=True,
                encoding="utf-8",
                errors="replace",
                check=False,
            )
        except FileNotFoundError:
            raise InputError(
                Problem(
                    "git-missing",
                    "The program git is not installed, or not on the path.",
                    "Install it, or publish to a folder or a zip archive.",
                )
            ) from None
