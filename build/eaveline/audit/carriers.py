"""Turns any file of the site into pieces to look through."""

from __future__ import annotations

import base64
import binascii
import codecs
import csv
import io
import json
import logging
import re
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import PurePosixPath
from typing import Any
from urllib.parse import unquote_to_bytes

from pypdf import PdfReader
from pypdf.errors import PyPdfError

from eaveline.audit.databases import MAGIC as SQLITE_MAGIC
from eaveline.audit.databases import database_pieces
from eaveline.audit.fragments import Fault, Fragment, Kind, Piece, Shape
from eaveline.audit.images import image_pieces, is_image, printable_runs
from eaveline.audit.markup import (
    has_house_column,
    keyed_row,
    markup_fragments,
    text_fragments,
)
from eaveline.audit.shapes import json_vertices
from eaveline.audit.text import CELL, ROW

UNREADABLE = "unreadable-file"
PDF_RULE = "pdf-metadata"

_DEEPEST = 5
_LARGEST_MEMBER = 256 * 2**20
"""Bytes an archive's member may unpack to; a larger one is refused rather than read."""
_MARKUP = frozenset((".html", ".htm", ".xhtml", ".xml", ".svg", ".rss", ".atom", ".kml", ".gml",
                     ".gpx", ".xsl"))  # fmt: skip
_JSON = frozenset((".json", ".geojson", ".topojson", ".webmanifest", ".jsonld", ".map"))
_TABLES = {".csv": ",", ".tsv": "\t"}
_DATA_URI = re.compile(
    r"data:([\w.+-]+/[\w.+-]+)?((?:;[\w=.+-]+)*),([\w+/=%.~!$'()*:@-]+)", re.IGNORECASE
)
_PDF_EXPECTED = frozenset(("/Producer", "/Creator", "/Title", "/CreationDate", "/ModDate",
                           "/Trapped"))  # fmt: skip
_BOMS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


def file_pieces(name: str, data: bytes) -> Iterator[Piece]:
    """Return all there is to look through in one file, its name apart.

    Parameters
    ----------
    name
        The file's path below the site; its ending helps to tell what it is.
    data
        The file.

    Yields
    ------
    Fragment, Shape, Fault, Photograph
        A fault where the file, or part of it, cannot be read.
    """
    yield from _read(name, data, "", 0)


def name_fragment(name: str) -> Fragment:
    """Return a file's path as a text to look through."""
    return Fragment(name, Kind.NAME, "file name")


def _inside(where: str, part: str) -> str:
    return f"{where}, {part}" if where else part


def _read(name: str, data: bytes, where: str, depth: int) -> Iterator[Piece]:
    if not data:
        return
    if depth > _DEEPEST:
        yield Fault(UNREADABLE, where)
    elif data[:4] in (b"PK\x03\x04", b"PK\x05\x06"):
        yield from _zip(data, where, depth)
    elif data[:2] == b"\x1f\x8b":
        yield from _gzip(name, data, where, depth)
    elif data.startswith(SQLITE_MAGIC):
        yield from database_pieces(
            data, where, lambda cell, place: _read("", cell, place, depth + 1)
        )
    elif data.lstrip()[:5] == b"%PDF-":
        yield from _pdf(data, where, depth)
    elif is_image(data):
        yield from image_pieces(data, where)
    else:
        text = _decode(data)
        if text is None:
            yield Fault(UNREADABLE, where or "whole file")
            yield Fragment(printable_runs(data), Kind.DATA, _inside(where, "binary data"))
        else:
            yield from _text(name, text, where, depth)


def _decode(data: bytes) -> str | None:
    for mark, encoding in _BOMS:
        if data.startswith(mark):
            return data.decode(encoding, "replace")
    if b"\x00" in data[:4096]:
        # Without a byte order mark, every other byte zero still says UTF-16.
        for encoding, zeros in (("utf-16-le", data[1:400:2]), ("utf-16-be", data[0:400:2])):
            if zeros and not any(zeros):
                return data.decode(encoding, "replace")
        return None
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        odd = sum(byte < 9 or 13 < byte < 32 for byte in data[:4096])  # noqa: PLR2004 - controls
        return data.decode("cp1252", "replace") if not odd else None


def _text(name: str, text: str, where: str, depth: int) -> Iterator[Piece]:
    suffix = PurePosixPath(name).suffix.lower()
    start = text.lstrip()[:1]
    if suffix in _MARKUP or (suffix not in _JSON and start == "<"):
        yield from markup_fragments(text, where)
    elif suffix in _JSON or (not suffix and start in "{["):
        yield from _json(text, where)
    elif suffix in _TABLES:
        yield from _table(text, where, _TABLES[suffix])
    elif suffix in (".ics", ".vcf"):
        # A long line goes on after a line break with a space (RFC 5545, 3.1).
        yield from text_fragments(re.sub(r"\r?\n[ \t]", "", text), where or "line", line=1)
    else:
        kind = Kind.STYLE if suffix == ".css" else Kind.SCRIPT if suffix == ".js" else Kind.DATA
        yield from text_fragments(text, where or "line", line=1, kind=kind)
    for uri in _DATA_URI.finditer(text):
        inner = _data_uri(uri)
        if inner:
            yield from _read("", inner, _inside(where, "data URI"), depth + 1)


def _data_uri(match: re.Match[str]) -> bytes:
    raw = unquote_to_bytes(match[3])
    if "base64" not in match[2].lower():
        return raw
    try:
        return base64.b64decode(raw + b"=" * (-len(raw) % 4))
    except binascii.Error:
        return raw


def _json(text: str, where: str) -> Iterator[Piece]:
    yield from text_fragments(text, where or "line", line=1)
    try:
        document = json.loads(text)
    except (ValueError, RecursionError):
        return
    strings: dict[str, None] = {}
    rows: list[str] = []
    _gather(document, strings, rows)
    for string in strings:
        yield from text_fragments(string, _inside(where, "value"))
    if rows:
        yield Fragment(ROW.join(rows), Kind.DATA, _inside(where, "fields"))
    for vertices, crs in json_vertices(document):
        yield Shape(vertices, crs, _inside(where, "geometry"))


def _gather(value: Any, strings: dict[str, None], rows: list[str]) -> None:
    """Collect the distinct strings of a document, besides its objects with a house in them."""
    if isinstance(value, str):
        # One word holds neither a name with initials nor an address, and the text has it anyway.
        if not value.isalnum():
            strings[value] = None
    elif isinstance(value, list):
        for part in value:
            _gather(part, strings, rows)
    elif isinstance(value, dict):
        keys = [str(key) for key in value]
        if has_house_column(keys):
            rows.append(keyed_row(keys, [str(part) for part in value.values()]))
        for part in value.values():
            _gather(part, strings, rows)


def _table(text: str, where: str, delimiter: str) -> Iterator[Piece]:
    first = text.partition("\n")[0]
    marks = {mark: first.count(mark) for mark in (delimiter, ";", "\t", "|")}
    delimiter = max(marks, key=lambda mark: marks[mark])
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))
    except csv.Error:
        yield from text_fragments(text, where or "line", line=1)
        return
    headers = rows[0] if rows else []
    titled = bool(headers) and not any(re.fullmatch(r"[\d.,-]*", cell) for cell in headers)
    if not titled:
        # Nothing says that a number beside a street is a count.
        lines = [" ".join(row) for row in rows]
    elif has_house_column(headers):
        lines = [keyed_row(headers, row) for row in rows]
    else:
        # A row too long has a delimiter inside a value; a reader sees it unbroken.
        lines = [(f" {CELL} " if len(row) <= len(headers) else delimiter).join(row) for row in rows]
    yield from text_fragments(ROW.join(lines), where or "line", line=1)


def _zip(data: bytes, where: str, depth: int) -> Iterator[Piece]:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if archive.comment:
                yield from _read("", archive.comment, _inside(where, "zip comment"), depth + 1)
            for number, member in enumerate(archive.infolist(), start=1):
                place = _inside(where, f"zip member {number}")
                yield Fragment(member.filename, Kind.NAME, place)
                if member.comment:
                    yield from _read("", member.comment, place, depth + 1)
                if member.is_dir():
                    continue
                if member.file_size > _LARGEST_MEMBER:
                    yield Fault(UNREADABLE, place)
                    continue
                try:
                    inner = archive.read(member)
                except (RuntimeError, NotImplementedError, zipfile.BadZipFile, zlib.error):
                    yield Fault(UNREADABLE, place)  # Encrypted, or packed in an unknown way.
                    continue
                yield from _read(member.filename, inner, place, depth + 1)
    except (zipfile.BadZipFile, ValueError):
        yield Fault(UNREADABLE, where or "zip")


def _gzip(name: str, data: bytes, where: str, depth: int) -> Iterator[Piece]:
    place = _inside(where, "unpacked")
    unpack = zlib.decompressobj(wbits=31)
    try:
        inner = unpack.decompress(data, _LARGEST_MEMBER)
    except zlib.error:
        yield Fault(UNREADABLE, place)
        return
    if unpack.unconsumed_tail or unpack.unused_data:
        yield Fault(UNREADABLE, place)
    # The header may hold the original file's name; it stands in clear within the first bytes.
    yield Fragment(printable_runs(data[:1024]), Kind.METADATA, place)
    plain_name = name.removesuffix("z") if name.endswith(".svgz") else name.removesuffix(".gz")
    yield from _read(plain_name, inner, place, depth + 1)


def _pdf(data: bytes, where: str, depth: int) -> Iterator[Piece]:
    logging.getLogger("pypdf").setLevel(logging.CRITICAL)
    place = _inside(where, "document properties")
    try:
        reader = PdfReader(io.BytesIO(data))
        for number, page in enumerate(reader.pages, start=1):
            here = _inside(where, f"page {number}")
            yield from text_fragments(page.extract_text(), here, kind=Kind.TEXT)
            for note in page.get("/Annots") or []:
                yield Fragment(str(_plain_object(note)), Kind.METADATA, here)
            for image in page.images:
                yield from _read("", image.data, here, depth + 1)
        properties = dict(reader.metadata or {})
        xmp = reader.root_object.get("/Metadata")
        attachments = list(reader.attachment_list)
        if xmp is not None or attachments or properties.keys() - _PDF_EXPECTED:
            yield Fault(PDF_RULE, place)
        yield Fragment("\n".join(str(value) for value in properties.values()), Kind.METADATA, place)
        if xmp is not None:
            yield from markup_fragments(
                xmp.get_object().get_data().decode("utf-8", "replace"), place
            )
        for attachment in attachments:
            yield Fragment(attachment.name, Kind.NAME, _inside(where, "attachment"))
            yield from _read(
                attachment.name, attachment.content, _inside(where, "attachment"), depth + 1
            )
    except (PyPdfError, ValueError, KeyError, TypeError, AttributeError, IndexError, OSError,
            RecursionError, NotImplementedError, zlib.error):  # fmt: skip
        # A PDF that pypdf stumbles over in any way is one the audit has not read.
        yield Fault(UNREADABLE, where or "PDF")


def _plain_object(note: Any) -> Any:
    """Return an annotation with what it points to directly, such as a link's address."""
    entry = note.get_object()
    return {
        key: value.get_object()
        for key, value in entry.items()
        if key not in ("/P", "/Parent", "/AP")
    }
