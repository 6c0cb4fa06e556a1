"""The two species by their scientific names."""

from __future__ import annotations

from typing import NamedTuple

from eaveline.public.records import Species


class Taxon(NamedTuple):
    """A species as Darwin Core names it."""

    name: str
    author: str
    order: str
    family: str
    common: str


TAXA = {
    Species.SWIFT: Taxon(
        "Apus apus", "(Linnaeus, 1758)", "Apodiformes", "Apodidae", "Common Swift"
    ),
    Species.HOUSE_MARTIN: Taxon(
        "Delichon urbicum",
        "(Linnaeus, 1758)",
        "Passeriformes",
        "Hirundinidae",
        "Western House Martin",
    ),
}
