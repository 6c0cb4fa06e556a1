"""A town with planning applications."""

from __future__ import annotations

import pytest

from planned_town import Planned, planned


@pytest.fixture(scope="session")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Planned:
    return planned(tmp_path_factory.mktemp("planned"))
