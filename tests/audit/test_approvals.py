"""Sentences and pictures that somebody must look at once."""

from __future__ import annotations

import hashlib

import pytest

from eaveline.audit.approvals import photograph_hit, street_and_nest_hits, streets_of
from eaveline.audit.findings import digest_of
from eaveline.audit.fragments import Fragment, Kind, Photograph
from eaveline.audit.secrets import Secrets


def _sentences(text: str, secrets: Secrets, kind: Kind = Kind.TEXT) -> list[str]:
    hits = street_and_nest_hits(Fragment(text, kind, "text"), streets_of(secrets))
    assert all(hit.allowable for hit in hits)
    return [hit.value for hit in hits]


@pytest.mark.parametrize(
    "sentence",
    [
        "There is a nest in Albert Road.",
        "Two pairs bred in Mill Ln this year.",
        "St. Mary's Lane has eggs!",
        "The young fledged; Albert Road was noisy.",
    ],
)
def test_a_street_beside_a_nest_is_shown(secrets: Secrets, sentence: str) -> None:
    text = f"We had rain. {sentence} Then we went home."
    assert _sentences(text, secrets) == [sentence.rstrip()]


@pytest.mark.parametrize(
    "text",
    [
        "Nests are found in old roofs. Albert Road is long.",
        "Swifts screamed over Albert Road.",
        "A nest in Albert Close.",
        "Nests!\n\nAlbert Road",
    ],
)
def test_either_alone_passes(secrets: Secrets, text: str) -> None:
    assert _sentences(text, secrets) == []


def test_alt_texts_are_sentences_too(secrets: Secrets) -> None:
    tag = '<img src="a.jpg" alt="A nest in Albert Road">'
    assert _sentences(tag, secrets, Kind.TAG) == ["A nest in Albert Road"]


def test_scripts_are_nobody_s_sentences(secrets: Secrets) -> None:
    assert _sentences("nest Albert Road", secrets, Kind.SCRIPT) == []


def test_a_sentence_s_digest_is_that_of_its_words(secrets: Secrets) -> None:
    spaced = Fragment("A  nest in\nAlbert Road.", Kind.TEXT, "text")
    (hit,) = street_and_nest_hits(spaced, streets_of(secrets))
    assert digest_of(hit) == hashlib.sha256(b"A nest in Albert Road.").hexdigest()


def test_a_photograph_s_digest_is_that_of_its_file() -> None:
    digest = hashlib.sha256(b"picture").hexdigest()
    assert digest_of(photograph_hit(Photograph("picture", digest))) == digest
