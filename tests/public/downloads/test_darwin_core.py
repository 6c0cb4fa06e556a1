"""The Darwin Core Archive."""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET
import zipfile
from collections import Counter
from pathlib import Path

import pytest
import shapely
from dwca.read import DwCAReader

from eaveline.public.downloads.archive_file import DWC, ECO
from eaveline.public.downloads.darwin_core import (
    darwin_core_archive,
    event_rows,
    humboldt_rows,
    occurrence_rows,
)
from eaveline.public.records import PublicRelease
from eaveline.public.town import PublicTown

TEXT = "{http://rs.tdwg.org/dwc/text/}"
EVENT_TERMS = {
    *("eventID", "eventDate", "samplingProtocol", "sampleSizeValue", "sampleSizeUnit"),
    *("samplingEffort", "locationID", "countryCode", "decimalLatitude", "decimalLongitude"),
    *("geodeticDatum", "coordinateUncertaintyInMeters", "dataGeneralizations"),
    "informationWithheld",
}
"""Terms that must be there and filled; the first three are required of sampling events by GBIF."""


@pytest.fixture(scope="module")
def archive(release: PublicRelease, public_town: PublicTown) -> bytes:
    return darwin_core_archive(release, public_town)


def test_a_reader_opens_it_with_every_row(
    archive: bytes, release: PublicRelease, public_town: PublicTown, tmp_path: Path
) -> None:
    path = tmp_path / "archive.zip"
    path.write_bytes(archive)
    with DwCAReader(str(path)) as opened:
        assert opened.descriptor is not None
        assert opened.descriptor.core.type == f"{DWC}Event"
        assert opened.metadata is not None
        events = list(opened)
        # Eight regions in three seasons.
        assert len(events) == 24
        for event in events:
            data = {term.rsplit("/", 1)[-1]: value for term, value in event.data.items()}
            assert not [term for term in EVENT_TERMS if not data[term]]
        kinds = Counter(part.rowtype for event in events for part in event.extensions)
    assert kinds[f"{DWC}Occurrence"] == len(occurrence_rows(release, public_town))
    assert kinds[f"{ECO}Event"] == 24


def test_what_is_said_of_one_season(release: PublicRelease, public_town: PublicTown) -> None:
    found = {
        (row["eventID"], row["scientificName"], row["organismQuantityType"]): row
        for row in occurrence_rows(release, public_town)
        if "2026" in str(row["eventID"])
    }
    # The town's own figures in conftest.py: nests in R001, R002, R006; parties in R001, R002.
    nests = found["littlemarsh:2026:R001", "Apus apus", "nest sites, at least"]
    assert (nests["occurrenceStatus"], nests["organismQuantity"]) == ("detected", 3)
    assert nests["reproductiveCondition"] == "confirmed breeding (EBCC)"
    parties = found["littlemarsh:2026:R002", "Apus apus", "screaming parties, at least"]
    assert (parties["behavior"], parties["organismQuantity"]) == ("screaming party", 3)
    none = found["littlemarsh:2026:R003", "Apus apus", "nest sites or screaming parties"]
    assert (none["occurrenceStatus"], none["individualCount"]) == ("notDetected", 0)
    # Nobody looked in R005, and an unwatched square is no absence.
    assert not [key for key in found if "R005" in str(key[0])]


def test_no_species_is_both_found_and_not_found(
    release: PublicRelease, public_town: PublicTown
) -> None:
    said: dict[tuple[object, object], set[object]] = {}
    for row in occurrence_rows(release, public_town):
        said.setdefault((row["eventID"], row["scientificName"]), set()).add(row["occurrenceStatus"])
    assert all(len(words) == 1 for words in said.values())


def test_ids_are_unique_and_join(release: PublicRelease, public_town: PublicTown) -> None:
    events = [row["eventID"] for row in event_rows(release, public_town)]
    occurrences = occurrence_rows(release, public_town)
    assert len(set(events)) == len(events)
    assert len({row["occurrenceID"] for row in occurrences}) == len(occurrences)
    assert {row["eventID"] for row in occurrences} <= set(events)
    assert [row["eventID"] for row in humboldt_rows(release, public_town)] == events


def test_absence_is_reported_only_where_somebody_looked(
    release: PublicRelease, public_town: PublicTown
) -> None:
    by_event = {row["eventID"]: row for row in humboldt_rows(release, public_town)}
    assert by_event["littlemarsh:2026:R003"]["isAbsenceReported"] == "true"
    assert by_event["littlemarsh:2026:R005"]["isAbsenceReported"] == "false"


def test_places_hold_their_region(release: PublicRelease, public_town: PublicTown) -> None:
    row = next(
        row for row in event_rows(release, public_town) if str(row["eventID"]).endswith("2026:R001")
    )
    # Half the diagonal of 100 m is 70.71 m, rounded up (Chapman & Wieczorek 2020).
    assert row["coordinateUncertaintyInMeters"] == 71
    footprint = shapely.from_wkt(str(row["footprintWKT"]))
    assert footprint.contains(
        shapely.Point(float(row["decimalLongitude"]), float(row["decimalLatitude"]))
    )


def test_the_older_vocabulary_can_be_chosen(
    release: PublicRelease, public_town: PublicTown
) -> None:
    older = public_town.model_copy(update={"occurrence_status": "present"})
    words = {row["occurrenceStatus"] for row in occurrence_rows(release, older)}
    assert words == {"present", "absent"}


def test_meta_xml_follows_the_text_guide(archive: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(archive)) as opened:
        meta = ET.fromstring(opened.read("meta.xml"))  # noqa: S314 - written a moment ago
        assert meta.tag == f"{TEXT}archive"
        assert meta.get("metadata") in opened.namelist()
        assert len(meta.findall(f"{TEXT}core")) == 1
        for part in meta:
            name = part.findtext(f"{TEXT}files/{TEXT}location")
            assert part.get("rowType")
            assert part.get("ignoreHeaderLines") == "1"
            key = part.find(f"{TEXT}{'id' if part.tag.endswith('core') else 'coreid'}")
            header = opened.read(str(name)).decode().splitlines()[0].split(",")
            assert key is not None
            assert header[int(key.get("index", "-1"))] == "eventID"
            terms = [
                field.get("term", "").rsplit("/", 1)[-1] for field in part.iter(f"{TEXT}field")
            ]
            assert terms[: len(header)] == header
            # A term without a column has one value for every row (text guide, section 2.4.3).
            others = list(part.iter(f"{TEXT}field"))[len(header) :]
            assert others
            for field in others:
                assert field.get("index") is None
                assert field.get("default")
            assert len(set(terms)) == len(terms)


def test_eml_has_what_the_profile_asks_for_in_its_order(archive: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(archive)) as opened:
        dataset = ET.fromstring(opened.read("eml.xml"))[0]  # noqa: S314 - written a moment ago
    order = [child.tag for child in dataset]
    # The order of EML 2.2's dataset type; those of GBIF's profile 1.3 that are mandatory.
    wanted = ["title", "creator", "metadataProvider", "pubDate", "abstract", "intellectualRights"]
    wanted += ["coverage", "maintenance", "contact", "methods"]
    assert [tag for tag in order if tag in wanted] == wanted
    for tag in ("title", "pubDate", "abstract/para", "contact/organizationName"):
        assert dataset.findtext(tag)
    assert dataset.find("intellectualRights/para/ulink") is not None


EML_ORDER = {
    "dataset": "title creator metadataProvider pubDate language abstract keywordSet "
    "intellectualRights distribution coverage maintenance contact publisher methods",
    "creator": "organizationName electronicMailAddress onlineUrl",
    "metadataProvider": "organizationName electronicMailAddress onlineUrl",
    "contact": "organizationName electronicMailAddress onlineUrl",
    "publisher": "organizationName electronicMailAddress onlineUrl",
    "abstract": "para",
    "keywordSet": "keyword keywordThesaurus",
    "intellectualRights": "para",
    "coverage": "geographicCoverage temporalCoverage taxonomicCoverage",
    "geographicCoverage": "geographicDescription boundingCoordinates",
    "boundingCoordinates": "westBoundingCoordinate eastBoundingCoordinate "
    "northBoundingCoordinate southBoundingCoordinate",
    "temporalCoverage": "rangeOfDates",
    "rangeOfDates": "beginDate endDate",
    "taxonomicCoverage": "generalTaxonomicCoverage taxonomicClassification",
    "taxonomicClassification": "taxonRankName taxonRankValue commonName",
    "maintenance": "description maintenanceUpdateFrequency",
    "methods": "methodStep sampling",
    "methodStep": "description",
    "sampling": "studyExtent samplingDescription",
}
"""Children of each element in the order of the schemas of EML 2.2.0 (from memory)."""
EML_OPTIONAL = {"onlineUrl", "distribution"}
"""Only where the town has a site's address."""


def test_every_element_of_eml_has_its_children_in_order(archive: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(archive)) as opened:
        root = ET.fromstring(opened.read("eml.xml"))  # noqa: S314 - written a moment ago
    assert root.tag == "{https://eml.ecoinformatics.org/eml-2.2.0}eml"
    assert root.get("packageId")
    assert root.get("system")
    met = set()
    for element in root.iter():
        if element.tag in EML_ORDER:
            met.add(element.tag)
            wanted = EML_ORDER[element.tag].split()
            tags = list(dict.fromkeys(child.tag for child in element))
            assert tags == [tag for tag in wanted if tag in tags], element.tag
            assert set(wanted) - set(tags) <= EML_OPTIONAL, element.tag
        elif not len(element):
            assert (element.text or "").strip(), element.tag
    assert met == set(EML_ORDER)


def test_the_same_release_gives_the_same_bytes(
    archive: bytes, release: PublicRelease, public_town: PublicTown
) -> None:
    assert darwin_core_archive(release, public_town) == archive
    with zipfile.ZipFile(io.BytesIO(archive)) as opened:
        assert {member.date_time for member in opened.infolist()} == {(2026, 8, 14, 0, 0, 0)}
        assert {member.compress_type for member in opened.infolist()} == {zipfile.ZIP_STORED}
