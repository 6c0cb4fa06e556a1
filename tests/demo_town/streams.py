"""Seeded random streams, one for each purpose.

Each part of the generator draws from its own stream, so a change in one part leaves the
others' bytes alone. Seeding by text goes through SHA-512, the same on every platform.
"""

from __future__ import annotations

import random

SEED = "Ottersley 2026"


def stream(*purpose: object) -> random.Random:
    """Return the random stream for `purpose`; the same purpose always gives the same stream."""
    return random.Random("/".join((SEED, *map(str, purpose))))
