"""Give the project a Python of its own in ``.venv``, then hand over to it.

Shared by ``python3 build`` and ``python3 tests``. Standard library only, since it runs before
anything is installed, and quick when nothing changed, since it runs every time.

``requirements.lock`` names every package with its version and hashes, in two parts: what the
program needs, then what the tests add. Both pip and uv can read it.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
import sys
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from typing import TextIO

Part = Literal["runtime", "tests"]

ROOT = Path(__file__).resolve().parent.parent
LOCK_DIVIDER = "# ---------- what the tests add ----------"
FAILED = 2
INTERRUPTED = 130

# Settings of the person's own that would send packages elsewhere or shadow the ones installed.
_MISLEADING = ("PYTHONHOME", "PYTHONPATH", "PIP_TARGET", "PIP_PREFIX", "PIP_REQUIRE_VIRTUALENV")

DISC_FULL = (
    "The disc is full, and the packages need about 1.5 GB. Make room, then start again: "
    "the set-up begins afresh."
)
NO_NETWORK = (
    "The package index could not be reached, so the packages are not installed. "
    "Connect to the internet (behind a proxy, set HTTPS_PROXY), then start again."
)
NO_WRITING = (
    "This folder may not be written to. Move the project to a folder of your own, "
    "or ask whoever owns it for permission, then start again."
)
NO_VENV = (
    "This Python lacks the part that makes separate installations (venv). "
    "Install it (Debian and Ubuntu: sudo apt install python3-venv), then start again."
)
NO_PACKAGE = (
    "A package in requirements.lock has no ready-made file for this Python or computer. "
    "Try Python 3.11, 3.12 or 3.13, 64-bit, from https://www.python.org/downloads/."
)
CHANGED_PACKAGE = (
    "A downloaded package is not the one requirements.lock vouches for, so it was not installed. "
    "Start again; if it stays so, tell whoever looks after the project."
)
NO_LOCK = (
    "A file of the project is missing: {name}. Fetch the whole project again, then start again."
)
UNUSABLE = (
    "The folder .venv is in use or damaged and could not be replaced. "
    "Close programs that use it, delete it, then start again."
)
UNKNOWN = "The set-up did not finish. Put right what the lines above say, then start again."
STOPPED = "Stopped before the set-up was done. Start again: it begins afresh."

# What pip or uv writes, and what it means to the reader. The first that fits is said: pip
# follows a broken connection with "no matching distribution", so the connection comes first.
_SIGNS: tuple[tuple[tuple[str, ...], str], ...] = (
    (("no space left on device", "not enough space on the disk", "disk quota"), DISC_FULL),
    (("do not match the hashes", "hash mismatch"), CHANGED_PACKAGE),
    (
        (
            "name resolution",
            "getaddrinfo",
            "failed to lookup address",
            "name or service not known",
            "nodename nor servname",
            "dns error",
            "network is unreachable",
            "failed to establish a new connection",
            "error sending request",
            "tcp connect error",
            "connection refused",
            "connection reset",
            "connection aborted",
            "cannot connect to proxy",
            "timed out",
        ),
        NO_NETWORK,
    ),
    (("permission denied", "read-only file system"), NO_WRITING),
    (("no matching distribution", "no solution found", "no wheels with"), NO_PACKAGE),
    (("no module named ensurepip", "ensurepip is not available"), NO_VENV),
)


class SetUpError(Exception):
    """The set-up cannot go on; the text is one thing a person can do about it."""


def start(part: Part, command: Sequence[str], *, root: Path = ROOT) -> int:
    """Set up what is missing, then run the project's Python with ``command``.

    Parameters
    ----------
    part
        "runtime" for what the program needs, "tests" for that and what its tests need.
    command
        Arguments for Python, for example ``["-m", "eaveline", "build"]``.
    root
        The project's folder.

    Returns
    -------
    int
        The exit code to end with. Where the system can, this process becomes the command
        and the function does not return.
    """
    try:
        prepare(root, part)
        return hand_over(root, command)
    except SetUpError as error:
        _say(str(error))
        return FAILED
    except OSError as error:
        _say(explain_os_error(error))
        return FAILED
    except KeyboardInterrupt:
        _say(STOPPED)
        return INTERRUPTED


def prepare(root: Path, part: Part) -> None:
    """Install into ``.venv`` whatever ``part`` still lacks there; nothing, as a rule."""
    mark = fingerprint(root)
    ready = ready_part(root, mark)
    if ready in (part, "tests"):
        return
    if _inside(root):
        _leave_venv()
    from one_at_a_time import alone_in  # noqa: PLC0415 - only a set-up needs it

    with alone_in(root, waiting=_say):
        # Another command may have done it while this one waited.
        ready = ready_part(root, mark)
        if ready not in (part, "tests"):
            set_up(root, part, mark, afresh=ready is None)


def fingerprint(root: Path) -> str:
    """Return a hash of everything that decides what ``.venv`` must hold.

    Of pyproject.toml only the tables that an installation reads count: a changed linter
    setting reinstalls nothing.
    """
    project = tomllib.loads(_read(root / "pyproject.toml"))
    decides = {
        "lock": _read(root / "requirements.lock"),
        "project": {key: project.get(key) for key in ("project", "build-system")},
        "packaging": project.get("tool", {}).get("hatch"),
        "python": [sys.implementation.cache_tag, sys.platform, sys.maxsize],
        "folder": str(root),
    }
    return hashlib.sha256(json.dumps(decides, sort_keys=True).encode()).hexdigest()


def ready_part(root: Path, mark: str) -> Part | None:
    """Return the part ``.venv`` is set up for under this fingerprint, if any.

    An interrupted set-up has no stamp, a moved or emptied one no Python.
    """
    try:
        stamp = json.loads(_stamp(root).read_text("utf-8"))
        matches = stamp["fingerprint"] == mark and python_in(root).exists()
        return stamp["part"] if matches else None
    except (FileNotFoundError, ValueError, KeyError, TypeError, NotADirectoryError):
        return None


def set_up(root: Path, part: Part, mark: str, *, afresh: bool) -> None:
    """Make ``.venv`` and install ``part`` of the lock and the project itself.

    Parameters
    ----------
    root
        The project's folder.
    part
        Which part of the lock to install.
    mark
        The fingerprint to stamp a finished set-up with.
    afresh
        Whether to start from an empty ``.venv``: always, unless a finished set-up of the
        program only lacks what the tests add. Leftovers of an older lock would hide a
        package missing from the new one.
    """
    import shutil  # noqa: PLC0415 - only a set-up needs these, and every start would pay
    import time  # noqa: PLC0415

    began = time.monotonic()
    uv = shutil.which("uv")
    venv = root / ".venv"
    if not uv:
        _require_venv_modules()
    if afresh:
        _empty(venv)
    _stamp(root).unlink(missing_ok=True)
    wanted = lock_part(root, part)
    (venv / "requirements.txt").write_text(wanted, "utf-8")
    minutes = "about a minute" if uv else "about 3 minutes"
    _say(f"Setting up, once: {minutes}. Details go to .venv/setup.log")
    with (venv / "setup.log").open("a", encoding="utf-8") as log:
        if afresh:
            _say("  making a Python of the project's own")
            bare = ["--without-pip"] if uv else []
            _run([sys.executable, "-m", "venv", *bare, str(venv)], root, log)
        missing = wanted if afresh else wanted.partition(LOCK_DIVIDER)[2]
        _say(f"  fetching {count_packages(missing)} packages")
        install = _installer(root, uv)
        # Ready-made packages only, each one vouched for: nothing is compiled or looked up.
        checks = ["--require-hashes", "--no-deps", "--only-binary", ":all:"]
        _run([*install, *checks, "-r", str(venv / "requirements.txt")], root, log)
        _say("  adding Eaveline itself")
        own = ["--no-index", "--no-build-isolation", "--no-deps", "--editable", str(root)]
        _run([*install, *own], root, log)
    _stamp(root).write_text(json.dumps({"fingerprint": mark, "part": part}), "utf-8")
    _say(f"Ready after {time.monotonic() - began:.0f} s.")


def lock_part(root: Path, part: Part) -> str:
    """Return the lines of requirements.lock that ``part`` needs."""
    lock = _read(root / "requirements.lock")
    runtime, divider, _ = lock.partition(LOCK_DIVIDER)
    if not divider:
        raise SetUpError(NO_LOCK.format(name="requirements.lock (its middle line is gone)"))
    return runtime if part == "runtime" else lock


def count_packages(lock: str) -> int:
    """Return how many packages some lines of requirements.lock name."""
    return sum(line[:1].isalnum() for line in lock.splitlines())


def python_in(root: Path) -> Path:
    """Return where the project's own Python is, once made."""
    inside = "Scripts/python.exe" if os.name == "nt" else "bin/python"
    return root / ".venv" / inside


def hand_over(root: Path, command: Sequence[str]) -> int:
    """Run the project's Python with ``command``, as this process where the system allows.

    Returns
    -------
    int
        The command's exit code (Windows only; elsewhere this process is gone).
    """
    # -P: the current folder is data, not a place to import modules from.
    words = [str(python_in(root)), "-P", *command]
    sys.stdout.flush()
    sys.stderr.flush()
    if os.name != "nt":
        os.execve(words[0], words, _environment())  # noqa: S606 - no shell wanted
    return _call_and_wait(words)


def explain(output: str) -> str:
    """Return the sentence for what an installer wrote, or the end of it and a way on."""
    lowered = output.lower()
    for signs, sentence in _SIGNS:
        if any(sign in lowered for sign in signs):
            return sentence
    last_lines = "\n".join(output.strip().splitlines()[-8:])
    return f"{last_lines}\n{UNKNOWN}"


def explain_os_error(error: OSError) -> str:
    """Return the sentence for a file that could not be written, read or replaced."""
    if error.errno in {errno.ENOSPC, errno.EDQUOT}:
        return DISC_FULL
    if error.errno in {errno.EACCES, errno.EPERM, errno.EROFS}:
        return NO_WRITING
    return UNUSABLE


def _stamp(root: Path) -> Path:
    """Return the file that says a set-up was finished, and which."""
    return root / ".venv" / "ready.json"


def _read(path: Path) -> str:
    """Return a file of the project's, or say that it is missing."""
    try:
        return path.read_text("utf-8")
    except FileNotFoundError:
        raise SetUpError(NO_LOCK.format(name=path.name)) from None


def _require_venv_modules() -> None:
    """Refuse a Python that cannot make virtual environments with pip in them."""
    import importlib.util  # noqa: PLC0415 - only a set-up needs it

    # Debian splits Python: without python3-venv, venv is there and ensurepip is not.
    if any(importlib.util.find_spec(name) is None for name in ("venv", "ensurepip")):
        raise SetUpError(NO_VENV)


def _empty(venv: Path) -> None:
    """Leave ``venv`` an empty folder; a link to a folder elsewhere stays a link."""
    import shutil  # noqa: PLC0415 - only a set-up needs it

    if venv.is_file() or (venv.is_symlink() and not venv.exists()):
        venv.unlink()
    venv.mkdir(exist_ok=True)
    for entry in venv.iterdir():
        if entry.is_dir() and not entry.is_symlink():
            shutil.rmtree(entry)
        else:
            entry.unlink()


def _installer(root: Path, uv: str | None) -> list[str]:
    """Return the words that start an installation into ``.venv``."""
    python = str(python_in(root))
    if uv:
        # pip compiles what it installs; without it the first start of every command would.
        return [uv, "pip", "install", "--compile-bytecode", "--python", python]
    return [python, "-m", "pip", "install", "--progress-bar", "off"]


def _run(words: Sequence[str], root: Path, log: TextIO) -> None:
    """Run one step, its output going to the log; explain it if it fails."""
    import subprocess  # noqa: PLC0415 - only a set-up needs it

    done = subprocess.run(
        words,
        cwd=root,
        env=_environment(),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        check=False,
    )
    output = done.stdout.decode("utf-8", errors="replace")
    log.write(f"$ {' '.join(words)}\n{output}\n")
    if done.returncode:
        raise SetUpError(explain(output))


def _environment() -> Mapping[str, str]:
    """Return the environment without what would lead Python or pip astray."""
    kept = {key: value for key, value in os.environ.items() if key not in _MISLEADING}
    return kept | {"PIP_USER": "0", "PIP_NO_INPUT": "1", "PIP_DISABLE_PIP_VERSION_CHECK": "1"}


def _inside(root: Path) -> bool:
    """Tell whether the running Python is the one in ``.venv``."""
    return Path(sys.prefix).resolve() == (root / ".venv").resolve()


def _leave_venv() -> None:
    """Start over under the Python that ``.venv`` was made from, since ``.venv`` will go."""
    base = str(getattr(sys, "_base_executable", ""))
    # On Windows this process holds files of .venv open until it ends.
    if not base or os.name == "nt":
        raise SetUpError(UNUSABLE)
    os.execve(base, [base, *sys.orig_argv[1:]], _environment())  # noqa: S606 - no shell wanted


def _call_and_wait(words: Sequence[str]) -> int:
    """Run the command beneath this process, leaving Ctrl-C to it."""
    import subprocess  # noqa: PLC0415 - only Windows needs it on every start

    with subprocess.Popen(words, env=_environment()) as command:
        while True:
            try:
                return command.wait()
            except KeyboardInterrupt:  # the command has had it too, and ends in its own way
                continue


def _say(sentence: str) -> None:
    """Tell the person; stdout stays the command's own."""
    print(sentence, file=sys.stderr, flush=True)
