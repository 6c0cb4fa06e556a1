"""What town.toml says that everyone may know: the town's and the group's public face."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from pydantic import ConfigDict, Field

from eaveline.public.records import Nation, Record

Text = Annotated[str, Field(min_length=1, max_length=120)]


class PublicTown(Record):
    """The public part of town.toml; the site is made from nothing more of it."""

    model_config = ConfigDict(use_attribute_docstrings=True)

    name: Text
    """The town's name."""
    nation: Nation
    """England, Scotland, Wales or Northern Ireland: whose law and whose grid apply."""
    centre: Text
    """A grid reference near the middle of the town; sunset is computed for it."""
    group: Text
    """The group's name."""
    email: Text
    """The group's public address for letters, not a member's own."""
    site_url: Annotated[
        str, Field(pattern=r"^(https?://\S+[^/])?$", examples=["https://swifts.example/town"])
    ] = ""
    """Where the site will stand, without a closing slash; empty for a site opened from a folder."""
    language: Annotated[
        str, Field(pattern=r"^[a-z]{2,3}(-[A-Za-z0-9]{2,8})*$", examples=["cy"])
    ] = "en"
    """Of all pages and papers; for any but English there must be a file of messages."""
    licence: Text = "CC BY 4.0"
    """Licence of the published figures."""
    occurrence_status: Literal["detected", "present"] = "detected"
    """Words of Darwin Core's occurrenceStatus: detected/notDetected, or present/absent."""
    watch_evenings: tuple[dt.date, ...] = ()
    """When the group watches together; every Saturday of the season is proposed otherwise."""
    invented: bool = False
    """True for a made-up town; every page then says so."""
    box_offer: Annotated[str, Field(max_length=400)] = ""
    """What boxes cost a householder, in the group's words, for the page of offers."""
