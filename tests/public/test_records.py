"""The release as records and as JSON."""

from __future__ import annotations

import json

import pytest
from pydantic import ValidationError

from eaveline.public.records import (
    Finding,
    PublicRelease,
    State,
    release_from_json,
    release_to_json,
)


def test_a_release_survives_being_written_down(release: PublicRelease) -> None:
    text = release_to_json(release)
    assert release_from_json(text) == release
    assert release_to_json(release_from_json(text)) == text


def test_cells_are_written_as_pairs(release: PublicRelease) -> None:
    data = json.loads(release_to_json(release))
    first = data["regions"][0]["cells"][0]
    assert isinstance(first, list)
    assert len(first) == 2


def test_a_layer_that_leaves_out_a_region_is_refused(release: PublicRelease) -> None:
    data = json.loads(release_to_json(release))
    season = next(iter(data["layers"]["boxes"].values()))
    season.popitem()
    with pytest.raises(ValidationError, match="leaves out a region"):
        release_from_json(json.dumps(data))


@pytest.mark.parametrize(("state", "low"), [(State.SOME, None), (State.LOOKED, 3)])
def test_a_band_goes_with_some_and_no_other_state(state: State, low: int | None) -> None:
    with pytest.raises(ValidationError, match="a band goes with"):
        Finding(state=state, low=low)
