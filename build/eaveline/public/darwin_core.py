"""A Darwin Core Archive of the release: a sampling event for each region and season.

Terms are those of Darwin Core and its Humboldt extension (TDWG, 2026-05-26), the wrapper is
the Darwin Core text guide (2023-09-13), the metadata EML 2.2 in GBIF's profile 1.3.

Every region and season is an event, also where nobody looked: then the sample's size is 0
hours, no occurrence is listed, and ``isAbsenceReported`` is false, so that nobody can
take silence for absence. An absence is a row of its own.
"""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

import shapely
from slugify import slugify

from eaveline.public.eml import LICENCE_URLS, dataset_title, eml
from eaveline.public.projection import to_wgs84
from eaveline.public.records import (
    BandedCount,
    EvidenceClass,
    Finding,
    PublicRelease,
    Region,
    Species,
    State,
)
from eaveline.public.squares import centre, region_polygon, uncertainty_m

if TYPE_CHECKING:
    from eaveline.public.town import PublicTown

DWC = "http://rs.tdwg.org/dwc/terms/"
DCTERMS = "http://purl.org/dc/terms/"
ECO = "http://rs.tdwg.org/eco/terms/"

_DUBLIN_CORE = frozenset({"license", "language", "type"})
_HUMBOLDT = frozenset(
    {
        "isAbsenceReported",
        "isSamplingEffortReported",
        "samplingEffortValue",
        "samplingEffortUnit",
        "targetTaxonomicScope",
        "isTaxonomicScopeFullyReported",
    }
)
_DECIMALS = 6


STATUS_WORDS = {"detected": ("detected", "notDetected"), "present": ("present", "absent")}
"""Vocabularies of ``occurrenceStatus``: found, and looked for in vain.

Darwin Core recommends the first since 2026-05-26; older readers expect the second.
"""


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

Row = dict[str, str | int | float]


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
    tables = {
        "event.csv": (f"{DWC}Event", event_rows(release, town)),
        "humboldt.csv": (f"{ECO}Event", humboldt_rows(release, town)),
        "occurrence.csv": (f"{DWC}Occurrence", occurrence_rows(release, town)),
    }
    members = {name: _csv(rows, _COLUMNS[name]) for name, (_, rows) in tables.items()}
    members["meta.xml"] = _meta({name: kind for name, (kind, _) in tables.items()})
    members["eml.xml"] = eml(release, town, taxa=TAXA)
    return _zip(members, made_on=(release.made_on.year, release.made_on.month, release.made_on.day))


def event_rows(release: PublicRelease, town: PublicTown) -> list[Row]:
    """Return the rows of event.csv, by season and region."""
    places = {region.id: _place(region, release, town) for region in release.regions}
    return [
        {
            "eventID": _event_id(town, season, region),
            "eventCategory": "Survey",
            "eventType": "season of watching and reports",
            "eventDate": season,
            "year": season,
            **_effort(release, season, region),
            **places[region.id],
        }
        for season in release.seasons
        for region in release.regions
    ]


def humboldt_rows(release: PublicRelease, town: PublicTown) -> list[Row]:
    """Return the rows of humboldt.csv: one for each event."""
    rows: list[Row] = []
    for season in release.seasons:
        for region in release.regions:
            watched = release.layers.watching[season][region.id]
            looked = any(
                layer[season][region.id].state is State.LOOKED
                for layer in release.layers.nest_sites.values()
            )
            rows.append(
                {
                    "eventID": _event_id(town, season, region),
                    "isAbsenceReported": str(looked).lower(),
                    "isSamplingEffortReported": "true",
                    "samplingEffortValue": watched.low or 0,
                    "samplingEffortUnit": "hours, at least",
                    "targetTaxonomicScope": " | ".join(taxon.name for taxon in TAXA.values()),
                    "isTaxonomicScopeFullyReported": str(looked).lower(),
                }
            )
    return rows


def occurrence_rows(release: PublicRelease, town: PublicTown) -> list[Row]:
    """Return the rows of occurrence.csv, by season, region and species."""
    return [
        row
        for season in release.seasons
        for region in release.regions
        for species in Species
        for row in _occurrences(release, town, season, region, species)
    ]


def _occurrences(
    release: PublicRelease,
    town: PublicTown,
    season: str,
    region: Region,
    species: Species,
) -> Iterator[Row]:
    """Yield what is known of a species: what was found, else one absence, else nothing.

    Nest sites not found while screaming parties were seen is no absence of the species.
    """
    layers = release.layers
    kinds = {"nest sites": layers.nest_sites[species][season][region.id]}
    if species is Species.SWIFT:
        kinds["screaming parties"] = layers.screaming_parties[season][region.id]
    found, missed = STATUS_WORDS[town.occurrence_status]
    event = _event_id(town, season, region)
    head = {"eventID": event, "basisOfRecord": "HumanObservation"} | _taxon(species)
    shared = {
        "identificationVerificationStatus": "checked for contradictions by the group; not every "
        "record was verified",
        "recordedBy": town.group,
        "dataGeneralizations": _generalised(release),
        "informationWithheld": _WITHHELD,
    }
    some = {kind: finding for kind, finding in kinds.items() if finding.state is State.SOME}
    for kind, finding in some.items():
        yield {
            "occurrenceID": f"{event}:{slugify(species.value)}:{slugify(kind)}",
            **head,
            "occurrenceStatus": found,
            **_amount(kind, finding),
            **shared,
        }
    if not some and all(finding.state is State.LOOKED for finding in kinds.values()):
        yield {
            "occurrenceID": f"{event}:{slugify(species.value)}:none",
            **head,
            "occurrenceStatus": missed,
            "organismQuantity": 0,
            "organismQuantityType": " or ".join(kinds),
            "individualCount": 0,
            "occurrenceRemarks": f"Looked for over at least {release.rule.looked_hours} hours "
            "of valid watching in the region.",
            **shared,
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
        "kingdom": "Animalia",
        "class": "Aves",
        "order": taxon.order,
        "family": taxon.family,
        "taxonRank": "species",
        "vernacularName": taxon.common,
    }


def _effort(release: PublicRelease, season: str, region: Region) -> Row:
    watched = release.layers.watching[season][region.id]
    return {
        "samplingProtocol": "Timed watches at dusk or dawn in fit weather, besides casual reports "
        "of nests and screaming parties",
        "sampleSizeValue": watched.low or 0,
        "sampleSizeUnit": "hour",
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


def _place(region: Region, release: PublicRelease, town: PublicTown) -> Row:
    size_m = release.rule.cell_size_m
    middle = centre(region.cells, cell_size_m=size_m)
    ((longitude, latitude),) = to_wgs84(shapely.get_coordinates(middle), crs=release.crs)
    outline = region_polygon(region.cells, cell_size_m=size_m)
    degrees = shapely.transform(
        outline, lambda points: to_wgs84(points, crs=release.crs).round(_DECIMALS)
    )
    return {
        "locationID": f"{slugify(town.name) or 'town'}:{region.id}",
        "countryCode": "GB",
        "stateProvince": town.nation.value,
        "municipality": town.name,
        "locality": f"{len(region.cells)} grid square(s) of {size_m} m with "
        f"{region.premises} premises",
        "decimalLatitude": f"{latitude:.{_DECIMALS}f}",
        "decimalLongitude": f"{longitude:.{_DECIMALS}f}",
        "geodeticDatum": "EPSG:4326",
        "coordinateUncertaintyInMeters": uncertainty_m(region.cells, cell_size_m=size_m),
        "coordinatePrecision": "0.000001",
        "footprintWKT": shapely.to_wkt(degrees, rounding_precision=_DECIMALS),
        "footprintSRS": "EPSG:4326",
        "georeferenceProtocol": "Middle of the box around the region's squares; the uncertainty "
        "is the radius that holds them whole (Chapman & Wieczorek 2020)",
        "dataGeneralizations": _generalised(release),
        "informationWithheld": _WITHHELD,
        "datasetName": dataset_title(town),
        "institutionCode": town.group,
        "license": LICENCE_URLS.get(town.licence, town.licence),
    }


def _event_id(town: PublicTown, season: str, region: Region) -> str:
    return f"{slugify(town.name) or 'town'}:{season}:{region.id}"


_COLUMNS: Mapping[str, tuple[str, ...]] = {
    "event.csv": (
        *("eventID", "eventCategory", "eventType", "eventDate", "year", "samplingProtocol"),
        *("sampleSizeValue", "sampleSizeUnit", "samplingEffort", "eventRemarks", "locationID"),
        *("countryCode", "stateProvince", "municipality", "locality", "decimalLatitude"),
        *("decimalLongitude", "geodeticDatum", "coordinateUncertaintyInMeters"),
        *("coordinatePrecision", "footprintWKT", "footprintSRS", "georeferenceProtocol"),
        *("dataGeneralizations", "informationWithheld", "datasetName", "institutionCode"),
        "license",
    ),
    "humboldt.csv": (
        *("eventID", "isAbsenceReported", "isSamplingEffortReported", "samplingEffortValue"),
        *("samplingEffortUnit", "targetTaxonomicScope", "isTaxonomicScopeFullyReported"),
    ),
    "occurrence.csv": (
        *("occurrenceID", "eventID", "basisOfRecord", "scientificName"),
        *("scientificNameAuthorship", "kingdom", "class", "order", "family", "taxonRank"),
        *("vernacularName", "occurrenceStatus", "organismQuantity", "organismQuantityType"),
        *("individualCount", "behavior", "reproductiveCondition", "recordedBy"),
        *("identificationVerificationStatus", "occurrenceRemarks", "dataGeneralizations"),
        "informationWithheld",
    ),
}


def _csv(rows: Sequence[Row], columns: Sequence[str]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def _meta(kinds: Mapping[str, str]) -> str:
    """Return meta.xml, which says what each column of each file means."""
    parts = ['<?xml version="1.0" encoding="UTF-8"?>']
    parts.append('<archive xmlns="http://rs.tdwg.org/dwc/text/" metadata="eml.xml">')
    for name, kind in kinds.items():
        core = name == "event.csv"
        tag, key = ("core", "id") if core else ("extension", "coreid")
        columns = _COLUMNS[name]
        parts.append(
            f'  <{tag} encoding="UTF-8" fieldsTerminatedBy="," linesTerminatedBy="\\n" '
            f'fieldsEnclosedBy="&quot;" ignoreHeaderLines="1" rowType="{kind}">'
        )
        parts.append(f"    <files><location>{name}</location></files>")
        parts.append(f'    <{key} index="{columns.index("eventID")}"/>')
        parts.extend(
            f'    <field index="{index}" term="{_term(column)}"/>'
            for index, column in enumerate(columns)
        )
        parts.append(f"  </{tag}>")
    return "\n".join([*parts, "</archive>", ""])


def _term(column: str) -> str:
    space = DCTERMS if column in _DUBLIN_CORE else ECO if column in _HUMBOLDT else DWC
    return space + column


def _zip(members: Mapping[str, str], *, made_on: tuple[int, int, int]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for name in sorted(members):
            info = zipfile.ZipInfo(name, (*made_on, 0, 0, 0))
            info.create_system = 3  # the same on every machine: Unix, a plain readable file
            info.external_attr = 0o644 << 16
            archive.writestr(info, members[name].encode("utf-8"))
    return out.getvalue()
