"""Metadata of the published figures in Ecological Metadata Language.

Elements and their order follow EML 2.2.0 and GBIF's profile 1.3 of it.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET  # only writes; it reads nothing from anybody
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import shapely
from slugify import slugify

from eaveline.geodesy import to_wgs84
from eaveline.public.maps.squares import region_polygon
from eaveline.public.records import PublicRelease, Species

if TYPE_CHECKING:
    from eaveline.public.downloads.taxa import Taxon
    from eaveline.public.town import PublicTown

LICENCE_URLS = {
    "CC BY 4.0": "https://creativecommons.org/licenses/by/4.0/",
    "CC BY-SA 4.0": "https://creativecommons.org/licenses/by-sa/4.0/",
    "CC BY-NC 4.0": "https://creativecommons.org/licenses/by-nc/4.0/",
    "CC0 1.0": "https://creativecommons.org/publicdomain/zero/1.0/",
    "ODbL 1.0": "https://opendatacommons.org/licenses/odbl/1-0/",
}
_EML = "https://eml.ecoinformatics.org/eml-2.2.0"
_XSI = "http://www.w3.org/2001/XMLSchema-instance"
_PROFILE = "https://rs.gbif.org/schema/eml-gbif-profile/1.3/eml-gbif-profile.xsd"
_DECIMALS = 2
"""About 1 km: the box around a whole town needs no more."""


def dataset_title(town: PublicTown) -> str:
    """Return the data set's title."""
    return f"Swifts and house martins in {town.name}" + (" (invented)" if town.invented else "")


def eml(release: PublicRelease, town: PublicTown, *, taxa: Mapping[Species, Taxon]) -> str:
    """Return the metadata document.

    Parameters
    ----------
    release
        The public release.
    town
        Names the group, which is creator, contact and metadata provider; nobody else is named.
    taxa
        What the data are about.
    """
    ET.register_namespace("eml", _EML)
    ET.register_namespace("xsi", _XSI)
    root = ET.Element(
        f"{{{_EML}}}eml",
        {
            f"{{{_XSI}}}schemaLocation": f"{_EML} {_PROFILE}",
            "packageId": f"{slugify(town.name) or 'town'}-colony/{release.made_on.isoformat()}",
            "system": "http://gbif.org",
            "scope": "system",
            "xml:lang": "eng",
        },
    )
    dataset = ET.SubElement(root, "dataset")
    invented = " This town and its figures are invented." if town.invented else ""
    _text(dataset, "title", dataset_title(town)).set("xml:lang", "eng")
    _party(dataset, "creator", town)
    _party(dataset, "metadataProvider", town)
    _text(dataset, "pubDate", release.made_on.isoformat())
    _text(dataset, "language", "eng")
    _paragraph(
        dataset,
        "abstract",
        f"Nest sites of common swifts and western house martins, screaming parties of swifts, and "
        f"hours of watching, from the records of {town.group}. Figures are for whole grid squares "
        f"joined to hold at least {release.rule.minimum_premises} premises; exact places are "
        f"withheld.{invented}",
    )
    keywords = ET.SubElement(dataset, "keywordSet")
    _text(keywords, "keyword", "Samplingevent")
    _text(keywords, "keywordThesaurus", "GBIF Dataset Type Vocabulary")
    _rights(dataset, town)
    if town.site_url:
        online = ET.SubElement(ET.SubElement(dataset, "distribution"), "online")
        _text(online, "url", town.site_url).set("function", "information")
    _coverage(dataset, release, town, taxa)
    maintenance = ET.SubElement(dataset, "maintenance")
    _paragraph(maintenance, "description", "Made anew when the group has new records.")
    _text(maintenance, "maintenanceUpdateFrequency", "irregular")
    _party(dataset, "contact", town)
    _party(dataset, "publisher", town)
    _methods(dataset, release)
    ET.indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"


def _text(parent: ET.Element, tag: str, text: str) -> ET.Element:
    child = ET.SubElement(parent, tag)
    child.text = text
    return child


def _paragraph(parent: ET.Element, tag: str, text: str) -> ET.Element:
    child = ET.SubElement(parent, tag)
    _text(child, "para", text)
    return child


def _party(parent: ET.Element, tag: str, town: PublicTown) -> None:
    party = ET.SubElement(parent, tag)
    _text(party, "organizationName", town.group)
    _text(party, "electronicMailAddress", town.email)
    if town.site_url:
        _text(party, "onlineUrl", town.site_url)


def _rights(dataset: ET.Element, town: PublicTown) -> None:
    paragraph = _text(
        ET.SubElement(dataset, "intellectualRights"), "para", "This work is licensed under "
    )
    if url := LICENCE_URLS.get(town.licence):
        link = ET.SubElement(paragraph, "ulink", {"url": url})
        _text(link, "citetitle", town.licence)
        link.tail = "."
    else:
        paragraph.text = f"This work is licensed under {town.licence}."


def _coverage(
    dataset: ET.Element, release: PublicRelease, town: PublicTown, taxa: Mapping[Species, Taxon]
) -> None:
    coverage = ET.SubElement(dataset, "coverage")
    if release.regions:
        place = ET.SubElement(coverage, "geographicCoverage")
        _text(place, "geographicDescription", f"The town of {town.name}, {town.nation.value}")
        box = ET.SubElement(place, "boundingCoordinates")
        west, south, east, north = _box(release)
        for side, value in (("west", west), ("east", east), ("north", north), ("south", south)):
            _text(box, f"{side}BoundingCoordinate", f"{value:.{_DECIMALS}f}")
    if release.seasons:
        dates = ET.SubElement(ET.SubElement(coverage, "temporalCoverage"), "rangeOfDates")
        for tag, season in (("beginDate", release.seasons[0]), ("endDate", release.seasons[-1])):
            _text(ET.SubElement(dates, tag), "calendarDate", season)
    scope = ET.SubElement(coverage, "taxonomicCoverage")
    _text(scope, "generalTaxonomicCoverage", "Two birds that nest on and in buildings")
    for taxon in taxa.values():
        one = ET.SubElement(scope, "taxonomicClassification")
        _text(one, "taxonRankName", "species")
        _text(one, "taxonRankValue", taxon.name)
        _text(one, "commonName", taxon.common)


def _box(release: PublicRelease) -> tuple[float, float, float, float]:
    shapes = [
        region_polygon(region.cells, cell_size_m=release.rule.cell_size_m)
        for region in release.regions
    ]
    degrees = to_wgs84(shapely.get_coordinates(shapes), crs=release.crs)
    # Outwards, so that the box still holds every square.
    scale = 10**_DECIMALS
    west, south = np.floor(degrees.min(axis=0) * scale) / scale
    east, north = np.ceil(degrees.max(axis=0) * scale) / scale
    return float(west), float(south), float(east), float(north)


def _methods(dataset: ET.Element, release: PublicRelease) -> None:
    rule = release.rule
    methods = ET.SubElement(dataset, "methods")
    _paragraph(
        ET.SubElement(methods, "methodStep"),
        "description",
        "Volunteers report nests and screaming parties, and watch streets at dusk or dawn for a "
        "stated time in fit weather. Records sent twice are merged, and every record that "
        "contradicts itself is held back.",
    )
    _paragraph(
        ET.SubElement(methods, "methodStep"),
        "description",
        f"Records are counted in {rule.cell_size_m} m squares, joined until they hold at least "
        f"{rule.minimum_premises} premises. Counts are capped and put into bands.",
    )
    sampling = ET.SubElement(methods, "sampling")
    extent = ET.SubElement(sampling, "studyExtent")
    _paragraph(extent, "description", "The built-up part of the town, from May to September.")
    _paragraph(
        sampling,
        "samplingDescription",
        f"'Not detected' is said where valid watching in a region and season reached "
        f"{rule.looked_hours} hours and nothing was found; less watching says nothing.",
    )
