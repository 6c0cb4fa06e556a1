"""Files of every kind, by what they are rather than by what they are called."""

from __future__ import annotations

import gzip
import io
import json
import zipfile

import pytest

from eaveline.audit.carriers import file_pieces
from eaveline.audit.fragments import Fault, Fragment, Shape
from eaveline.audit.text import CELL


def _text(name: str, data: bytes) -> str:
    return "\n".join(piece.text for piece in file_pieces(name, data) if isinstance(piece, Fragment))


def _faults(name: str, data: bytes) -> list[Fault]:
    return [piece for piece in file_pieces(name, data) if isinstance(piece, Fault)]


def _zip(members: dict[str, bytes]) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return buffer.getvalue()


@pytest.mark.parametrize(
    "data",
    [
        "Zoë at dusk".encode(),
        b"\xef\xbb\xbf" + "Zoë at dusk".encode(),
        "Zoë at dusk".encode("utf-16"),
        "Zoë at dusk".encode("utf-16-le"),
        "Zoë at dusk".encode("utf-16-be"),
        "Zoë at dusk".encode("cp1252"),
    ],
)
def test_texts_are_read_in_any_usual_encoding(data: bytes) -> None:
    assert "Zoë at dusk" in _text("a.txt", data)


def test_a_table_with_headings_keeps_counts_from_streets() -> None:
    text = _text("a.csv", b"street,premises\nAlbert Road,17\n")
    assert f"Albert Road {CELL} 17" in text


def test_a_table_of_houses_is_read_by_its_headings() -> None:
    text = _text("a.csv", b"street;house\nAlbert Road;17\n")
    assert f"street: Albert Road {CELL} house: 17" in text


def test_a_table_without_headings_is_read_as_it_stands() -> None:
    assert "Albert Road 17" in _text("a.csv", b"Albert Road,17\nMill Lane,3\n")


def test_json_gives_strings_fields_and_shapes() -> None:
    document = {"a": {"street": "Albert Road", "house": 17}, "note": "by \u00d8 Threlkeld"}
    feature = {"type": "Point", "coordinates": [1.5, 52.5]}
    data = json.dumps([document, feature]).encode()
    assert "house: 17" in _text("a.json", data)
    assert "by \u00d8 Threlkeld" in _text("a.json", data)
    (shape,) = (piece for piece in file_pieces("a.json", data) if isinstance(piece, Shape))
    assert shape.vertices.tolist() == [[1.5, 52.5]]


def test_broken_json_is_still_a_text() -> None:
    assert "Threlkeld" in _text("a.json", b'{"who": "Threlkeld"')


def test_a_calendar_s_long_lines_are_joined() -> None:
    assert "Marguerite Threlkeld" in _text("a.ics", b"SUMMARY:Margue\r\n rite Threlkeld\r\n")


def test_the_file_s_start_says_what_it_is_whatever_its_name() -> None:
    assert "hidden.txt" in _text("picture.jpg", _zip({"hidden.txt": b"x"}))


def test_zips_are_read_to_a_depth_and_then_refused() -> None:
    data = b"Threlkeld"
    for _ in range(4):
        data = _zip({"a": data})
    assert "Threlkeld" in _text("a.zip", data)
    for _ in range(4):
        data = _zip({"a": data})
    assert "Threlkeld" not in _text("a.zip", data)
    assert [fault.rule for fault in _faults("a.zip", data)] == ["unreadable-file"]


def test_an_encrypted_member_is_refused() -> None:
    data = bytearray(_zip({"a.txt": b"swifts"}))
    central = data.index(b"PK\x01\x02")
    data[6] |= 1  # the local header's flag, then the directory's
    data[central + 8] |= 1
    assert [fault.rule for fault in _faults("a.zip", bytes(data))] == ["unreadable-file"]


@pytest.mark.parametrize(
    "data",
    [
        b"PK\x03\x04 broken",
        b"\x1f\x8b broken",
        b"%PDF-1.7 broken",
        b"\x00\x01\x02\x03\xff\xfe",
        b"wOF2\x00\x01\x00\x00",
        gzip.compress(b"swifts", mtime=0) + b"more",
    ],
)
def test_what_cannot_be_read_is_refused(data: bytes) -> None:
    assert "unreadable-file" in {fault.rule for fault in _faults("a.bin", data)}


def test_an_empty_file_tells_nothing() -> None:
    assert list(file_pieces("a.bin", b"")) == []


def test_a_fragment_s_text_keeps_its_content_to_itself() -> None:
    (fragment,) = file_pieces("a.txt", b"Marguerite Threlkeld")
    assert repr(fragment) == "Fragment(data, 'line', 20 characters)"
