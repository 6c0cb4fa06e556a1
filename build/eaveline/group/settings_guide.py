"""What every setting of town.toml is for, as Markdown."""

from __future__ import annotations

import json

from pydantic.fields import FieldInfo

from eaveline.config import Table, part_of, tables_of


def settings_guide() -> str:
    """Return a table of keys for each part of town.toml."""
    lines = [
        "# The settings of town.toml",
        "",
        "A key that is left out is as if its default stood there. A part in double brackets may",
        "stand several times.",
    ]
    for table in tables_of():
        lines += ["", f"## {_heading(table)}", ""]
        lines += ["| key | default | what it is for |", "|---|---|---|"]
        lines += [
            _line(name, field)
            for name, field in table.model.model_fields.items()
            if part_of(field.annotation) is None
        ]
    return "\n".join([*lines, ""])


def _heading(table: Table) -> str:
    if not table.path:
        return "At the top, above every bracket"
    return f"`[[{table.path}]]`" if table.repeated else f"`[{table.path}]`"


def _line(name: str, field: FieldInfo) -> str:
    about = " ".join((field.description or "").split())
    default = "*needed*" if field.is_required() else json.dumps(field.default)
    return f"| `{name}` | {'' if default == 'null' else default} | {about} |"
