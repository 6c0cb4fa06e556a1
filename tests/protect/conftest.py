"""Settings for the property tests of the gate."""

from __future__ import annotations

from hypothesis import settings

# The machine's load decides how long an example takes; speed has tests of its own.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
