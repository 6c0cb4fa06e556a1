"""Writes the demo town's files: ``python tests/demo_town --write [FOLDER]``."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS), str(TESTS.parent / "build")]

from demo_town.files import demo_files  # noqa: E402 - the path has to be set first


def main() -> None:
    """Write the files, or list those that differ from what the generator makes."""
    parser = argparse.ArgumentParser(description="Generate Ottersley's records.")
    parser.add_argument("folder", nargs="?", type=Path, default=TESTS.parent / "survey_data")
    parser.add_argument("--write", action="store_true", help="write instead of comparing")
    options = parser.parse_args()
    for name, data in demo_files().items():
        path = options.folder / name
        if path.is_file() and path.read_bytes() == data:
            continue
        if options.write:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        print("written" if options.write else "differs", name)


if __name__ == "__main__":
    main()
