"""Writes one secret into every kind of file a site may hold, for the audit's tests."""

from __future__ import annotations

import base64
import gzip
import html
import io
import json
import sqlite3
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path
from urllib.parse import quote

import numpy as np
from convertbng.cutil import convert_osgb36_to_ll
from PIL import Image, PngImagePlugin
from pypdf import PdfReader, PdfWriter
from pypdf.generic import create_string_object

from eaveline.audit.secrets import Secrets

EAST, NORTH = 650_112.4, 330_237.7
"""The nest: on the open sea, where nobody lives."""
LATITUDE, LONGITUDE = (
    float(values[0]) for values in reversed(convert_osgb36_to_ll([EAST], [NORTH]))
)


def town_secrets(**changes: object) -> Secrets:
    """Return a small invented town's secrets."""
    values: dict[str, object] = {
        "bounds_m": (648_000.0, 328_000.0, 652_000.0, 332_000.0),
        "cell_size_m": 100.0,
        "crs": "EPSG:27700",
        "people": frozenset({"Marguerite Threlkeld", "Zoë O'Dowd", "Amos Mill", "Jo Lark-Pell"}),
        "contacts": frozenset(
            {"m.threlkeld@post.example", "01632 960 417", "+44 7700 900 283", "ZE9 9XQ"}
        ),
        "addresses": frozenset(
            {
                ("Albert Road", "17"),
                ("Albert Road", "24A"),
                ("St Mary's Lane", "3"),
                ("Mill Lane", "Saltmarsh Cottage"),
                ("Market Place", "1"),
                ("Albert Road", "8"),
            }
        ),
        "easting_m": np.array([EAST, 651_020.0]),
        "northing_m": np.array([NORTH, 331_310.0]),
        "street_names": frozenset({"Albert Road", "St Mary's Lane", "Mill Lane", "Market Place"}),
        "public_names": frozenset({"Ottersley", "Ottersley Swift and Martin Group"}),
        "public_contacts": frozenset({"birds@ottersley.example"}),
        "public_addresses": frozenset({("Market Place", "1")}),
    }
    return Secrets(**{**values, **changes})  # type: ignore[arg-type]  # checked by the tests


def _sexagesimal(degrees: float) -> tuple[int, int, float]:
    minutes = (degrees - int(degrees)) * 60
    return int(degrees), int(minutes), (minutes - int(minutes)) * 60


def _dms() -> str:
    north, east = _sexagesimal(LATITUDE), _sexagesimal(LONGITUDE)
    return "{}°{:02d}\u2032{:04.1f}\u2033N {}°{:02d}\u2032{:04.1f}\u2033E".format(*north, *east)


def _polyline() -> str:
    """Return the nest as an encoded polyline, written here once more from the published format."""
    letters = ""
    for degrees in (LATITUDE, LONGITUDE):
        bits = round(degrees * 1e5) * 2  # north and east: no sign to move
        while bits >= 32:
            letters += chr(63 + 32 + bits % 32)
            bits //= 32
        letters += chr(63 + bits)
    return letters


def _topology() -> str:
    """Return the nest as one step of a raster laid from a round corner (TopoJSON)."""
    step = 1e-5
    east, north = round((LONGITUDE - 1.7) / step), round((LATITUDE - 52.8) / step)
    return json.dumps(
        {
            "type": "Topology",
            "transform": {"scale": [step, step], "translate": [1.7, 52.8]},
            "objects": {"walk": {"type": "LineString", "arcs": [0]}},
            "arcs": [[[0, 0], [east, north]]],
        }
    )


NOTATIONS: dict[str, str] = {
    "decimal degrees": f"{LATITUDE:.5f}, {LONGITUDE:.5f}",
    "reversed degrees": f"{LONGITUDE:.5f};{LATITUDE:.5f}",
    "degrees, minutes, seconds": _dms(),
    "eastings and northings": f"easting {EAST:.0f} northing {NORTH:.0f}",
    "grouped metres": f"{EAST:,.0f} / {NORTH:,.0f}",
    "ten-figure reference": "TG5011230237",
    "spaced reference": "t g 5011 3023",
    "well-known text": f"POINT ({LONGITUDE:.6f} {LATITUDE:.6f})",
    "GeoJSON position": f"[{LONGITUDE:.6f},{LATITUDE:.6f}]",
    "kilometres": f"{EAST / 1000:.3f}, {NORTH / 1000:.3f}",
    "encoded polyline": _polyline(),
    "quantised topology": _topology(),
    "full name": "Marguerite Threlkeld",
    "initial": "M. Threlkeld",
    "surname first": "THRELKELD, Marguerite",
    "e-mail": "m.threlkeld@post.example",
    "telephone": "(01632) 960417",
    "international telephone": "+44 7700 900283",
    "postcode": "ZE9 9XQ",
    "address": "17 Albert Road",
    "abbreviated address": "24a Albert Rd.",
    "street first": "Albert Road, no. 17",
}
"""How a stranger might meet the secret; each names the same nest, its finder or its house."""

Write = Callable[[str], bytes]


def _page(body: str, head: str = "") -> bytes:
    return (
        '<!doctype html><html lang="en"><head><title>Swifts</title>'
        f"{head}</head><body><main><h1>Swifts in town</h1>\n{body}\n</main></body></html>"
    ).encode()


def _zip(members: dict[str, bytes], comment: bytes = b"") -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
        archive.comment = comment
    return buffer.getvalue()


def _database(secret: str, *, deleted: bool = False) -> bytes:
    connection = sqlite3.connect(":memory:")
    # Some builds of SQLite wipe deleted rows of their own accord; most leave them.
    connection.execute("PRAGMA secure_delete = OFF")
    connection.execute("CREATE TABLE finds (id INTEGER PRIMARY KEY, note TEXT)")
    connection.execute("INSERT INTO finds (note) VALUES (?)", [f"Seen at: {secret}, at dusk"])
    connection.commit()
    if deleted:
        connection.execute("DELETE FROM finds")
        connection.commit()
    data: bytes = connection.serialize()
    connection.close()
    return data


def _image(kind: str, **options: object) -> bytes:
    buffer = io.BytesIO()
    Image.new("RGB", (64, 64), "navy").save(buffer, kind, **options)
    return buffer.getvalue()


def _png_text(secret: str) -> bytes:
    info = PngImagePlugin.PngInfo()
    info.add_itxt("Description", secret, zip=True)
    return _image("PNG", pnginfo=info)


def _png_private_chunk(secret: str) -> bytes:
    info = PngImagePlugin.PngInfo()
    info.add(b"naMe", secret.encode(), after_idat=True)
    return _image("PNG", pnginfo=info)


def _exif(secret: str) -> bytes:
    exif = Image.Exif()
    exif[0x9C9C] = secret.encode("utf-16-le")
    return _image("JPEG", exif=exif)


def _xmp(secret: str) -> bytes:
    packet = f'<x:xmpmeta xmlns:x="adobe:ns:meta/"><d>{html.escape(secret)}</d></x:xmpmeta>'
    return _image("JPEG", xmp=packet.encode())


def _pdf(text: str = "Swifts", **properties: str) -> bytes:
    """Return a PDF of one page; pypdf writes no text, so the page is written by hand."""
    shown = text.replace("\u2032", "'").replace("\u2033", '"').encode("cp1252")
    shown = shown.replace(b"\\", b"\\\\").replace(b"(", b"\\(").replace(b")", b"\\)")
    stream = b"BT /F1 12 Tf 72 720 Td (" + shown + b") Tj ET"
    objects = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        (
            b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Contents 4 0 R"
            b" /Resources << /Font << /F1 5 0 R >> >> >>"
        ),
        b"<< /Length %d >>\nstream\n%s\nendstream" % (len(stream), stream),
        b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>",
    ]
    data, places = b"%PDF-1.7\n", []
    for number, content in enumerate(objects, start=1):
        places.append(len(data))
        data += b"%d 0 obj\n%s\nendobj\n" % (number, content)
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    data += b"xref\n0 6\n0000000000 65535 f \n%strailer\n<< /Size 6 /Root 1 0 R >>\n" % table
    data += b"startxref\n%d\n%%%%EOF\n" % data.index(b"xref\n0 6")
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(data)))
    if properties:
        writer.add_metadata({f"/{key}": create_string_object(v) for key, v in properties.items()})
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _entities(secret: str) -> str:
    return "".join(f"&#{ord(char)};" for char in secret)


def _folded_line(secret: str) -> str:
    half = len(secret) // 2
    return f"DESCRIPTION:Meet near {secret[:half]}\r\n {secret[half:]} at dusk"


def _svg(inner: str) -> bytes:
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">{inner}</svg>'.encode()


def _escape(secret: str) -> str:
    return html.escape(secret, quote=True)


CARRIERS: dict[str, tuple[str, Write]] = {
    "paragraph": ("a.html", lambda s: _page(f"<p>We looked at {_escape(s)} all June.</p>")),
    "list item": ("a.html", lambda s: _page(f"<ul><li>Rain</li><li>{_escape(s)}</li></ul>")),
    "table cell": ("a.html", lambda s: _page(f"<table><tr><td>{_escape(s)}</td></tr></table>")),
    "bold within": (
        "a.html",
        lambda s: _page(f"<p>{_escape(s[:5])}<b>{_escape(s[5:8])}</b>{_escape(s[8:])}</p>"),
    ),
    "alt text": ("a.html", lambda s: _page(f'<img src="b.png" alt="{_escape(s)}">')),
    "data attribute": ("a.html", lambda s: _page(f"<div data-x='{_escape(s)}'></div>")),
    "link's query": ("a.html", lambda s: _page(f'<a href="/find?q={quote(s)}">Map</a>')),
    "twice encoded link": ("a.html", lambda s: _page(f'<a href="/?u={quote(quote(s))}">M</a>')),
    "entities": ("a.html", lambda s: _page(f"<p>{_entities(s)}</p>")),
    "comment": ("a.html", lambda s: _page(f"<!-- to do: {s} -->")),
    "unclosed comment": ("a.html", lambda s: _page(f"<p>Swifts</p><!-- to do: {s}")),
    "meta tag": ("a.html", lambda s: _page("", f'<meta name="place" content="{_escape(s)}">')),
    "title": ("a.html", lambda s: _page("", f"<title>{_escape(s)}</title>")),
    "script": ("a.html", lambda s: _page(f"<script>var a = {json.dumps(s)};</script>")),
    "JSON-LD": (
        "a.html",
        lambda s: _page(f'<script type="application/ld+json">{json.dumps({"place": s})}</script>'),
    ),
    "inline style": ("a.html", lambda s: _page(f"<style>/* {s} */</style>")),
    "hidden text": ("a.html", lambda s: _page(f"<p hidden>{_escape(s)}</p>")),
    "textarea": ("a.html", lambda s: _page(f"<textarea>{_escape(s)}</textarea>")),
    "UTF-16 page": ("a.html", lambda s: _page(f"<p>{_escape(s)}</p>").decode().encode("utf-16")),
    "JSON": ("a.json", lambda s: json.dumps({"note": s}).encode()),
    "nested JSON": ("a.json", lambda s: json.dumps({"n": json.dumps({"x": s})}).encode()),
    "GeoJSON property": (
        "a.geojson",
        lambda s: json.dumps(
            {"type": "Feature", "geometry": None, "properties": {"note": s}}
        ).encode(),
    ),
    "CSV": (
        "a.csv",
        lambda s: f'street,note\nMill Lane,"{s.replace(chr(34), chr(34) * 2)}"\n'.encode(),
    ),
    "script file": ("a.js", lambda s: f"export const where = {json.dumps(s)};".encode()),
    "style sheet": ("a.css", lambda s: f"/* {s} */ body {{ margin: 0 }}".encode()),
    "plain text": ("a.txt", lambda s: f"Meet here: {s}\n".encode()),
    "unknown ending": ("a.notes", lambda s: f"Meet here: {s}\n".encode()),
    "sitemap": (
        "sitemap.xml",
        lambda s: f"<urlset><url><loc>https://x.example/{quote(s)}/</loc></url></urlset>".encode(),
    ),
    "feed, escaped": (
        "feed.xml",
        lambda s: (
            f"<rss><item><description>{_escape('<p>' + _escape(s) + '</p>')}"
            "</description></item></rss>".encode()
        ),
    ),
    "feed, CDATA": (
        "feed.xml",
        lambda s: f"<feed><entry><![CDATA[<p>{_escape(s)}</p>]]></entry></feed>".encode(),
    ),
    "calendar": ("a.ics", lambda s: f"BEGIN:VEVENT\r\n{_folded_line(s)}\r\nEND:VEVENT".encode()),
    "SVG text": ("a.svg", lambda s: _svg(f"<text>{_escape(s)}</text>")),
    "SVG description": ("a.svg", lambda s: _svg(f"<metadata>{_escape(s)}</metadata>")),
    "picture in a page": (
        "a.html",
        lambda s: _page(
            f'<img src="data:image/svg+xml;base64,'
            f'{base64.b64encode(_svg(f"<desc>{_escape(s)}</desc>")).decode()}">'
        ),
    ),
    "zip": ("a.zip", lambda s: _zip({"b.txt": s.encode()})),
    "zip in a zip": ("a.zip", lambda s: _zip({"b.zip": _zip({"c.csv": f"note\n{s}".encode()})})),
    "zip's comment": ("a.zip", lambda s: _zip({"b.txt": b"swifts"}, s.encode())),
    "zip member's name": ("a.zip", lambda s: _zip({quote(s, safe=""): b"swifts"})),
    "office document": (
        "a.docx",
        lambda s: _zip({"word/document.xml": f"<t>{_escape(s)}</t>".encode()}),
    ),
    "gzip": ("a.txt.gz", lambda s: gzip.compress(s.encode(), mtime=0)),
    "database": ("a.gpkg", _database),
    "deleted row": ("a.sqlite", lambda s: _database(s, deleted=True)),
    "PDF page": ("a.pdf", _pdf),
    "PDF author": ("a.pdf", lambda s: _pdf(Author=s)),
    "PDF title": ("a.pdf", lambda s: _pdf(Title=s)),
    "PNG text": ("a.png", _png_text),
    "PNG chunk": ("a.png", _png_private_chunk),
    "after a PNG's end": ("a.png", lambda s: _image("PNG") + f"\n note: {s} at dusk".encode()),
    "EXIF": ("a.jpg", _exif),
    "XMP": ("a.jpg", _xmp),
    "JPEG comment": ("a.jpg", lambda s: _image("JPEG", comment=s.encode())),
    "binary file": (
        "a.bin",
        lambda s: struct.pack("<4d", 1, 2, 3, 4) + f"a long note: {s} at dusk".encode() + b"\0\1",
    ),
}
"""Carriers: a file's name with a function that writes the secret into it."""


def plant(folder: Path, carrier: str, secret: str) -> None:
    """Write a site with one file that carries the secret."""
    name, write = CARRIERS[carrier]
    folder.mkdir(parents=True, exist_ok=True)
    (folder / name).write_bytes(write(secret))
