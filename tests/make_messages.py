"""Writes messages.pot: every English message of pages and papers, for translators to copy.

``python tests/make_messages.py``; a test tells when it is needed.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from itertools import chain
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.extract import DEFAULT_KEYWORDS, extract
from babel.messages.pofile import write_po

from eaveline.papers.review import PROBLEM_TEXTS, REPAIR_TEXTS

ROOT = Path(__file__).resolve().parent.parent
POT = ROOT / "build" / "eaveline" / "data" / "messages" / "messages.pot"
SOURCES = (
    ("build/eaveline", "**/*.py", "python"),
    ("build/eaveline/papers", "**/templates/*.html", "jinja2.ext.babel_extract"),
    ("theme/templates", "*.html", "jinja2.ext.babel_extract"),
)
"""Folder, its files, and Babel's name for how to read them."""
_TEMPLATES = {
    # As the environments are set up, or a message would not be found again.
    "trimmed": "true",
    "newstyle_gettext": "true",
    "silent": "false",
    "trim_blocks": "true",
    "lstrip_blocks": "true",
}
_HEADER = """\
# Every English message of Eaveline's pages and papers, in the order of the files they stand in.
#
# Copy this file to theme/messages/TAG.po in your town's folder (cy.po for Welsh), translate what
# you like, name your language's rule in Plural-Forms, and set language = "cy" in town.toml.
# What stands between %( and )s, and between < and >, is copied and not translated; a percent sign
# is written %%.
#
msgid ""
msgstr ""
"Project-Id-Version: Eaveline\\n"
"Language: en_GB\\n"
"MIME-Version: 1.0\\n"
"Content-Type: text/plain; charset=utf-8\\n"
"Content-Transfer-Encoding: 8bit\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"

"""


def catalogue() -> Catalog:
    """Return every message with the files it stands in."""
    found = Catalog(charset="utf-8")
    for path, method in sources():
        name = path.relative_to(ROOT).as_posix()
        options: dict[str, Any] = {} if method == "python" else dict(_TEMPLATES)
        with path.open("rb") as file:
            for line, message, _, context in extract(
                method, file, keywords=DEFAULT_KEYWORDS, options=options
            ):
                found.add(message, locations=[(name, line)], context=context)
    # The catalogues of what is wrong with rows are data, which the command line says in English.
    for words in (*chain.from_iterable(PROBLEM_TEXTS.values()), *REPAIR_TEXTS.values()):
        found.add(words, locations=[("build/eaveline/papers/review.py", 1)])
    return found


def sources() -> Iterator[tuple[Path, str]]:
    """Yield every file that may hold messages, with Babel's name for how to read it."""
    for folder, files, method in SOURCES:
        for path in sorted((ROOT / folder).glob(files)):
            yield path, method


def messages_file() -> str:
    """Return messages.pot as it is now. No line number or date is in it, so it is stable."""
    out = io.BytesIO()
    write_po(out, catalogue(), omit_header=True, include_lineno=False, width=100)
    return _HEADER + out.getvalue().decode()


if __name__ == "__main__":
    POT.parent.mkdir(parents=True, exist_ok=True)
    POT.write_text(messages_file(), encoding="utf-8", newline="\n")
