"""Writes a PDF anew with its pages, and without what is noted beside them."""

from __future__ import annotations

import io
import logging
from collections.abc import Iterator

from pypdf import PdfReader, PdfWriter
from pypdf.errors import PyPdfError
from pypdf.generic import (
    ArrayObject,
    DictionaryObject,
    EncodedStreamObject,
    NameObject,
    PdfObject,
    StreamObject,
)

from eaveline.cleaning.pictures import clean_picture
from eaveline.cleaning.refusal import CannotCleanError

_NOTED = (
    *("/Metadata", "/PieceInfo", "/LastModified", "/Thumb", "/SpiderInfo", "/Perms"),
    *("/OpenAction", "/AA"),
)
"""Keys that hold XMP, an editor's own data, dates, smaller pictures, what to do when opened."""
_HIDDEN = ("/EmbeddedFiles", "/EmbeddedFile", "/JavaScript", "/AF", "/JS", "/XFA")
"""Keys of files within the file and of scripts: such a PDF is refused."""
_OF_A_REMARK = ("/T", "/M", "/CreationDate", "/NM", "/RC", "/Subj")
_NEXT = "Print it to a new PDF, or save it as a picture."


def clean_document(data: bytes) -> bytes:
    """Return the PDF with its pages alone; the same file gives the same bytes.

    Raises
    ------
    CannotCleanError
        If it is damaged, locked, holds other files or scripts, or has a picture that
        cannot be cleaned.
    """
    quiet = logging.getLogger("pypdf")
    level = quiet.level
    quiet.setLevel(logging.CRITICAL)
    try:
        return _rewritten(data)
    except CannotCleanError:
        raise
    # pypdf raises all kinds on damaged files; each means the same to the person.
    except (PyPdfError, ValueError, TypeError, KeyError, IndexError, AttributeError, OSError,
            RecursionError, NotImplementedError):  # fmt: skip
        raise CannotCleanError("document-unreadable", "The PDF is damaged.", _NEXT) from None
    finally:
        quiet.setLevel(level)


def _rewritten(data: bytes) -> bytes:
    reader = PdfReader(io.BytesIO(data))
    if reader.is_encrypted:
        raise CannotCleanError("document-locked", "The PDF is locked with a password.", _NEXT)
    writer = _copied(reader)
    for item in _dictionaries(writer):
        _clean(item)
    # What was just cut loose is still in the file, and is left behind by a second copy.
    return _written(_copied(PdfReader(io.BytesIO(_written(writer)))))


def _copied(reader: PdfReader) -> PdfWriter:
    """Copy only what the pages refer to: earlier versions of the file stay behind."""
    writer = PdfWriter(clone_from=reader)
    writer.metadata = None
    return writer


def _written(writer: PdfWriter) -> bytes:
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _dictionaries(writer: PdfWriter) -> Iterator[DictionaryObject]:
    """Yield every dictionary of the file, those within others too."""
    seen: set[int] = set()
    waiting: list[PdfObject | None] = list(writer._objects)  # noqa: SLF001 - the only list of all
    while waiting:
        item = waiting.pop()
        if item is None or id(item) in seen:
            continue
        seen.add(id(item))
        if isinstance(item, DictionaryObject):
            yield item
            waiting.extend(item.raw_get(key) for key in item)
        elif isinstance(item, ArrayObject):
            waiting.extend(item)


def _clean(item: DictionaryObject) -> None:
    if any(key in item for key in _HIDDEN):
        raise CannotCleanError(
            "document-hides-files", "The PDF holds other files, forms or scripts.", _NEXT
        )
    for key in _NOTED:
        item.pop(NameObject(key), None)
    kind = item.get("/Subtype")
    if item.get("/Type") == "/Annot" or "/Rect" in item:
        if kind not in ("/Link", "/Widget"):
            raise CannotCleanError(
                "document-has-remarks", "The PDF has remarks written onto its pages.", _NEXT
            )
        for key in _OF_A_REMARK if kind == "/Link" else ("/M",):
            item.pop(NameObject(key), None)
    if kind == "/Image" and isinstance(item, EncodedStreamObject | StreamObject):
        _clean_image(item)


def _clean_image(item: StreamObject) -> None:
    filters = item.get("/Filter")
    names = list(filters) if isinstance(filters, ArrayObject) else [filters]
    if names[-1:] == ["/JPXDecode"] or ("/DCTDecode" in names and len(names) > 1):
        raise CannotCleanError(
            "document-picture", "The PDF holds a picture that cannot be cleaned.", _NEXT
        )
    if names == ["/DCTDecode"]:
        # A page shows the pixels as they lie, whatever the camera noted of its position.
        item._data = clean_picture(item._data, turn=False)  # noqa: SLF001 - set_data cannot do JPEG
