"""What a message has filled in: its names, and percent signs that stand for nothing."""

from __future__ import annotations

import re
from functools import lru_cache

_NAME = re.compile(r"(?<!%)(?:%%)*%\((\w+)\)s")
_FILLED = re.compile(r"%%|%\(\w+\)s")


def names_in(words: str) -> frozenset[str]:
    """Return the names that are filled in.

    >>> sorted(names_in("%(boxes)s of %(all)s, or 5%%"))
    ['all', 'boxes']
    """
    return frozenset(_NAME.findall(words))


@lru_cache(maxsize=4096)
def has_stray_percent(words: str) -> bool:
    """Return whether a percent sign is neither doubled nor in front of a name.

    Filling such words in fails, or takes letters after the sign away ("5 % so" has a ``% s``).

    >>> has_stray_percent("5 % so"), has_stray_percent("5%% of %(boxes)s")
    (True, False)
    """
    return "%" in _FILLED.sub("", words)
