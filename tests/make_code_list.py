"""Writes the list of problem codes into DEVELOPERS.md.

``python tests/make_code_list.py``; a test tells when it is needed.
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
START, END = "<!-- codes: written by tests/make_code_list.py -->", "<!-- end of codes -->"


def code_list() -> str:
    """Return the list: codes of files and settings by module, then those of rows and repairs."""
    sys.path[:0] = [str(ROOT / "build"), str(ROOT / "tests")]
    from eaveline.papers.review import PROBLEM_TEXTS, REPAIR_TEXTS  # noqa: PLC0415
    from test_house_rules import problem_codes  # noqa: PLC0415 - the path is set just above

    by_file: dict[str, list[str]] = {}
    for code, file in sorted(problem_codes().items()):
        by_file.setdefault(file.removeprefix("build/eaveline/"), []).append(code)
    lines = ["", "| where | codes |", "|---|---|"]
    for file, codes in sorted(by_file.items()):
        lines.append(f"| `{file}` | {', '.join(f'`{code}`' for code in codes)} |")
    lines += ["", "Codes of rows, as rows-to-fix.csv explains them:", ""]
    lines += ["| code | what is wrong |", "|---|---|"]
    lines += [f"| `{code}` | {what} |" for code, (what, _) in sorted(PROBLEM_TEXTS.items())]
    lines += ["", "Repairs that are certain, made and listed in repairs.csv:", ""]
    lines += [f"- `{code}`: {text}" for code, text in sorted(REPAIR_TEXTS.items())]
    return "\n".join([*lines, "", ""])


def written(guide: str) -> str:
    """Return the guide with the list as it is now."""
    head, rest = guide.split(START)
    _, tail = rest.split(END)
    return f"{head}{START}\n{code_list()}{END}{tail}"


if __name__ == "__main__":
    path = ROOT / "DEVELOPERS.md"
    path.write_text(written(path.read_text("utf-8")), encoding="utf-8")
