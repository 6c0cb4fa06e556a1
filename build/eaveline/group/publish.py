"""Refuses a site that must not go out, and remembers the one that did."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from eaveline.config import load_config
from eaveline.errors import InputError, Problem
from eaveline.group.changes import Published, amount, describe_changes
from eaveline.group.git_branch import publish_to_branch
from eaveline.group.targets import publish_to_folder, publish_to_zip
from eaveline.public.records import release_from_json
from eaveline.stamp import file_digests, stamp_problem
from eaveline.whole_files import write_whole

PUBLISHED_FILE = "private/last-published.json"


@dataclass(frozen=True)
class Ready:
    """A site that may go out."""

    site: Path
    published: Published
    changes: tuple[str, ...]
    """What is new since last time, a sentence each."""


def ready_site(folder: Path) -> Ready:
    """Return a town's site if it may be published.

    Parameters
    ----------
    folder
        The town's folder.

    Raises
    ------
    InputError
        If there is no site, the audit has not read it as it is, or it is older than what it is
        made from.
    """
    problem = stamp_problem(folder)
    if problem is not None:
        raise InputError(problem)
    site = folder / "site"
    release = (site / "data" / "release.json").read_text(encoding="utf-8")
    now = Published(file_digests(site), release_from_json(release))
    return Ready(site, now, tuple(describe_changes(_last_published(folder), now)))


def publish(
    folder: Path,
    ready: Ready,
    *,
    repository: Path,
    target: Path | None = None,
    archive: Path | None = None,
    branch: str | None = None,
) -> str:
    """Hand a ready site over in the one way that is given; return what happened, in a sentence.

    Parameters
    ----------
    folder
        The town's folder.
    ready
        From `ready_site`.
    repository
        The git repository, for a branch.
    target, archive, branch
        Where to; one of them.

    Raises
    ------
    InputError
        If the site cannot be written there.
    """
    made_on = ready.published.release.made_on
    if target is not None:
        written = publish_to_folder(ready.site, target)
        said = f"The folder holds the site now; {amount(written, 'file', 'files')} written."
    elif archive is not None:
        held = publish_to_zip(ready.site, archive, made_on=made_on)
        said = f"The archive holds the site, {amount(held, 'file', 'files')}."
    else:
        assert branch is not None, "one way has to be given"
        town = load_config(folder).town
        publish_to_branch(
            ready.site, repository, branch, made_on=made_on, author=town.group, email=town.email
        )
        said = (
            f"The branch {branch} holds the site as its one commit. Send it with:\n\n"
            f"  git push --force origin {branch}\n\n"
            "(--force, because each site replaces the last, and nothing forgotten stays behind.)"
        )
    _remember_published(folder, ready)
    return said


def _remember_published(folder: Path, ready: Ready) -> None:
    """Keep what was published, to tell next time what has changed.

    Raises
    ------
    InputError
        If private/ cannot be written.
    """
    kept = {
        "files": dict(ready.published.files),
        "release": ready.published.release.model_dump(mode="json"),
    }
    try:
        text = json.dumps(kept, sort_keys=True) + "\n"
        write_whole(folder / PUBLISHED_FILE, text.encode())
    except OSError as error:
        raise InputError(
            Problem(
                "published-note-not-written",
                "The site was published, but the note of it cannot be kept "
                f"({type(error).__name__}).",
                "Check that you may write there; next time the list of changes will be wrong.",
                file=PUBLISHED_FILE,
            )
        ) from None


def _last_published(folder: Path) -> Published | None:
    """Return what was published last; None if nothing was, or the note of it is damaged."""
    try:
        kept = json.loads((folder / PUBLISHED_FILE).read_text(encoding="utf-8"))
        return Published(dict(kept["files"]), release_from_json(json.dumps(kept["release"])))
    except (OSError, ValueError, KeyError, TypeError):
        return None
