"""E-mail addresses, telephone numbers, postcodes; numbers that are none of these."""

from __future__ import annotations

import pytest

from eaveline.audit.contacts import contact_hits, contacts_of
from eaveline.audit.secrets import Secrets
from leaks import town_secrets


def _found(text: str, secrets: Secrets) -> list[tuple[str, bool]]:
    return sorted({(h.value, h.allowable) for h in contact_hits(text, contacts_of(secrets))})


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("write to m.threlkeld@post.example.", "m.threlkeld@post.example"),
        ("M.Threlkeld@Post.Example", "m.threlkeld@post.example"),
        ("mailto:m.threlkeld@post.example?subject=x", "m.threlkeld@post.example"),
        ("m.threlkeld (at) post.example", "m.threlkeld@post.example"),
        ("m.threlkeld [at] post [dot] example", "m.threlkeld@post.example"),
        ("m.threlkeld at post dot example", "m.threlkeld@post.example"),
        ("01632 960417", "01632960417"),
        ("01632960417", "01632960417"),
        ("(01632) 960 417", "01632960417"),
        ("01632-960-417", "01632960417"),
        ("0163 296 0417", "01632960417"),
        ("+44 1632 960417", "01632960417"),
        ("+44 (0)1632 960417", "01632960417"),
        ("0044 1632 960417", "01632960417"),
        ("tel:+441632960417", "01632960417"),
        ("07700900283", "07700900283"),
        ("ZE9 9XQ", "ZE99XQ"),
        ("ze9 9xq", "ZE99XQ"),
        ("ZE99XQ", "ZE99XQ"),
        ("houses-in-ze9-9xq", "ZE99XQ"),
    ],
)
def test_the_register_s_contacts_are_found_and_never_allowed(
    secrets: Secrets, text: str, value: str
) -> None:
    assert _found(text, secrets) == [(value, False)]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("planning@council.example", "planning@council.example"),
        # Numbers that Ofcom keeps free for drama.
        ("020 7946 0018", "02079460018"),
        ("0117 496 0123", "01174960123"),
        ("07700 900999", "07700900999"),
        # District 99 of an area holds no streets.
        ("NR99 1AA", "NR991AA"),
    ],
)
def test_other_contacts_are_found_and_may_be_allowed(
    secrets: Secrets, text: str, value: str
) -> None:
    assert _found(text, secrets) == [(value, True)]


@pytest.mark.parametrize(
    "text",
    [
        "birds@ottersley.example",
        "icon@2x.png",
        "leaflet@1.9.4",
        "meet at the dot on the map",
        "ISBN 978-0-306-40615-7",
        "ISBN 0-306-40615-2",
        "0123-4567",
        "order 501632960999",
        "0.1632960417",
        "12.01632960999",
        "20260603214000",
        "A4 2AB paper",
        "B1 1st floor",
        "h1 2em",
        "m3 4px",
        "e4 5th",
        "c0ffee ze99xq",
        "QQ1 1AA",
        "CM1 2CI",  # C, I, K, M, O, V never end a postcode
    ],
)
def test_public_contacts_or_other_numbers_pass(secrets: Secrets, text: str) -> None:
    assert _found(text, secrets) == []


def test_a_short_number_of_the_register_is_found_by_its_digits() -> None:
    secrets = town_secrets(contacts=frozenset({"01697 73456"}))
    assert _found("ring 01697 73456", secrets) == [("0169773456", False)]
    assert _found("ring 01697 73457", secrets) == []


def test_a_private_number_that_is_also_public_is_public() -> None:
    secrets = town_secrets(public_contacts=frozenset({"+44 1632 960417"}))
    assert _found("01632 960417", secrets) == []
