"""How the site's templates are read, and compiled before anyone waits for a page."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING, Any

from jinja2 import BytecodeCache, Environment, FileSystemLoader, StrictUndefined, TemplateError

from eaveline.messages import MessagesExtension

if TYPE_CHECKING:
    from pathlib import Path

    from jinja2.bccache import Bucket


class _Compiled(BytecodeCache):
    """Keeps what was compiled as long as the process lives; Jinja checks it against the source."""

    def __init__(self) -> None:
        self._kept: dict[str, bytes] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        if bucket.key in self._kept:
            bucket.bytecode_from_string(self._kept[bucket.key])

    def dump_bytecode(self, bucket: Bucket) -> None:
        self._kept[bucket.key] = bucket.bytecode_to_string()


OPTIONS: dict[str, Any] = {
    "autoescape": True,
    # No template changes while one site is made; to ask each time costs a look at the disc.
    "auto_reload": False,
    "bytecode_cache": _Compiled(),
    "undefined": StrictUndefined,
    "trim_blocks": True,
    "lstrip_blocks": True,
    "extensions": [MessagesExtension],
}
"""Jinja's, for every template of a site."""


def compile_templates(folder: Path) -> None:
    """Compile a theme's templates, so that a site made later in this process need not.

    A template that cannot be compiled is left to that site, which can say what is wrong.
    """
    environment = Environment(loader=FileSystemLoader(folder), **OPTIONS)  # noqa: S701 - autoescape is in the options
    for name in environment.list_templates(extensions=("html", "xml")):
        with suppress(TemplateError):
            environment.get_template(name)
