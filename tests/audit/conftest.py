"""A small invented town's secrets, with the judge of its places."""

from __future__ import annotations

import numpy as np
import pytest

from eaveline.audit.places import Places, places_of
from eaveline.audit.secrets import Secrets
from leaks import town_secrets

STREET_CORNER = (650_333.3, 330_444.4)
"""A vertex of a published street."""


@pytest.fixture(scope="session")
def secrets() -> Secrets:
    return town_secrets()


@pytest.fixture(scope="session")
def places(secrets: Secrets) -> Places:
    return places_of(secrets, np.array([STREET_CORNER]))
