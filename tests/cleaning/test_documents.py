"""A cleaned PDF has its pages and no notes; what hides files is refused."""

from __future__ import annotations

import io

import pytest
from PIL import Image
from pypdf import PdfReader, PdfWriter
from pypdf.annotations import FreeText
from pypdf.generic import (
    DecodedStreamObject,
    DictionaryObject,
    NameObject,
    TextStringObject,
)

from eaveline.cleaning.documents import clean_document
from eaveline.cleaning.refusal import CannotCleanError

NAME = "Ann Poole"


def paper() -> PdfWriter:
    """Return a page with a photograph, a note of its author, XMP and an editor's own data."""
    exif = Image.Exif()
    exif[0x010E] = NAME
    pdf = io.BytesIO()
    Image.new("RGB", (30, 20), "red").save(pdf, "PDF", title=NAME, author=NAME)
    writer = PdfWriter(clone_from=PdfReader(pdf))
    writer.add_metadata({"/Author": NAME, "/CreationDate": "D:20260603214000"})
    xmp = DecodedStreamObject()
    xmp.set_data(f"<x>{NAME}</x>".encode())
    writer.root_object[NameObject("/Metadata")] = writer._add_object(xmp)
    writer.pages[0][NameObject("/PieceInfo")] = DictionaryObject(
        {NameObject("/Own"): TextStringObject(NAME)}
    )
    jpeg = io.BytesIO()
    Image.new("RGB", (30, 20), "red").save(jpeg, "JPEG", exif=exif)
    [(_, image)] = writer.pages[0]["/Resources"]["/XObject"].items()  # type: ignore[index]  # as made above
    picture = image.get_object()
    picture._data = jpeg.getvalue()
    picture[NameObject("/Filter")] = NameObject("/DCTDecode")
    return writer


def saved(writer: PdfWriter) -> bytes:
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def test_notes_go_and_the_page_stays() -> None:
    before = saved(paper())
    after = clean_document(before)
    assert before.count(NAME.encode()) >= 4
    assert NAME.encode() not in after
    assert b"D:2026" not in after
    reader = PdfReader(io.BytesIO(after))
    assert not reader.metadata
    assert reader.xmp_metadata is None
    (image,) = reader.pages[0].images
    assert image.image is not None
    assert image.image.size == (30, 20)
    assert not dict(image.image.getexif())


def test_an_earlier_version_saved_in_the_file_is_left_behind() -> None:
    first = saved(paper())
    grown = PdfWriter(io.BytesIO(first), incremental=True)
    grown.add_metadata({"/Author": "somebody else"})
    again = saved(grown)
    assert again.startswith(first[:1000])
    assert NAME.encode() not in clean_document(again)


def test_the_same_pdf_gives_the_same_bytes() -> None:
    data = saved(paper())
    assert clean_document(data) == clean_document(data)


def test_what_hides_files_or_remarks_or_is_locked_is_refused() -> None:
    with_file, remarked, locked = paper(), paper(), paper()
    with_file.add_attachment("nests.csv", NAME.encode())
    remarked.add_annotation(0, FreeText(text=NAME, rect=(1, 1, 9, 9)))
    locked.encrypt("word", algorithm="RC4-128")
    for writer, code in (
        (with_file, "document-hides-files"),
        (remarked, "document-has-remarks"),
        (locked, "document-locked"),
    ):
        with pytest.raises(CannotCleanError) as refused:
            clean_document(saved(writer))
        assert refused.value.code == code
    with pytest.raises(CannotCleanError) as refused:
        clean_document(b"%PDF-1.7 and no more")
    assert refused.value.code == "document-unreadable"
