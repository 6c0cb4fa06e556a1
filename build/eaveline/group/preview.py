"""Builds a town's site again whenever somebody saves a file, to look at on this computer.

Nothing of the town's folder is written: the site goes to a temporary folder, and what `publish`
hands over is always a site of `build`. The page comes first; the audit reads it right after, and
what it finds is shown on the page.
"""

from __future__ import annotations

import datetime as dt
import queue
import tempfile
import threading
from collections.abc import Callable, Iterable
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter
from typing import Self

import watchfiles

from eaveline import pipeline
from eaveline.audit.findings import audit_problems
from eaveline.config import Config, load_config
from eaveline.errors import EavelineError, Problem
from eaveline.gazetteer import Gazetteer, load_gazetteer
from eaveline.group.preview_server import Board, PreviewServer
from eaveline.private.intake.ledger import RowState
from eaveline.private.intake.memory import Memory
from eaveline.private.intake.take_in import Intake
from eaveline.public.records import PublicRelease
from eaveline.public.site import SiteProcess
from eaveline.staging import swap_in

_WATCHED = ("survey_data", "content", "theme")
_MOST_NOTICES = 8
_QUIET_MS = 150
"""A saving program writes several times; wait for it to finish."""


@dataclass(frozen=True, repr=False)
class _Records:
    """What was made of survey_data/ last."""

    config: Config
    town: Gazetteer
    intake: Intake
    release: PublicRelease

    def __repr__(self) -> str:
        """Show nothing."""
        return "<_Records>"


class Previewer:
    """Rebuilds the site of one town.

    Parameters
    ----------
    folder
        The town's folder.
    site
        Where the site goes.
    board
        Told of progress and problems.
    today
        Returns the group's own day.
    """

    def __init__(
        self, folder: Path, *, site: Path, board: Board, today: Callable[[], dt.date]
    ) -> None:
        """Have a builder of pages loading already."""
        self._folder = folder
        self._site = site
        self._board = board
        self._today = today
        self._records: _Records | None = None
        self._memory = Memory()
        self._process = SiteProcess()

    def __enter__(self) -> Self:
        """Return itself."""
        return self

    def __exit__(self, *_: object) -> None:
        """End the builder in waiting."""
        self._process.close()

    def rebuild(self, changed: Iterable[Path] | None = None) -> bool:
        """Build the site again and have it audited; return whether a new site stands.

        Parameters
        ----------
        changed
            Files that were saved; None rebuilds everything. Records are read again only if one
            lies in survey_data/, and the map only if one lies in its map folder or is town.toml.
        """
        started = perf_counter()
        self._board.tell("building …")
        records: _Records | None = None
        try:
            records = self._records = self._read(None if changed is None else list(changed))
            self._make_site(records)
        except EavelineError as error:
            self._records = records
            self._board.tell(
                "this is the last page that could be built.",
                problems=tuple(str(problem) for problem in error.problems),
            )
            return False
        except Exception as error:  # noqa: BLE001 - the preview goes on; no private value is told
            self._records = None
            fault = f"Eaveline itself has a fault ({type(error).__name__})."
            self._board.tell(
                "this is the last page that could be built.",
                problems=(f"{fault} Please report this line. [our-fault]",),
            )
            return False
        took = f"built in {perf_counter() - started:.1f} s"
        notes = self._notes(records)
        self._board.tell(f"{took}; the audit is reading it …", problems=notes, new_site=True)
        found = self._audit(records)
        self._board.tell(
            f"{took}; the audit found {'something' if found else 'nothing'}.",
            problems=(*(str(problem) for problem in found), *notes),
        )
        return True

    def _read(self, changed: list[Path] | None) -> _Records:
        old = self._records
        survey_data = self._folder / "survey_data"
        touched = changed or []
        if old is not None and changed is not None:
            if not any(path.is_relative_to(survey_data) for path in touched):
                return old
            kept_map = not any(
                path.is_relative_to(survey_data / "map") or path.name == "town.toml"
                for path in touched
            )
        else:
            kept_map = False
        if old is not None and kept_map:
            config, town = old.config, old.town
        else:
            config = load_config(self._folder)
            town = load_gazetteer(self._folder, config)
        intake = pipeline.take_in_town(self._folder, town, today=self._today(), memory=self._memory)
        register, _ = pipeline.merge_town(intake, town, config)
        _, register = pipeline.merge_planning(intake, register, config)
        release, _ = pipeline.protect_town(register, town, config)
        return _Records(config, town, intake, release)

    def _make_site(self, records: _Records) -> None:
        try:
            with tempfile.TemporaryDirectory(dir=self._site.parent) as name:
                staged = Path(name) / "site"
                pipeline.make_site(
                    self._folder, records.release, records.config, out=staged, process=self._process
                )
                swap_in(staged, self._site)
        finally:
            # The next one loads while the audit reads this one's pages, not while they are made.
            self._process.close()
            self._process = SiteProcess()

    def _audit(self, records: _Records) -> tuple[Problem, ...]:
        result = pipeline.audit_staged(
            self._folder, self._site, records.intake, records.town, records.config
        )
        return () if result.passed else tuple(audit_problems(result))

    @staticmethod
    def _notes(records: _Records) -> tuple[str, ...]:
        notices = records.intake.notices
        notes = [str(notice) for notice in notices[:_MOST_NOTICES]]
        if len(notices) > len(notes):
            notes.append(
                f"{len(notices) - len(notes)} more notes about files; the command check lists them."
            )
        if held := records.intake.ledger.counts()[RowState.HELD]:
            rows = "1 row is" if held == 1 else f"{held} rows are"
            notes.append(f"{rows} held back; the command check tells why.")
        return tuple(notes)


def preview_town(
    folder: Path,
    *,
    port: int,
    today: Callable[[], dt.date],
    ready: Callable[[str], None],
    stop: threading.Event | None = None,
) -> None:
    """Serve a town's site to this computer and rebuild it until stopped.

    Parameters
    ----------
    folder
        The town's folder.
    port
        Where to listen; 0 takes any free port.
    today
        Returns the group's own day.
    ready
        Called with the address once pages can be asked for.
    stop
        Ends the preview when set; Ctrl+C does as well.

    Raises
    ------
    InputError
        If the folder holds no town, or the port is taken.
    """
    folder = folder.resolve()
    load_config(folder)
    with ExitStack() as stack:
        home = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="eaveline-preview-")))
        site, board = home / "site", Board()
        server = PreviewServer(site, board, port=port)
        stack.callback(server.server_close)
        threading.Thread(target=server.serve_forever, daemon=True).start()
        stack.callback(server.shutdown)
        previewer = stack.enter_context(Previewer(folder, site=site, board=board, today=today))
        saved: queue.SimpleQueue[set[Path]] = queue.SimpleQueue()
        stop = stop or threading.Event()
        stack.callback(stop.set)
        threading.Thread(target=_watch, args=(folder, saved, stop), daemon=True).start()
        ready(server.address)
        previewer.rebuild()
        while not stop.is_set():
            changed = _next(saved)
            if changed:
                previewer.rebuild(changed)


def _watch(folder: Path, saved: queue.SimpleQueue[set[Path]], stop: threading.Event) -> None:
    """Put what is saved into the queue until told to stop."""
    folders = [folder / name for name in _WATCHED if (folder / name).is_dir()]
    for found in watchfiles.watch(
        *folders, step=_QUIET_MS, stop_event=stop, rust_timeout=500, yield_on_timeout=False
    ):
        saved.put({Path(name) for _, name in found})


def _next(saved: queue.SimpleQueue[set[Path]]) -> set[Path]:
    """Return all that was saved since last time; nothing after half a second without any."""
    changed: set[Path] = set()
    try:
        changed |= saved.get(timeout=0.5)
        while True:
            changed |= saved.get_nowait()
    except queue.Empty:
        return changed
