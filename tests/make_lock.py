"""Write requirements.lock from pyproject.toml, for every system and Python at once.

    python3 tests/make_lock.py              keep the versions, follow pyproject.toml
    python3 tests/make_lock.py --upgrade    take the newest of everything

Needs uv on the PATH. Arguments are passed on to ``uv pip compile``.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "build"))

from bootstrap import LOCK_DIVIDER  # noqa: E402 - build/ is on the path from here on

HEADER = """\
# Every package, its version and its hashes, for pip and uv alike.
# Written by `python3 tests/make_lock.py` from pyproject.toml; do not edit.
"""

_ENTRY = re.compile(r"^(?P<name>[a-z0-9][a-z0-9-]*)==.*?(?=^[a-z0-9]|\Z)", re.MULTILINE | re.DOTALL)


def entries(lock: str) -> dict[str, str]:
    """Return each package's lines, marker and hashes included, by its normalised name."""
    plain = "".join(line for line in lock.splitlines(keepends=True) if not line.startswith("#"))
    return {found["name"]: found[0] for found in _ENTRY.finditer(plain)}


def compiled(options: list[str], earlier: str) -> str:
    """Return what uv resolves, keeping the versions of ``earlier`` where they still fit."""
    with tempfile.TemporaryDirectory() as folder:
        output = Path(folder, "requirements.txt")
        output.write_text(earlier, "utf-8")
        command = ["uv", "pip", "compile", "pyproject.toml", "--output-file", str(output)]
        command += ["--universal", "--python-version", "3.11", "--fork-strategy", "fewest"]
        command += ["--generate-hashes", "--no-header", "--no-annotate", "--quiet"]
        # setup holds what the bootstrap itself builds the project with.
        command += ["--group", "setup", *options]
        subprocess.run(command, cwd=ROOT, check=True)
        return output.read_text("utf-8")


def make_lock(earlier: str, options: list[str]) -> str:
    """Return the lock file's text: what the program needs, then what the tests add."""
    everything = compiled(["--extra", "test", *options], earlier)
    runtime = set(entries(compiled([], everything)))
    # Lines come from the larger answer, where a package's marker can only be wider.
    lines = entries(everything)
    first = "".join(lines[name] for name in sorted(runtime))
    second = "".join(lines[name] for name in sorted(lines.keys() - runtime))
    return f"{HEADER}{first}\n{LOCK_DIVIDER}\n{second}"


if __name__ == "__main__":
    path = ROOT / "requirements.lock"
    text = make_lock(path.read_text("utf-8") if path.exists() else "", sys.argv[1:])
    path.write_text(text, "utf-8", newline="\n")
    print(f"{path.name}: {len(entries(text))} packages")
