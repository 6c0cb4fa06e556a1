"""The register in memory, which never shows itself."""

from __future__ import annotations

import numpy as np
import pytest

from leaks import town_secrets


def test_its_text_shows_counts_only() -> None:
    assert repr(town_secrets()) == "Secrets(4 people, 4 contacts, 6 addresses, 2 points)"


def test_no_value_shows_in_any_form_of_its_text() -> None:
    secrets = town_secrets()
    shown = f"{secrets} {secrets!r} {(secrets,)}"
    for value in (*secrets.people, *secrets.contacts, *secrets.street_names, "650112"):
        assert value not in shown


@pytest.mark.parametrize(
    "changes",
    [
        {"easting_m": np.zeros(3)},
        {"easting_m": np.zeros((2, 1)), "northing_m": np.zeros((2, 1))},
        {"bounds_m": (648_000.0, 328_000.0, 648_000.0, 332_000.0)},
        {"cell_size_m": 0.0},
    ],
)
def test_nothing_to_look_for_by_mistake_is_refused(changes: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=r"must be one-dimensional|need a size"):
        town_secrets(**changes)
