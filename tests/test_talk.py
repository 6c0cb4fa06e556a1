"""What is said in the terminal."""

from __future__ import annotations

from eaveline import talk


def test_a_file_may_have_any_name() -> None:
    # Square brackets are marks of style to the terminal; a closing one alone was a fault.
    with talk.progress() as tell:
        tell("sightings/june [/ann].csv")
