"""Every carrier times every notation: whatever is planted is caught."""

from __future__ import annotations

from pathlib import Path

import pytest

from eaveline.audit.findings import audit_problems
from eaveline.audit.site import audit_site
from leaks import CARRIERS, NOTATIONS, plant, town_secrets

RULE_OF = {
    "decimal degrees": "coordinate",
    "reversed degrees": "coordinate",
    "degrees, minutes, seconds": "coordinate",
    "eastings and northings": "coordinate",
    "grouped metres": "coordinate",
    "ten-figure reference": "grid-reference",
    "spaced reference": "grid-reference",
    "well-known text": "coordinate",
    "GeoJSON position": "coordinate",
    "kilometres": "coordinate",
    "encoded polyline": "coordinate",
    "quantised topology": "off-grid-geometry",
    "full name": "person",
    "initial": "person",
    "surname first": "person",
    "e-mail": "contact",
    "telephone": "contact",
    "international telephone": "contact",
    "postcode": "contact",
    "address": "address",
    "abbreviated address": "address",
    "street first": "address",
}
ABOUT_THE_FILE = {"new-photograph", "image-metadata", "pdf-metadata", "unreadable-file"}


def test_there_are_at_least_thirty_carriers_and_ten_notations() -> None:
    assert len(CARRIERS) >= 30
    assert len(NOTATIONS) >= 10
    assert RULE_OF.keys() == NOTATIONS.keys()


@pytest.mark.parametrize("carrier", CARRIERS)
def test_every_notation_is_caught(carrier: str, tmp_path: Path) -> None:
    secrets = town_secrets()
    for number, (notation, secret) in enumerate(NOTATIONS.items()):
        site = tmp_path / str(number)
        plant(site, carrier, secret)
        result = audit_site(site, secrets)
        caught = {finding.rule for finding in result.findings if finding.digest is None}
        assert RULE_OF[notation] in caught, f"{notation} in {carrier}"
        for problem in audit_problems(result):
            assert secret not in str(problem)


@pytest.mark.parametrize("carrier", CARRIERS)
def test_the_same_file_without_a_secret_is_no_finding(carrier: str, tmp_path: Path) -> None:
    plant(tmp_path, carrier, "a quiet evening")
    rules = {finding.rule for finding in audit_site(tmp_path, town_secrets()).findings}
    assert rules <= ABOUT_THE_FILE
