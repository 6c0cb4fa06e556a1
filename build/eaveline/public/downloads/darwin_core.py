"""A Darwin Core Archive of the release: a sampling event for each region and season.

Terms are those of Darwin Core and its Humboldt extension (TDWG, 2026-05-26), the wrapper is
the Darwin Core text guide (2023-09-13), the metadata EML 2.2 in GBIF's profile 1.3.

Every region and season is an event, also where nobody looked: then the sample's size is 0
hours, no occurrence is listed, and ``isAbsenceReported`` is false, so that nobody can
take silence for absence. An absence is a row of its own.

What is the same in every row of a file (the licence, what was generalised and withheld) stands
once in meta.xml, as the default of a column that is not there.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

import numpy as np
import shapely
from slugify import slugify

from eaveline.geodesy import to_wgs84
from eaveline.public.downloads.archive_file import DWC, ECO, ArchiveFile, Row, pack
from eaveline.public.downloads.eml import LICENCE_URLS, dataset_title, eml
from eaveline.public.downloads.taxa import TAXA
from eaveline.public.maps.squares import centre, region_polygon, uncertainty_m
from eaveline.public.records import (
    BandedCount,
    EvidenceClass,
    Finding,
    PublicRelease,
    Region,
    Species,
    State,
)

if TYPE_CHECKING:
    from eaveline.public.town import PublicTown

_DECIMALS = 6


STATUS_WORDS = {"detected": ("detected", "notDetected"), "present": ("present", "absent")}
"""Vocabularies of ``occurrenceStatus``: found, and looked for in vain.

Darwin Core recommends the first since 2026-05-26; older readers expect the second.
"""


def darwin_core_archive(release: PublicRelease, town: PublicTown) -> bytes:
    """Return the archive as a zip.

    Members are stored uncompressed with pinned times, because compressors differ between
    machines and the same release has to give the same bytes.

    Parameters
    ----------
    release
        The public release; nothing else is looked at but the town's public face.
    town
        Names the group, its address, its licence and the vocabulary of ``occurrenceStatus``.
    """
    tables = (
        ArchiveFile(
            "event.csv",
            f"{DWC}Event",
            _COLUMNS["event.csv"],
            event_rows(release, town),
            _same_event(release, town),
        ),
        ArchiveFile(
            "humboldt.csv",
            f"{ECO}Event",
            _COLUMNS["humboldt.csv"],
            humboldt_rows(release, town),
            _SAME_EFFORT,
        ),
        ArchiveFile(
            "occurrence.csv",
            f"{DWC}Occurrence",
            _COLUMNS["occurrence.csv"],
            occurrence_rows(release, town),
            _same_occurrence(release, town),
        ),
    )
    return pack(tables, metadata=eml(release, town, taxa=TAXA), made_on=release.made_on)


def event_rows(release: PublicRelease, town: PublicTown) -> list[Row]:
    """Return the rows of event.csv, by season and region."""
    name = _town_id(town)
    places = _places(release, town)
    return [
        {
            "eventID": f"{name}:{season}:{region.id}",
            "eventDate": season,
            "year": season,
            **_effort(release.layers.watching[season][region.id]),
            **place,
        }
        for season in release.seasons
        for region, place in zip(release.regions, places, strict=True)
    ]


def humboldt_rows(release: PublicRelease, town: PublicTown) -> list[Row]:
    """Return the rows of humboldt.csv: one for each event."""
    name = _town_id(town)
    rows: list[Row] = []
    for season in release.seasons:
        watching = release.layers.watching[season]
        layers = [layer[season] for layer in release.layers.nest_sites.values()]
        for region in release.regions:
            looked = any(layer[region.id].state is State.LOOKED for layer in layers)
            rows.append(
                {
                    "eventID": f"{name}:{season}:{region.id}",
                    "isAbsenceReported": "true" if looked else "false",
                    "samplingEffortValue": watching[region.id].low or 0,
                    "isTaxonomicScopeFullyReported": "true" if looked else "false",
                }
            )
    return rows


_SAME_EFFORT: Mapping[str, str] = {
    "isSamplingEffortReported": "true",
    "samplingEffortUnit": "hours, at least",
    "targetTaxonomicScope": " | ".join(taxon.name for taxon in TAXA.values()),
}


def occurrence_rows(release: PublicRelease, town: PublicTown) -> list[Row]:
    """Return the rows of occurrence.csv, by season, region and species."""
    name = _town_id(town)
    words = STATUS_WORDS[town.occurrence_status]
    heads = {species: _taxon(species) for species in Species}
    return [
        row
        for season in release.seasons
        for region in release.regions
        for species in Species
        for row in _occurrences(
            _kinds(release, season, region, species),
            f"{name}:{season}:{region.id}",
            slug=_SPECIES_SLUGS[species],
            head=heads[species],
            words=words,
            looked_hours=release.rule.looked_hours,
        )
    ]


def _kinds(
    release: PublicRelease, season: str, region: Region, species: Species
) -> dict[str, Finding]:
    layers = release.layers
    kinds = {"nest sites": layers.nest_sites[species][season][region.id]}
    if species is Species.SWIFT:
        kinds["screaming parties"] = layers.screaming_parties[season][region.id]
    return kinds


def _occurrences(
    kinds: Mapping[str, Finding],
    event: str,
    *,
    slug: str,
    head: Row,
    words: tuple[str, str],
    looked_hours: int,
) -> Iterator[Row]:
    """Yield what is known of a species: what was found, else one absence, else nothing.

    Nest sites not found while screaming parties were seen is no absence of the species.
    """
    found, missed = words
    some = {kind: finding for kind, finding in kinds.items() if finding.state is State.SOME}
    for kind, finding in some.items():
        yield {
            "occurrenceID": f"{event}:{slug}:{kind.replace(' ', '-')}",
            "eventID": event,
            **head,
            "occurrenceStatus": found,
            **_amount(kind, finding),
        }
    if not some and all(finding.state is State.LOOKED for finding in kinds.values()):
        yield {
            "occurrenceID": f"{event}:{slug}:none",
            "eventID": event,
            **head,
            "occurrenceStatus": missed,
            "organismQuantity": 0,
            "organismQuantityType": " or ".join(kinds),
            "individualCount": 0,
            "occurrenceRemarks": f"Looked for over at least {looked_hours} hours "
            "of valid watching in the region.",
        }


def _same_occurrence(release: PublicRelease, town: PublicTown) -> dict[str, str]:
    return {
        "basisOfRecord": "HumanObservation",
        "kingdom": "Animalia",
        "class": "Aves",
        "taxonRank": "species",
        "identificationVerificationStatus": "checked for contradictions by the group; not every "
        "record was verified",
        "recordedBy": town.group,
        "dataGeneralizations": _generalised(release),
        "informationWithheld": _WITHHELD,
    }


def _amount(kind: str, finding: Finding) -> Row:
    row: Row = {
        "organismQuantity": finding.low or 0,
        "organismQuantityType": f"{kind}, at least",
        "occurrenceRemarks": f"The number is the lower end of a band; there may be more {kind}.",
    }
    if kind == "screaming parties":
        return row | {"behavior": "screaming party"}
    return row | {"reproductiveCondition": _breeding(finding.surest)}


def _breeding(surest: EvidenceClass | None) -> str:
    return f"{surest.value} breeding (EBCC)" if surest else ""


def _taxon(species: Species) -> Row:
    taxon = TAXA[species]
    return {
        "scientificName": taxon.name,
        "scientificNameAuthorship": taxon.author,
        "order": taxon.order,
        "family": taxon.family,
        "vernacularName": taxon.common,
    }


def _effort(watched: BandedCount) -> Row:
    return {
        "sampleSizeValue": watched.low or 0,
        "samplingEffort": _hours(watched),
        "eventRemarks": "Hours are a band; sampleSizeValue is its lower end."
        if watched.low
        else "Nobody's watching is on record here; nothing can be said of absence.",
    }


def _hours(watched: BandedCount) -> str:
    if watched.low is None:
        return "0 hours of valid watching"
    if watched.high is None:
        return f"{watched.low} or more hours of valid watching"
    if watched.high == watched.low:
        return f"{watched.low} hour{'s' if watched.low > 1 else ''} of valid watching"
    return f"{watched.low} to {watched.high} hours of valid watching"


_WITHHELD = (
    "Exact places, dates, observers and counts are withheld to protect the nests and the people "
    "who live there. The group may share them with those who need them."
)


def _generalised(release: PublicRelease) -> str:
    rule = release.rule
    return (
        f"Records are counted in whole {rule.cell_size_m} m squares of {release.crs}, joined to "
        f"hold at least {rule.minimum_premises} premises; counts are capped and put into bands, "
        "dates are given as years."
    )


def _places(release: PublicRelease, town: PublicTown) -> list[Row]:
    """Return what is said of each region's place, in the order of the regions."""
    size_m = release.rule.cell_size_m
    middles = [centre(region.cells, cell_size_m=size_m) for region in release.regions]
    degrees = to_wgs84(shapely.get_coordinates(middles), crs=release.crs)
    outlines = [region_polygon(region.cells, cell_size_m=size_m) for region in release.regions]
    # All at once: a change of grid costs more to begin than to do.
    footprints = shapely.transform(
        np.array(outlines, dtype=object),
        lambda points: to_wgs84(points, crs=release.crs).round(_DECIMALS),
    )
    name = _town_id(town)
    return [
        {
            "locationID": f"{name}:{region.id}",
            "locality": f"{len(region.cells)} grid square(s) of {size_m} m with "
            f"{region.premises} premises",
            "decimalLatitude": f"{latitude:.{_DECIMALS}f}",
            "decimalLongitude": f"{longitude:.{_DECIMALS}f}",
            "coordinateUncertaintyInMeters": uncertainty_m(region.cells, cell_size_m=size_m),
            "footprintWKT": footprint,
        }
        for region, (longitude, latitude), footprint in zip(
            release.regions,
            degrees,
            shapely.to_wkt(footprints, rounding_precision=_DECIMALS),
            strict=True,
        )
    ]


def _same_event(release: PublicRelease, town: PublicTown) -> dict[str, str]:
    return {
        "eventCategory": "Survey",
        "eventType": "season of watching and reports",
        "samplingProtocol": "Timed watches at dusk or dawn in fit weather, besides casual reports "
        "of nests and screaming parties",
        "sampleSizeUnit": "hour",
        "countryCode": "GB",
        "stateProvince": town.nation.value,
        "municipality": town.name,
        "geodeticDatum": "EPSG:4326",
        "coordinatePrecision": "0.000001",
        "footprintSRS": "EPSG:4326",
        "georeferenceProtocol": "Middle of the box around the region's squares; the uncertainty "
        "is the radius that holds them whole (Chapman & Wieczorek 2020)",
        "dataGeneralizations": _generalised(release),
        "informationWithheld": _WITHHELD,
        "datasetName": dataset_title(town),
        "institutionCode": town.group,
        "license": LICENCE_URLS.get(town.licence, town.licence),
    }


def _town_id(town: PublicTown) -> str:
    return slugify(town.name) or "town"


_SPECIES_SLUGS = {species: slugify(species.value) for species in Species}

_COLUMNS: Mapping[str, tuple[str, ...]] = {
    "event.csv": (
        *("eventID", "eventDate", "year", "sampleSizeValue", "samplingEffort", "eventRemarks"),
        *("locationID", "locality", "decimalLatitude", "decimalLongitude"),
        *("coordinateUncertaintyInMeters", "footprintWKT"),
    ),
    "humboldt.csv": (
        *("eventID", "isAbsenceReported", "samplingEffortValue", "isTaxonomicScopeFullyReported"),
    ),
    "occurrence.csv": (
        *("occurrenceID", "eventID", "scientificName", "scientificNameAuthorship", "order"),
        *("family", "vernacularName", "occurrenceStatus", "organismQuantity"),
        *("organismQuantityType", "individualCount", "behavior", "reproductiveCondition"),
        "occurrenceRemarks",
    ),
}
