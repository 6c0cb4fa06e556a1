"""The empty record files that a new town starts with."""

from __future__ import annotations

from eaveline.private.intake.forms import record_form
from eaveline.private.intake.schema import KINDS


def record_forms() -> dict[str, bytes]:
    """Return an empty form for every folder of records, by path below survey_data/.

    They are marked as UTF-8, so that a spreadsheet program saves them as that.
    """
    return {
        f"{folder}/{folder.replace('_', '-')}.csv": record_form(kind).encode("utf-8-sig")
        for folder, kind in KINDS.items()
    }


def column_guide() -> str:
    """Return what every column of every folder is for, as Markdown."""
    lines = [
        "# What the columns mean",
        "",
        "Columns may come in any order and be left out, except those marked *needed*. Ordinary",
        "names are understood as well: “Who” for `seen_by`, “Grid Ref” for `grid_ref`. Dates are",
        "day first. A place is one of: grid reference; street and house; latitude and",
        "longitude; easting and northing.",
    ]
    for kind in KINDS.values():
        lines += ["", f"## {kind.folder}/", "", kind.about.rstrip(".") + ".", ""]
        lines += ["| column | what it holds |", "|---|---|"]
        lines += [
            f"| `{column.name}` | {column.about}{' (*needed*)' if column.required else ''} |"
            for column in kind.columns
        ]
    return "\n".join([*lines, ""])
