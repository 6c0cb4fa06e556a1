"""Refuse a Python that is too old, in words it can still print.

This file and the two ``__main__.py`` that import it first keep to syntax that Python 2.7 and
every Python 3 can read: no annotations, no f-strings. Everything else may use Python 3.11.
"""

import sys

OLDEST = (3, 11)  # pyproject.toml says the same; a test compares them


def refuse_old_python(version=sys.version_info[:2]):
    # type: (tuple[int, ...]) -> None
    """End with one sentence where the running Python is older than ``OLDEST``."""
    if tuple(version[:2]) < OLDEST:
        sys.exit(
            "Eaveline needs Python %d.%d or newer, and this is Python %d.%d. "
            "Get a newer one from https://www.python.org/downloads/ and start it by its name, "
            "for example: python3.13 build" % (OLDEST + tuple(version[:2]))
        )
